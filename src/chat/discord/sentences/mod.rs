//! What the front says for itself: nothing of genetics, only of the platform. One place, so that other languages can
//! follow. Errors say what happened and what to do, with a short code.

mod community; // to those who look after a server
mod keeping; // of what belongs to a member

use std::time::Duration;

pub use community::{
    always_said, draft_refused, draft_shown, enough_pins, may_not_pin, may_not_post, no_own_words, no_such_gene,
    no_topic, not_a_moderator, not_pinned_now, nothing_against, pins_full, post_gone, post_pinned, post_replaced,
    post_state, post_unpinned, posts, published, short_added, start_here, taken_away, used, words_bring,
    words_bring_nothing, words_refused, words_taken_over,
};
pub use keeping::{
    ERASE, already_saved, copy_too_large, erased, file_from_elsewhere, file_not_fetched, file_too_large,
    hand_the_file_in, kept_of_you, letters_closed, letters_do_not_reach, letters_not_tried, letters_reach, no_animals,
    no_such_animal, not_erased, nothing_saved, only_privately, saved, saved_full, sent_privately,
};

use crate::conversation::still_working;
use crate::reply::{Kind, Reply};

/// Three questions to try, sent as they are.
const TRY: [&str; 3] = [
    "1.0 pastel het clown x 0.1 clown, 7 eggs?",
    "odds on a clown pied from dh clown pied x dh clown pied",
    "66% het pied girl to my pied, at least one pied in 6 eggs",
];

/// Somebody spoke to the bot, and there is no question in it.
#[must_use]
pub fn no_question() -> Reply {
    Reply {
        kind: Kind::Refusal,
        answer: vec![
            "I heard no question in that. Ask me the way you would ask a breeder:".to_owned(),
            TRY[0].to_owned(),
            "\"help\" shows more.".to_owned(),
        ],
        ..Reply::default()
    }
}

/// A sticker, a picture, a forwarded message: there are no words in it.
#[must_use]
pub fn no_words() -> Reply {
    Reply::refusal("I read words only: please write the question, or paste the text of the message. (code 204)")
}

/// A fault of the program.
#[must_use]
pub fn our_fault() -> Reply {
    Reply::refusal("Something broke while I worked that out, and it is my fault. Please try other words. (code 500)")
}

/// The database is away, and this needs it.
#[must_use]
pub fn away() -> Reply {
    Reply::refusal("I cannot reach my records right now; odds still work. Please try again in a minute. (code 503)")
}

/// Too many questions.
#[must_use]
pub fn slow_down(wait: Duration) -> Reply {
    let seconds = wait.as_secs() + 1;
    Reply::refusal(format!("That was a lot of questions at once. I am there for you again in {seconds} s. (code 429)"))
}

/// The answer is too old to go on from, and cannot be read back.
#[must_use]
pub fn too_old() -> Reply {
    Reply::refusal("I no longer keep what stood here. Please ask again; I answer at once. (code 410)")
}

/// A component of an older version, or of nobody.
#[must_use]
pub fn unknown_button() -> Reply {
    Reply::refusal("I do not know this button any more. Please ask again and use the fresh one. (code 404)")
}

/// A clutch size that is none.
#[must_use]
pub fn not_eggs() -> Reply {
    Reply::refusal("A clutch has 1 to 60 eggs: please give a whole number, such as 7. (code 400)")
}

/// An option or a command that this version does not have.
#[must_use]
pub fn outdated() -> Reply {
    Reply::refusal(
        "I could not read the options of this command; your app may show an old one. Please type it anew. (code 400)",
    )
}

/// The settings are for those who look after the server.
#[must_use]
pub fn not_allowed() -> Reply {
    Reply::refusal("The settings are for members with the permission \"Manage Server\". (code 403)")
}

/// Settings belong to a server.
#[must_use]
pub fn only_in_servers() -> Reply {
    Reply::refusal("Settings belong to a server: please use this command in one. (code 400)")
}

/// The menu command found no pairing.
#[must_use]
pub fn no_pairing() -> Reply {
    Reply::refusal(
        "I read no pairing in that message. I look for two parents, such as \"het clown x clown\". (code 422)",
    )
}

/// The question was edited, and there is none in it now.
#[must_use]
pub fn question_gone() -> Reply {
    Reply::refusal("The question was edited, and I read none in it now. Write it anew and I answer at once.")
}

/// Said once, when the bot is newly added. At most 600 characters.
#[must_use]
pub fn hello() -> Reply {
    Reply {
        answer: vec![
            "Hello, I work out the odds of reptile pairings, exactly, in your own words. Mention me or type / to ask:".to_owned(),
            TRY[0].to_owned(),
            TRY[1].to_owned(),
            TRY[2].to_owned(),
            "I answer only when spoken to. \"help\" shows what I can do; /settings is for those who look after the server.".to_owned(),
        ],
        ..Reply::default()
    }
}

/// What can be done on this platform, on one screen, by task.
#[must_use]
pub fn help() -> Reply {
    Reply {
        answer: vec![
            "Odds of a pairing: mention me, write me directly, or /odds. For example:".to_owned(),
            TRY[0].to_owned(),
            TRY[1].to_owned(),
            TRY[2].to_owned(),
            "Go on from an answer: reply to it (\"and with 9 eggs?\", \"swap them\"), or press a button under it."
                .to_owned(),
            "Edit your question and the answer changes. A question back: choose, or reply with the name.".to_owned(),
            "Somebody's message: its menu, Apps, \"Odds of this message\" or \"Explain the words\".".to_owned(),
            "A word, a gene, a question: /explain. Anything at all in words: /ask.".to_owned(),
            "Your own animals, to you alone: /collection (also a file of them), or write me \"add 1.0 pastel het clown named \
             Hugo\"."
                .to_owned(),
            "Reminders, by your clock: /remind, or write me \"remind me in 10 days to candle the eggs\".".to_owned(),
            "Pairings you saved: /pairings. Erase all I keep of you: /forget.".to_owned(),
            "This server (for those who look after it): /settings, /pins, /words.".to_owned(),
        ],
        ..Reply::default()
    }
}

/// Still at work, after so long.
#[must_use]
pub fn working(so_far: Duration) -> Reply {
    Reply::sentence(still_working(so_far))
}

/// It was given up because somebody pressed the button.
#[must_use]
pub fn cancelled() -> Reply {
    Reply::sentence("Cancelled. Ask again whenever you like.")
}

/// It took longer than the platform waits.
#[must_use]
pub fn took_too_long() -> Reply {
    Reply::refusal("That took too long, and I gave it up. Please ask for less at once. (code 504)")
}

/// Too many long questions at once.
#[must_use]
pub fn busy() -> Reply {
    Reply::refusal("I am still working on a plan for you or this server. Please wait for it and ask again. (code 429)")
}
