//! A message that changes or answers the last one: "and with 9 eggs?", "make her het pied too", "swap them", "the first".
//!
//! A follow-up is an edit of the last request: of a gene, a sex, a parent, the eggs, the wish, what is shown. A what-if
//! changes the request alone, never anything that is kept. Start at [`change`].

mod answer; // a question back is answered
mod edit; // one animal of the pairing is changed

use super::Talk;
use crate::reading::requests::{Aspect, Intent, Reading};
use crate::reading::vocabulary::FollowUp;
use crate::species::names::joined;

/// The last request as this message changes it; `None` when it is no follow-up.
pub(super) fn change(talk: &Talk<'_>, last: &Reading, said: &str, now: &Reading) -> Option<Reading> {
    // Genes of one species mean nothing in another.
    if last.species.is_some() && now.species.is_some() && last.species != now.species {
        return None;
    }
    if let Some(question) = last.questions.first() {
        return answer::answer(talk, last, question, said, now);
    }
    let key = joined(said.trim_matches(|c: char| !c.is_alphanumeric()));
    let role = |key: &str| talk.reader.follow_up(key);
    match role(&key) {
        Some(FollowUp::Swap) => {
            let mut next = last.clone();
            next.pairing.parents.reverse();
            let sexes: Vec<_> = next.pairing.parents.iter().map(|p| p.sex.other()).collect();
            for (parent, sex) in next.pairing.parents.iter_mut().zip(sexes) {
                parent.sex = sex;
            }
            return Some(next);
        }
        Some(FollowUp::Again) => return talk.first.clone(),
        Some(FollowUp::AllKinds) => {
            let mut next = last.clone();
            next.pairing.shown.all = true;
            return Some(next);
        }
        _ => {}
    }
    if now.intent == Intent::Help || now.outside.is_some() {
        return None;
    }
    let mut next = last.clone();
    if now.pairing.parents.len() >= 2 {
        return keeps(talk, said).then(|| edit::same_but(talk, next, now));
    }
    // "Why no pieds" asks for pieds; it takes none away.
    let mut changed = now.pairing.aspect != Aspect::WhyNone && edit::animal(talk, &mut next, said, now);
    if let Some(eggs) = now.pairing.clutch_size {
        next.pairing.clutch_size = Some(eggs);
        changed = true;
    }
    if let Some(clutches) = now.pairing.clutches {
        next.pairing.clutches = Some(clutches);
        changed = true;
    }
    if now.pairing.certainty.is_some() {
        next.pairing.certainty.clone_from(&now.pairing.certainty);
        changed = true;
    }
    if now.pairing.shown.without_normals {
        next.pairing.shown.without_normals = true;
        changed = true;
    }
    if !changed && let Some(target) = edit::wish(now) {
        next.pairing.target = Some(target);
        next.pairing.aspect = now.pairing.aspect;
        changed = true;
    }
    if !changed && now.pairing.aspect != Aspect::Table && (now.intent == Intent::Odds || asks_short(said, now)) {
        next.pairing.aspect = now.pairing.aspect;
        changed = true;
    }
    if changed {
        next.assumed.clear();
        next.unread.clone_from(&now.unread);
    }
    changed.then_some(next)
}

/// Whether a message says that it keeps the rest of the last request: "same but …".
pub(super) fn keeps(talk: &Talk<'_>, said: &str) -> bool {
    leads(talk, said, FollowUp::SameBut) && said.to_lowercase().contains("same")
}

/// Whether a message begins as one that changes the last request.
pub(super) fn edits(talk: &Talk<'_>, said: &str) -> bool {
    [FollowUp::Without, FollowUp::Add, FollowUp::Edit, FollowUp::SameBut].into_iter().any(|r| leads(talk, said, r))
}

/// Whether a message is nothing but a phrase that goes on from the last request: "show all", "swap them".
pub(super) fn whole(talk: &Talk<'_>, said: &str) -> bool {
    let role = talk.reader.follow_up(&joined(said.trim_matches(|c: char| !c.is_alphanumeric())));
    matches!(role, Some(FollowUp::Swap | FollowUp::Again | FollowUp::AllKinds))
}

/// Whether a message begins with a phrase of this role, of up to six words.
pub(super) fn leads(talk: &Talk<'_>, said: &str, role: FollowUp) -> bool {
    let words: Vec<&str> = said.split_whitespace().take(6).collect();
    (1..=words.len()).any(|n| {
        let phrase: String = words[..n].concat();
        talk.reader.follow_up(&joined(phrase.trim_matches(|c: char| !c.is_alphanumeric()))) == Some(role)
    })
}

/// Whether a message that names nothing is a short question about the last pairing: "is it safe?", "square it".
fn asks_short(said: &str, now: &Reading) -> bool {
    const MOST_WORDS: usize = 6;
    now.named.is_empty()
        && matches!(now.intent, Intent::SmallTalk | Intent::Unknown | Intent::Explain)
        && said.split_whitespace().count() <= MOST_WORDS
}

/// Words that ask for a picture.
const PICTURE: [&str; 14] = [
    "picture",
    "pictures",
    "pic",
    "draw",
    "drawn",
    "drawing",
    "diagram",
    "image",
    "chart",
    "graph",
    "visualise",
    "visualize",
    "bild",
    "imagen",
];
/// Words that may stand beside them where nothing else is asked for.
const BESIDE: [&str; 30] = [
    "a", "the", "that", "this", "it", "as", "me", "us", "show", "please", "pls", "can", "could", "you", "i", "we",
    "see", "of", "in", "make", "have", "get", "and", "now", "again", "want", "to", "same", "send", "last",
];

/// Whether a picture is asked for.
pub(super) fn asks_picture(said: &str) -> bool {
    said.split(|c: char| !c.is_alphanumeric()).any(|word| PICTURE.contains(&&*word.to_lowercase()))
}

/// Whether nothing but a picture of what was answered last is asked for: "draw it", "can I see that as a picture".
pub(super) fn asks_only_picture(said: &str) -> bool {
    let mut words = said.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase);
    asks_picture(said) && words.all(|word| PICTURE.contains(&&*word) || BESIDE.contains(&&*word))
}
