//! Erasing.

use super::{Desk, Done, Stop};
use crate::conversation::sentences::keeping as say;

/// The word that erases everything.
pub(super) const ERASE: &str = "erase everything";

#[allow(clippy::unnecessary_wraps)] // its neighbours of one signature fail
pub(super) fn forget(desk: &Desk<'_>) -> Result<Done, Stop> {
    if desk.herd.is_empty() {
        return Ok(Done::say(say::nothing_kept()));
    }
    Ok(Done::Forget { word: ERASE.to_owned(), shown: Box::new(say::forget_first(desk.herd, ERASE)) })
}
