//! A keeper's own animals in words: what was saved, shown, asked or refused.

mod asked; // questions back and refusals
pub(in crate::conversation) mod calendar; // dates
mod changed; // what was added, changed, let go
pub(in crate::conversation) mod clash; // records that contradict each other
mod clutches; // clutches
mod drawn; // weights as a picture
pub(in crate::conversation) mod evidence; // who carries what
pub(in crate::conversation) mod family; // ancestors and young
mod files; // a copy out, a file in
pub(in crate::conversation) mod frequency; // how many animals elsewhere carry
pub(in crate::conversation) mod goals; // goals and their limits
mod happened; // weights, meals, meetings, signs, clutches
pub(in crate::conversation) mod history; // how a chance moved
pub(in crate::conversation) mod home; // where the keeper is
mod house; // undo, what changed, erase
mod lists; // lists, pairings, goals
pub(in crate::conversation) mod maker; // on which sex chromosome a copy sits
pub(in crate::conversation) mod outlook; // looking ahead
pub(in crate::conversation) mod related; // kinship
pub(in crate::conversation) mod remind; // reminders
pub(in crate::conversation) mod sale; // sale cards
pub(in crate::conversation) mod season; // the pairings of a season
mod shown; // animals, cards

pub(in crate::conversation) use asked::*;
pub(in crate::conversation) use changed::*;
pub(in crate::conversation) use clutches::*;
pub(in crate::conversation) use files::*;
pub(in crate::conversation) use happened::*;
pub(in crate::conversation) use house::*;
pub use house::{no_such_file, no_such_form, too_large, written};
pub(in crate::conversation) use lists::*;
pub use remind::reminders_told;
pub(in crate::conversation) use shown::*;

/// Rows of one list.
const ROWS: usize = 20;
