//! What the front says for itself: nothing of genetics, only of the platform. One place, so that other languages can follow.

use crate::reply::Reply;

/// Somebody spoke to the bot, and there is no question in it.
#[must_use]
pub fn no_question() -> Reply {
    Reply {
        answer: vec![
            "I heard no question in that. Ask me the way you would ask a breeder:".to_owned(),
            "1.0 pastel het clown x 0.1 clown, 7 eggs?".to_owned(),
        ],
        ..Reply::default()
    }
}

/// A fault of the program.
#[must_use]
pub fn our_fault() -> Reply {
    Reply::sentence("Something broke while I worked that out, and it is my fault. Please try other words. (code 500)")
}
