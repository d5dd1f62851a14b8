//! Erasing, and taking everything in and out.

use super::{Desk, Done, Stop};
use crate::conversation::sentences::keeping as say;
use crate::reading::records::look::Filter;

/// The word that erases everything.
pub(super) const ERASE: &str = "erase everything";

#[allow(clippy::unnecessary_wraps)] // its neighbours of one signature fail
pub(super) fn forget(desk: &Desk<'_>) -> Result<Done, Stop> {
    if desk.herd.is_empty() {
        return Ok(Done::say(say::nothing_kept()));
    }
    Ok(Done::Forget { word: ERASE.to_owned(), shown: Box::new(say::forget_first(desk.herd, ERASE)) })
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
