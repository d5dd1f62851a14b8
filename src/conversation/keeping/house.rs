//! Erasing, and taking everything in and out.

use super::{Desk, Done, Stop};
use crate::conversation::sentences::keeping as say;
use crate::reading::records::look::Filter;

/// The word that erases everything.
pub(super) const ERASE: &str = "erase everything";

pub(super) fn forget(desk: &Desk<'_>) -> Done {
    if desk.herd.is_empty() {
        return Done::say(say::nothing_kept());
    }
    Done::Forget { word: ERASE.to_owned(), shown: Box::new(say::forget_first(desk.herd, ERASE)) }
}

pub(super) fn export(desk: &Desk<'_>, _json: bool, _filter: &Filter) -> Result<Done, Stop> {
    if desk.herd.is_empty() {
        return Ok(Done::say(say::nothing_kept()));
    }
    Err(Stop::say(say::nothing_kept()))
}

pub(super) fn import(_desk: &Desk<'_>, _text: &str) -> Result<Done, Stop> {
    Err(Stop::say(say::nothing_kept()))
}
