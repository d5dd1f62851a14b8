//! Where a keeper is: their time zone and the half of the world they keep in. Both are told, both may be missing.
//!
//! "Today" and "at 18:00" are those of the zone; when it is spring is said by the half. Start at [`Herd::zone`] and
//! [`Herd::half`].

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::events::EventId;
use super::herd::Herd;
use crate::reading::places::{self, Half};

/// What a keeper told of where they are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Home {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// The time zone, by its name in the IANA time zone database.
    pub zone: Option<String>,
    /// The half of the world, where it was said outright.
    pub half: Option<Half>,
}

impl Herd {
    /// The keeper's time zone, if they told it and this program knows it.
    #[must_use]
    pub fn zone(&self) -> Option<TimeZone> {
        places::zone(self.zone_name()?)
    }

    /// Its name.
    #[must_use]
    pub fn zone_name(&self) -> Option<&str> {
        self.home.as_ref()?.zone.as_deref()
    }

    /// The half of the world that the keeper is in: as they said, else that of their zone; `None` where neither is told.
    #[must_use]
    pub fn half(&self) -> Option<Half> {
        self.home.as_ref()?.half.or_else(|| self.zone_name().map(places::half))
    }
}
