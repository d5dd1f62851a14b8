//! What the front says for itself: nothing of genetics, only of the platform. One place, so that other languages can
//! follow. Errors say what happened and what to do, with a short code.

use std::time::Duration;

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
            "Your own animals, to you alone: /collection, or write me \"add 1.0 pastel het clown named Hugo\"."
                .to_owned(),
            "Pairings you saved: /pairings. Erase all I keep of you: /forget.".to_owned(),
            "This server (for those who look after it): /settings, /pins, /words.".to_owned(),
        ],
        ..Reply::default()
    }
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

/// Still at work, after so long.
#[must_use]
pub fn working(so_far: Duration) -> Reply {
    Reply::sentence(format!("Still working it out ({} s so far).", so_far.as_secs()))
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

/// Posting and wording are for moderators.
#[must_use]
pub fn not_a_moderator() -> Reply {
    Reply::refusal("That is for members with the permission \"Manage Messages\" or \"Manage Server\". (code 403)")
}

/// A word that leads to no topic.
#[must_use]
pub fn no_topic(word: &str) -> Reply {
    Reply::refusal(format!("I have no topic for \"{word}\". Start typing and pick from the list. (code 404)"))
}

/// What stands over a choice of topics.
#[must_use]
pub fn start_here(titles: Vec<String>) -> Reply {
    let mut answer = vec!["New here? Choose what you want to read; only you see the answer.".to_owned()];
    answer.extend(titles);
    Reply { understood: "Start here".to_owned(), answer, ..Reply::default() }
}

/// A post was made and pinned.
#[must_use]
pub fn post_pinned() -> Reply {
    Reply::sentence("Posted and pinned. I edit it in place when its words change; /pins lists, replaces and unpins.")
}

/// Posted, and the right to pin is missing.
#[must_use]
pub fn may_not_pin() -> Reply {
    Reply::refusal(
        "I may not pin in that channel: give me the permission \"Pin Messages\" there (\"Manage Messages\" no longer includes \
         it), then unpin and post it again, or pin the post by hand. (code 403)",
    )
}

/// Posting is not allowed.
#[must_use]
pub fn may_not_post() -> Reply {
    Reply::refusal(
        "I may not post in this channel: give me \"View Channel\", \"Send Messages\" and \"Embed Links\" here. (code 403)",
    )
}

/// The platform's own limit of pins.
#[must_use]
pub fn pins_full() -> Reply {
    Reply::refusal(
        "Posted, but this channel has as many pins as the platform allows (250): unpin something, then pin it by hand. \
         (code 409)",
    )
}

/// Pinning failed for now.
#[must_use]
pub fn not_pinned_now() -> Reply {
    Reply::refusal("The platform did not take that just now. Please try again in a minute. (code 503)")
}

/// Our own limit of pins.
#[must_use]
pub fn enough_pins(most: usize) -> Reply {
    Reply::refusal(format!(
        "{most} of my posts are pinned in this channel, which is all I pin in one. Unpin or replace one with /pins. (code 409)"
    ))
}

/// Another topic stands in the place of a post.
#[must_use]
pub fn post_replaced() -> Reply {
    Reply::sentence("Replaced, in its place.")
}

/// A post was unpinned.
#[must_use]
pub fn post_unpinned() -> Reply {
    Reply::sentence("Unpinned. The message stays; delete it if you like.")
}

/// A post is no longer there.
#[must_use]
pub fn post_gone() -> Reply {
    Reply::refusal("That post was deleted. I have taken it off my list. (code 410)")
}

/// What stands under the list of posts.
#[must_use]
pub fn posts(told: Option<super::posts::Refreshed>) -> Reply {
    Reply::sentence(match told {
        None => {
            "/pins with a topic posts and pins it in this channel; with several, separated by commas, a \"start here\"."
                .to_owned()
        }
        Some(told) => {
            format!(
                "{} changed, {} gone, {} not reached; all others are up to date.",
                told.changed, told.gone, told.failed
            )
        }
    })
}

/// Over a draft as it would be shown.
#[must_use]
pub fn draft_shown() -> String {
    "This is how it would read. Nobody sees it until you publish it.".to_owned()
}

/// What is wrong with a draft.
#[must_use]
pub fn draft_refused(faults: &str) -> Reply {
    let mut answer =
        vec!["That cannot be published yet; your text is attached and behind the button. (code 422)".to_owned()];
    answer.extend(faults.lines().map(str::to_owned));
    Reply { kind: Kind::Refusal, answer, ..Reply::default() }
}

/// A text holds now.
#[must_use]
pub fn published(version: u32) -> Reply {
    Reply::sentence(format!("Published as version {version}. Posts of it follow. /words list shows the versions."))
}

/// Words that cannot be taken.
#[must_use]
pub fn words_refused(why: &str) -> Reply {
    let mut answer = vec!["Nothing was changed. (code 422)".to_owned()];
    answer.extend(why.lines().map(str::to_owned));
    Reply { kind: Kind::Refusal, answer, ..Reply::default() }
}

/// A short name holds now.
#[must_use]
pub fn short_added(word: &str, means: &str) -> Reply {
    Reply::sentence(format!("In this server \"{word}\" now means {means}."))
}

/// Words of the server were taken away.
#[must_use]
pub fn taken_away() -> Reply {
    Reply::sentence("Taken away; the built-in words hold again. /words revert brings an earlier text back.")
}

/// The server has no words of its own.
#[must_use]
pub fn no_own_words() -> Reply {
    Reply::sentence(
        "This server has no words of its own. /words write changes a topic, /words short adds a short name.",
    )
}
