//! When and where a message is said.

use jiff::Timestamp;
use jiff::civil::Date;

use crate::collection::herd::Herd;

/// When a message is said: the day, and the moment where it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Present {
    /// The day for whoever told no time zone.
    pub day: Date,
    /// The moment; none where only a day is given.
    pub now: Option<Timestamp>,
    /// The time zone of the machine in front of the keeper, by its name, for whoever told none.
    pub zone: Option<&'static str>,
    /// Where it is said, which is where reminders come back to.
    pub front: Front,
}

/// Where a message is said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Front {
    /// Nowhere that can speak by itself.
    #[default]
    Unsaid,
    /// At the keeper's own machine.
    Terminal,
    /// In direct messages.
    Direct,
    /// In this channel, where others read; what is for the keeper alone comes by direct message.
    Channel(u64),
}

impl From<Date> for Present {
    fn from(day: Date) -> Self {
        Self { day, now: None, zone: None, front: Front::Unsaid }
    }
}

impl Present {
    /// The channel in which others read this.
    pub(in crate::conversation) fn channel(self) -> Option<u64> {
        match self.front {
            Front::Channel(channel) => Some(channel),
            _ => None,
        }
    }

    /// The day where the keeper is.
    pub(super) fn day_of(self, herd: &Herd) -> Date {
        match (self.now, herd.zone()) {
            (Some(now), Some(zone)) => now.to_zoned(zone).date(),
            _ => self.day,
        }
    }
}
