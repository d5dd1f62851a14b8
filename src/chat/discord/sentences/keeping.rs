//! What is said of what belongs to a member: animals, files, saved pairings, erasing.

use crate::reply::{Kind, Reply};

/// A pairing was saved.
#[must_use]
pub fn saved(what: &str) -> Reply {
    Reply {
        notes: vec!["/pairings shows what you saved, to you alone.".to_owned()],
        ..Reply::sentence(format!("Saved: {what}"))
    }
}

/// It was saved before.
#[must_use]
pub fn already_saved() -> Reply {
    Reply::sentence("You have saved this pairing already. /pairings shows what you saved.")
}

/// There is no more room.
#[must_use]
pub fn saved_full(most: i64) -> Reply {
    Reply::refusal(format!(
        "You have saved {most} pairings, which is all I keep. Remove one with /pairings first. (code 409)"
    ))
}

/// Nothing is saved.
#[must_use]
pub fn nothing_saved() -> Reply {
    Reply::sentence("You have saved no pairing. \"Save this pairing\" stands under each answer with odds.")
}

/// The word that confirms erasing everything.
pub const ERASE: &str = "erase";

/// What is kept of who asks, before it is erased.
#[must_use]
pub fn kept_of_you(records: usize, pairings: i64, answers: i64) -> Reply {
    Reply {
        kind: Kind::Question,
        answer: vec![
            format!(
                "I keep {records} records of your animals, {pairings} saved pairings and {answers} answers of yours (each \
                 answer for its buttons only)."
            ),
            "Erasing takes all of it at once and cannot be undone. /collection and /pairings show it; \"export\" gives you a copy."
                .to_owned(),
            format!("Press the button, then type \"{ERASE}\"."),
        ],
        ..Reply::default()
    }
}

/// The word was another.
#[must_use]
pub fn not_erased() -> Reply {
    Reply::refusal(format!("That was not \"{ERASE}\": nothing was erased. (code 400)"))
}

/// Everything is gone.
#[must_use]
pub fn erased() -> Reply {
    Reply::sentence("Everything of yours is erased. Ask again whenever you like.")
}

/// Instead of what was shown while a private answer was worked out.
#[must_use]
pub fn sent_privately() -> Reply {
    Reply::sentence("I sent you the answer by direct message.")
}

/// A private answer to a mention, where the member takes no direct messages.
#[must_use]
pub fn letters_closed() -> Reply {
    Reply::refusal(
        "The answer is for you alone, and you take no direct messages here. Ask with /ask: only you see that. (code 403)",
    )
}

/// A message reached who set a reminder.
#[must_use]
pub fn letters_reach() -> String {
    "I have just sent you this by direct message: that way works.".to_owned()
}

/// Who set a reminder takes no direct messages.
#[must_use]
pub fn letters_do_not_reach() -> String {
    "Your direct messages are closed to me: as it is, it comes in this channel, where others can read it. To have it to \
     yourself, allow direct messages in your privacy settings for this server."
        .to_owned()
}

/// Whether a message reaches who set a reminder is not known.
#[must_use]
pub fn letters_not_tried() -> String {
    "Whether a direct message reaches you could not be tried just now.".to_owned()
}

/// It is about the asker's own animals, and was announced as an answer for all.
#[must_use]
pub fn only_privately() -> Reply {
    Reply::refusal(
        "That is about your own animals, which I show to you alone: please ask again in a moment. (code 409)",
    )
}

/// No animal is kept yet.
#[must_use]
pub fn no_animals() -> Reply {
    Reply::sentence(
        "You keep no animals with me yet. Press the button, or write me: add 1.0 pastel het clown named Hugo.",
    )
}

/// An animal that is not (or no longer) in the collection.
#[must_use]
pub fn no_such_animal() -> Reply {
    Reply::refusal("You have no such animal with me (any more). /collection shows those you have. (code 404)")
}

/// A file is wanted, and a name was given.
#[must_use]
pub fn hand_the_file_in() -> Reply {
    Reply {
        kind: Kind::Question,
        ..Reply::sentence(
            "Hand the file in: /collection with \"file\", or attach it to a direct message to me. I read CSV, JSON and what \
             \"export\" gives you, and show you first what it would change. You can also paste the table behind \"import\".",
        )
    }
}

/// A file that is too large.
#[must_use]
pub fn file_too_large(most: usize) -> Reply {
    Reply::refusal(format!(
        "That file is larger than {} MiB, which is the most I take. Please send it in parts. Nothing was saved. (code 413)",
        most >> 20
    ))
}

/// A file that is not on the platform.
#[must_use]
pub fn file_from_elsewhere() -> Reply {
    Reply::refusal(
        "I read only files that are handed in here, from no other address. Please attach the file itself. Nothing was saved. \
         (code 400)",
    )
}

/// The platform does not give the file out.
#[must_use]
pub fn file_not_fetched() -> Reply {
    Reply::refusal("I could not fetch that file just now. Please hand it in again. Nothing was saved. (code 503)")
}

/// A copy that the platform would not take.
#[must_use]
pub fn copy_too_large(most: usize) -> Reply {
    Reply::refusal(format!(
        "That copy is larger than the {} MiB that can be sent here. \"export\" makes a smaller one than JSON, and parts go too, \
         such as \"export my females\". (code 413)",
        most >> 20
    ))
}
