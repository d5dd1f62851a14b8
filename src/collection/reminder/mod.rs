//! Reminders: what a keeper wants to hear again, and when.
//!
//! A [`Reminder`] is what was said: its text, its zone, its rule, its next moment. The moments at which it comes are rows
//! of their own ([`Moment`]), which the database derives from it and those who deliver work off; so a change of the
//! reminder can be taken back like any other. Start at [`rule::Rule::next`].

pub mod rule; // when it comes again

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::events::EventId;
use super::herd::Herd;
use rule::Rule;

/// Open reminders of a keeper.
pub const MOST_OPEN: usize = 100;
/// Characters of a reminder's text.
pub const MOST_TEXT: usize = 300;
/// Years that a reminder may lie ahead.
pub const FARTHEST_YEARS: i64 = 10;
/// From so many hours on what is late is told together, and not one by one.
pub const OLD_HOURS: i32 = 24;
/// How long one that was told can still be put off.
pub const STILL_THERE_HOURS: i32 = 24 * 7;

/// What a keeper wants to hear, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reminder {
    /// Its record.
    pub id: EventId,
    /// Counts its changes.
    pub version: i32,
    /// Its number in the keeper's list.
    pub number: i32,
    /// What to say.
    pub what: String,
    /// The zone whose clock counts, by its name in the IANA time zone database.
    pub zone: String,
    /// When it comes again; none where it comes once.
    pub rule: Option<Rule>,
    /// When it comes next by its rule, or at all.
    pub next_at: Timestamp,
    /// When it comes once more beside that, because it was put off.
    pub put_off: Option<Timestamp>,
    /// The channel where it was set, by the platform's number; none where nobody else can read.
    pub channel: Option<String>,
    /// The moments at which it comes or came; the database's own affair.
    #[serde(default, skip_serializing)]
    pub moments: Vec<Moment>,
}

/// One moment of a reminder.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Moment {
    /// When.
    pub due_at: Timestamp,
    /// It was put off to this moment.
    pub extra: bool,
    /// What became of it.
    pub state: State,
    /// When it was told.
    pub told_at: Option<Timestamp>,
}

/// What became of a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// It is still to come, or being told.
    Open,
    /// It was told.
    Told,
    /// It could not be told anywhere; the keeper hears of it at their next visit.
    Missed,
}

impl Reminder {
    /// When it comes next; `None` where it does not come any more.
    #[must_use]
    pub fn next(&self) -> Option<Timestamp> {
        self.moments.iter().filter(|m| m.state == State::Open).map(|m| m.due_at).min()
    }

    /// When it was told last.
    #[must_use]
    pub fn told(&self) -> Option<Timestamp> {
        self.moments.iter().filter_map(|m| m.told_at).max()
    }
}

impl Herd {
    /// Reminders that are still to come, the next first.
    #[must_use]
    pub fn open_reminders(&self) -> Vec<&Reminder> {
        let mut open: Vec<(Timestamp, &Reminder)> =
            self.reminders.iter().filter_map(|r| Some((r.next()?, r))).collect();
        open.sort_by_key(|(at, r)| (*at, r.number));
        open.into_iter().map(|(_, r)| r).collect()
    }
}
