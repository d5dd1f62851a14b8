//! What is said to those who look after a server: posts, texts of its own, files of words.

use super::super::embeds::escape;
use super::super::kept::posts::Trouble;
use super::super::kept::servers::Used;
use super::super::posts::Refreshed;
use crate::explanations::own::TakenOver;
use crate::reply::{Kind, Reply};

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

/// How a post stands.
#[must_use]
pub fn post_state(trouble: Trouble, pinned: bool) -> &'static str {
    match (trouble, pinned) {
        (Trouble::Gone, _) => "was deleted; I take it off my list",
        (Trouble::Refused, _) => {
            "I can no longer reach it: give me \"View Channel\" and \"Read Message History\" there"
        }
        (Trouble::Unpinned, _) => "somebody unpinned it",
        (Trouble::None, true) => "pinned",
        (Trouble::None, false) => "not pinned",
    }
}

/// What stands under the list of posts.
#[must_use]
pub fn posts(told: Option<Refreshed>) -> Reply {
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

/// Over a draft as it would be shown, with the questions that lead to it.
#[must_use]
pub fn draft_shown(questions: &[String]) -> String {
    let text = "This is how it would read. Nobody sees it until you publish it.";
    if questions.is_empty() {
        return text.to_owned();
    }
    let listed: Vec<String> = questions.iter().map(|q| escape(q)).collect();
    format!("{text} Questions that lead to it: {}", listed.join("; "))
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
        "This server has no words of its own. /words write changes a topic, /words short adds a short name, /words caution \
         says what is always said.",
    )
}

/// What is known against a gene is always said.
#[must_use]
pub fn always_said(gene: &str) -> Reply {
    Reply::sentence(format!(
        "From here on what is known against {gene} is said in full and first, whenever it is in play. /words remove takes that back."
    ))
}

/// A word that is no gene.
#[must_use]
pub fn no_such_gene(word: &str) -> Reply {
    Reply::refusal(format!("I know no gene called \"{word}\". Start typing and pick from the list. (code 404)"))
}

/// A gene against which nothing is known.
#[must_use]
pub fn nothing_against(gene: &str) -> Reply {
    Reply::refusal(format!("I know nothing against \"{gene}\", so there is nothing to say of it. (code 422)"))
}

/// Things that are named in a row, or how many there are of them.
fn named(what: [&str; 2], names: &[String]) -> Option<String> {
    let shown: Vec<String> = names.iter().take(10).map(|name| name.replace('_', " ")).collect();
    let more = names.len().saturating_sub(10);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let what = if names.len() == 1 { what[0] } else { what[1] };
    (!names.is_empty()).then(|| format!("{} {what}: {}{more}", names.len(), shown.join(", ")))
}

fn taken(over: &TakenOver) -> Vec<String> {
    [
        named(["text", "texts"], &over.topics),
        named(["short name", "short names"], &over.aliases),
        named(["caution that is always said", "cautions that are always said"], &over.cautions),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The first faults of a file, and how many more there are.
fn left_out(refused: &[String]) -> Vec<String> {
    let mut out: Vec<String> = refused.iter().take(10).map(|fault| format!("Left out: {fault}")).collect();
    if refused.len() > 10 {
        out.push(format!("And {} more left out.", refused.len() - 10));
    }
    out
}

/// What a file of words would change.
#[must_use]
pub fn words_bring(over: &TakenOver, refused: &[String]) -> Reply {
    let mut answer = vec!["This file would bring, in place of what this server has of the same name:".to_owned()];
    answer.extend(taken(over));
    let mut notes = Vec::new();
    if over.same > 0 {
        notes.push(format!("{} are the same already.", over.same));
    }
    notes.extend(left_out(refused));
    notes.push("Nothing is changed until you press the button. Earlier versions can be brought back.".to_owned());
    Reply { kind: Kind::Question, answer, notes, ..Reply::default() }
}

/// A file of words that changes nothing.
#[must_use]
pub fn words_bring_nothing(over: &TakenOver, refused: &[String]) -> Reply {
    let what = if over.same > 0 {
        "Everything in that file is the same here already. Nothing was changed."
    } else {
        "Nothing in that file can be taken over: it wants the form that /words list hands out. (code 422)"
    };
    Reply { notes: left_out(refused), ..Reply::refusal(what) }
}

/// Words of a file hold now.
#[must_use]
pub fn words_taken_over(over: &TakenOver) -> Reply {
    let mut answer = vec!["Taken over:".to_owned()];
    answer.extend(taken(over));
    if answer.len() == 1 {
        answer = vec!["Everything in that file is the same here already. Nothing was changed.".to_owned()];
    }
    Reply {
        answer,
        notes: vec!["Posts of them follow. /words list shows the versions.".to_owned()],
        ..Reply::default()
    }
}

/// How much the bot is used in a server.
#[must_use]
pub fn used(used: &Used) -> Reply {
    let members = if used.members == 1 { "member" } else { "members" };
    Reply {
        notes: vec!["Numbers alone: what somebody asked, and what they keep, is their own.".to_owned()],
        ..Reply::sentence(format!(
            "In this server I answered {} times in the last week and {} times in the last 30 days, to {} {members}.",
            used.week, used.month, used.members
        ))
    }
}
