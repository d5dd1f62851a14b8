//! What kind of thing a message asks, where it is not plainly the odds of a pairing.
//!
//! In: the words and what was found of a pairing. Out: an [`Intent`]. The phrases are data: `config/words/cues.toml`,
//! looked for by `cues`. Which kind wins where several fit is the order of [`intent`].

use super::cues::{Cues, Kind, Line};
use super::matching::{Item, What};
use super::pairing::Found;
use super::requests::{Aspect, Intent, Outside};
use super::vocabulary::Role;
use super::words::{self, Text};

/// Decides the intent. The second value says what a question outside the job is about.
#[expect(clippy::too_many_lines)] // the order of the kinds is the rule: it is read from top to bottom
pub(super) fn intent(cues: &Cues, text: &Text, items: &[Item], found: &Found) -> (Intent, Option<Outside>) {
    let line = Line::new(text, items);
    let letters = items.iter().any(|i| !matches!(i.what, What::Sign(_)));
    if !letters || text.words.iter().all(|w| !matches!(w.kind, words::Kind::Letters)) && found.pairing.parents.len() < 2
    {
        return (Intent::SmallTalk, None);
    }
    let says = |roles: &[Role]| items.iter().any(|i| i.role().is_some_and(|r| roles.contains(&r)));
    let pairing = found.crossed && found.pairing.parents.len() == 2;
    let gened = pairing && !found.named.is_empty();
    let asks = says(&[Role::Question, Role::Odds, Role::Outcomes, Role::HowMany, Role::Can, Role::WhyNo]);
    // "is it legal to …": a question by its first word.
    let opens = text.words.first().is_some_and(|w| {
        matches!(
            &*w.form,
            "is" | "are"
                | "can"
                | "does"
                | "do"
                | "did"
                | "should"
                | "could"
                | "would"
                | "will"
                | "has"
                | "ist"
                | "sind"
                | "darf"
                | "kann"
                | "soll"
                | "es"
                | "puedo"
                | "cuanto"
                | "cuanta"
        )
    });
    let marked = opens || text.words.iter().any(|w| w.kind == words::Kind::Sign('?'));
    let question = asks || marked;
    // "please", "tell me" ask for nothing by themselves.
    let wonders = marked
        || says(&[Role::Odds, Role::Outcomes, Role::HowMany, Role::Can, Role::WhyNo])
        || items.iter().any(|i| {
            i.role() == Some(Role::Question)
                && !matches!(
                    &*text.folded(i.words.clone()),
                    "please" | "pls" | "plz" | "tell me" | "help me" | "show me"
                )
        });
    let gene_said = items.iter().any(|i| matches!(i.what, What::Name(_)));
    let sexed = says(&[Role::Male, Role::Female]) || items.iter().any(|i| matches!(i.what, What::Sexes(..)));
    let chat = line.has(cues, Kind::SmallTalk);
    let selling = chat || !gene_said && line.has(cues, Kind::Idle);
    let possible = says(&[Role::Het, Role::Possible, Role::Double, Role::Triple])
        || items.iter().any(|i| matches!(i.what, What::Share(_) | What::Number(66 | 50 | 33)));

    if line.has(cues, Kind::Export) && !pairing {
        return (Intent::Export, None);
    }
    if line.has(cues, Kind::Forget) && !pairing {
        return (Intent::Forget, None);
    }
    let outside = outside(cues, &line).filter(|o| question || *o == Outside::Dose || line.has(cues, Kind::Help));
    if let Some(outside) = outside
        && !gened
        && !chat
        && (matches!(outside, Outside::Dose) || !(line.has(cues, Kind::Explain) && line.has(cues, Kind::Glossary)))
    {
        return (Intent::Unknown, Some(outside));
    }
    if line.has(cues, Kind::Help) && !pairing && found.named.is_empty() && !chat {
        return (Intent::Help, None);
    }
    // "add a lock", "change Clover to 1485": a record of an animal that is there already.
    // "Bella was paired to Otto": names that could be slips of genes, or are combinations elsewhere, are animals here.
    let like_names = items.iter().filter(|i| matches!(i.what, What::Name(_))).all(|i| {
        let typed = text.typed(i.words.clone());
        typed.chars().next().is_some_and(char::is_uppercase) && typed.chars().skip(1).all(char::is_lowercase)
    });
    if (!gened || like_names && !sexed && !possible) && !marked {
        if line.has(cues, Kind::LogPairing) {
            return (Intent::RecordPairing, None);
        }
        if line.has(cues, Kind::LogWeight) {
            return (Intent::RecordWeight, None);
        }
    }
    if line.has(cues, Kind::SaveSurely) && gene_said {
        return (Intent::SaveAnimal, None);
    }
    if line.has(cues, Kind::SaveAnimal) && !found.asked && !(pairing && question) {
        return (Intent::SaveAnimal, None);
    }
    if selling && !(gened && found.asked) {
        return (Intent::SmallTalk, None);
    }
    let results = line.has(cues, Kind::Results) && possible && found.pairing.aspect != Aspect::WhyNone;
    if results || line.has(cues, Kind::ProveOut) && possible && !(gened && found.pairing.target.is_some()) {
        return (Intent::ProveOut, None);
    }
    if line.has(cues, Kind::ExplainSurely)
        && !says(&[Role::Cross])
        && (gene_said || possible || line.has(cues, Kind::Glossary) || sexed && !gened)
    {
        return (Intent::Explain, None);
    }
    // "when should I start pairing", "who should I prove out first": the first word says what is asked.
    if line.has(cues, Kind::SeasonCalendar) && line.has(cues, Kind::AsksWhen) && !gened {
        return (Intent::SeasonCalendar, None);
    }
    if line.has(cues, Kind::ProveFirst) && !gened {
        return (Intent::ProveOut, None);
    }
    // "honestly het x het is a gamble": nothing is asked and no gene is named.
    let chatters = items.iter().filter(|i| matches!(i.what, What::English)).count() >= 3;
    if !gene_said && !question && !found.asked && chatters && says(&[Role::Cross]) && says(&[Role::Het]) {
        return (Intent::SmallTalk, None);
    }
    let planned = line.has(cues, Kind::Plan);
    if line.has(cues, Kind::NextPairing) && !gened && (!planned || found.named.is_empty()) {
        return (Intent::NextPairing, None);
    }
    if planned {
        return (Intent::Plan, None);
    }
    if line.has(cues, Kind::HatchReport) && !marked {
        return (Intent::RecordClutch, None);
    }
    let clutch = line.has(cues, Kind::RecordClutch);
    let happened = line.has(cues, Kind::RecordPairing) && !wonders;
    if gened && (found.pairing.target.is_some() || found.asked || question) {
        return (Intent::Odds, None);
    }
    if line.has(cues, Kind::SeasonCalendar) && !gened {
        return (Intent::SeasonCalendar, None);
    }
    if line.has(cues, Kind::ListCollection) && !gened {
        return (Intent::ListCollection, None);
    }
    if clutch && !asks && !gened {
        return (Intent::RecordClutch, None);
    }
    if happened && !gened {
        return (Intent::RecordPairing, None);
    }
    if pairing && (gened || !found.questions.is_empty() || found.asked || question) {
        return (Intent::Odds, None);
    }
    if line.has(cues, Kind::RecordWeight) && !question {
        return (Intent::RecordWeight, None);
    }
    if line.has(cues, Kind::ProveOut) && possible {
        return (Intent::ProveOut, None);
    }
    // Odds were asked of one animal, or of a wish alone: the reader asks for the other parent.
    let about_one = !found.pairing.parents.is_empty() || found.pairing.target.is_some();
    let odds_word = says(&[Role::Odds, Role::Outcomes, Role::WhyNo, Role::Square])
        || found.asked && says(&[Role::Target, Role::Can])
        || sexed && question && says(&[Role::Target, Role::Can]);
    // "black pastel cinnamon combo, is that safe": about animals of this kind, not about young.
    let about_harm = found.pairing.aspect == Aspect::Safe && !pairing && gene_said;
    let explains =
        about_harm || line.has(cues, Kind::Explain) && (line.has(cues, Kind::Glossary) || possible || gene_said);
    let plainly_odds = says(&[Role::Odds, Role::Outcomes, Role::WhyNo, Role::Square]);
    if odds_word && about_one && !found.named.is_empty() && (sexed || plainly_odds || !explains) {
        return (Intent::Odds, None);
    }
    if explains {
        return (Intent::Explain, None);
    }
    if odds_word && question && says(&[Role::Het, Role::Double, Role::Triple]) {
        return (Intent::Odds, None);
    }
    if line.has(cues, Kind::Addressed) {
        return (Intent::Unknown, None);
    }
    (Intent::SmallTalk, None)
}

/// Whether at least one young of each sex is wished for: "a pair of clowns".
pub(super) fn wants_both_sexes(cues: &Cues, text: &Text, items: &[Item]) -> bool {
    Line::new(text, items).has(cues, Kind::BothSexes)
}

fn outside(cues: &Cues, line: &Line<'_>) -> Option<Outside> {
    let kinds = [
        (Kind::Dose, Outside::Dose),
        (Kind::Illness, Outside::Illness),
        (Kind::Law, Outside::Law),
        (Kind::Price, Outside::Price),
        (Kind::Photo, Outside::Photo),
    ];
    kinds.into_iter().find(|(kind, _)| line.has(cues, *kind)).map(|(_, outside)| outside)
}
