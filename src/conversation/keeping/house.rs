//! Erasing.

use super::{Desk, Done};
use crate::conversation::sentences::keeping as say;

/// The word that erases everything.
pub(super) const ERASE: &str = "erase everything";

pub(super) fn forget(desk: &Desk<'_>) -> Done {
    if desk.herd.is_empty() {
        return Done::say(say::nothing_kept());
    }
    Done::Forget { word: ERASE.to_owned(), shown: Box::new(say::forget_first(desk.herd, ERASE)) }
}
