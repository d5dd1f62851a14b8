//! Who rests and why; what the room has no use for this season; what was taken for granted.

use super::super::{count, grams, list_of, with_code};
use super::pairs::{Shown, pair};
use crate::collection::animal::{Animal, Sex};
use crate::conversation::keeping::ready::Rest;
use crate::conversation::keeping::season::{Kept, Scene};
use crate::conversation::labels::{percent, target};
use crate::engine::odds::{none, sure};
use crate::engine::planning::season::Pairing;
use crate::reading::dates::{When, month_name};
use crate::species::Species;
use crate::species::care::{Months, Range};

/// Animals that are named in one note; the rest are counted.
const MOST_NAMED: usize = 6;

/// "March 2027".
fn month(day: jiff::civil::Date) -> String {
    When::Month(day.year(), day.month()).words()
}

/// Why one animal rests, in a sentence.
pub(in crate::conversation) fn sentence(animal: &Animal, why: Rest) -> String {
    let who = with_code(animal);
    match why {
        Rest::Unsexed => format!("{who} is not sexed. Say \"{} is female\" or \"is male\".", animal.called()),
        Rest::Said => format!("{who} rests, as you recorded."),
        Rest::Growing => format!("{who} is still growing, as you recorded."),
        Rest::Skipped => format!("{who} is left out, as you said."),
        Rest::Possible => format!("{who} only possibly carries what is wanted, and possible hets are left out."),
        Rest::Young(until) => format!("{who} is too young until about {}.", month(until)),
        Rest::Light(now, least, when) => {
            let missing = grams(least - now);
            let when = when.map_or_else(
                || "when is not known: two weights a month apart would tell".to_owned(),
                |day| format!("at its pace about {}", month(day)),
            );
            format!("{who} is {missing} short of {} ({}); {when}.", grams(least), grams(now))
        }
        Rest::NotRegained(before, now) => {
            format!("{who} rests: she laid, and has {} of the {} she had before.", grams(now), grams(before))
        }
        Rest::WeightNotKnown => {
            format!("{who} rests: she laid, and her weight since is not known. Weigh her to have her counted.")
        }
        Rest::Gravid => format!("{who} carries already, by her signs."),
    }
}

/// "A, B and 3 more".
fn named(names: &[String]) -> String {
    if names.len() <= MOST_NAMED {
        return list_of(names);
    }
    let mut some = names[..MOST_NAMED].to_vec();
    some.push(count(names.len() - MOST_NAMED, "more", "more"));
    list_of(&some)
}

/// Who rests for a reason that can be mended or will pass soon: females first.
pub(super) fn to_mend(shown: &Shown<'_>, scene: &Scene) -> Vec<String> {
    let mut lines = Vec::new();
    let mut males = Vec::new();
    for player in &scene.players {
        let (Some(animal), Some(why)) = (shown.herd.animal(player.id), player.state.why) else { continue };
        match why {
            Rest::Light(..) if animal.sex == Sex::Female => lines.insert(0, sentence(animal, why)),
            Rest::NotRegained(..) | Rest::WeightNotKnown | Rest::Gravid => lines.push(sentence(animal, why)),
            Rest::Light(..) => males.push(sentence(animal, why)),
            _ => {}
        }
    }
    let more = lines.len().saturating_sub(MOST_NAMED);
    lines.truncate(MOST_NAMED);
    if more > 0 {
        lines.push(format!("And {} that rest for such reasons.", count(more, "more", "more")));
    }
    males.truncate(1);
    lines.extend(males);
    lines
}

/// Who rests for another reason, by reason.
pub(super) fn resting(shown: &Shown<'_>, scene: &Scene) -> Vec<String> {
    let (mut young, mut said, mut unsexed, mut possible) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for player in &scene.players {
        let (Some(animal), Some(why)) = (shown.herd.animal(player.id), player.state.why) else { continue };
        match why {
            Rest::Young(until) => young.push((until, format!("{} until {}", animal.called(), month(until)))),
            Rest::Said | Rest::Growing | Rest::Skipped => said.push(animal.called()),
            Rest::Unsexed => unsexed.push(animal.called()),
            Rest::Possible => possible.push(animal.called()),
            Rest::Light(..) | Rest::NotRegained(..) | Rest::WeightNotKnown | Rest::Gravid => {}
        }
    }
    young.sort();
    let young: Vec<String> = young.into_iter().map(|y| y.1).collect();
    let kinds = [
        ("Not sexed, so not planned with", unsexed),
        ("Left out as only possible hets", possible),
        ("Resting or growing, as you said", said),
        ("Too young", young),
    ];
    kinds.iter().filter(|(_, who)| !who.is_empty()).map(|(why, who)| format!("{why}: {}.", named(who))).collect()
}

/// Who could be paired and is not: females, then males, each with what they would be good for.
pub(super) fn unused(shown: &Shown<'_>, kept: &Kept, room: usize) -> Vec<String> {
    let scene = &kept.scenes[room];
    let used = |i: usize| {
        let is = |p: &Pairing| p.room == room && (p.sire == i || p.dam == i);
        kept.advice.chosen.iter().any(|chosen| is(&chosen.pairing))
    };
    let mut lines = Vec::new();
    let mut next: Option<(f64, String)> = None;
    let (mut females, mut males) = (Vec::new(), Vec::new());
    let mut harmful = Vec::new();
    let species = shown.catalogue.get(scene.species);
    for (i, player) in scene.players.iter().enumerate() {
        let Some(animal) = shown.herd.animal(player.id).filter(|_| player.state.why.is_none() && !used(i)) else {
            continue;
        };
        let harm = scene.harm_of(i);
        if !harm.is_empty() {
            let genes: Vec<String> = harm.iter().map(|gene| species.gene(*gene).entry.name.clone()).collect();
            harmful.push(format!("{} ({})", animal.called(), list_of(&genes)));
            continue;
        }
        let best = kept.advice.best_of(room, i).filter(|(_, worth)| *worth > WORTH_A_WORD);
        let of = |pairing: Pairing| {
            let (sire, dam) = kept.ids(pairing)?;
            Some(pair(shown.herd.animal(sire)?, shown.herd.animal(dam)?))
        };
        let her = |pairing: Pairing| kept.ids(pairing).and_then(|(_, dam)| shown.herd.animal(dam)).map(Animal::called);
        match (animal.sex, best) {
            (Sex::Male, Some((pairing, _))) => {
                let stands_in = her(pairing).map_or_else(String::new, |dam| format!(" (could stand in with {dam})"));
                males.push(format!("{}{stands_in}", animal.called()));
            }
            (Sex::Male, None) => males.push(animal.called()),
            (_, Some((pairing, worth))) => {
                let better = next.as_ref().is_none_or(|(known, _)| worth > *known);
                next = of(pairing).filter(|_| better).map(|pair| (worth, pair)).or(next);
                females.push(animal.called());
            }
            (_, None) => females.push(animal.called()),
        }
    }
    if !harmful.is_empty() {
        lines.push(format!("Never advised, for the harm known of it: {}.", named(&harmful)));
    }
    if !females.is_empty() {
        let why = match (&next, kept.most) {
            (Some((_, next)), Some(_)) => format!("beyond the limit; next would be {next}"),
            _ => "nothing with them brings a goal nearer".to_owned(),
        };
        lines.push(format!("Can rest: {}; {why}.", named(&females)));
    }
    if !males.is_empty() {
        lines.push(format!("Not needed this season: {}.", named(&males)));
    }
    lines
}

/// Below this share of a goal a pairing is not worth a word.
const WORTH_A_WORD: f64 = 1e-6;

/// What was taken for granted of a species, for "I took it that".
pub(super) fn defaults(species: &Species, scene: &Scene) -> String {
    let care = species.care();
    let mut parts = Vec::new();
    #[expect(clippy::cast_possible_truncation)] // grams of an animal
    let weight = |range: &Range| grams(range.low.round() as i32);
    let years = |range: Option<&Range>| range.map_or_else(String::new, |r| format!(", {} years", r.default));
    if let Some(range) = &care.female_first_weight {
        parts.push(format!("females from {}{}", weight(range), years(care.maturity_female_years.as_ref())));
    }
    if let Some(range) = &care.male_first_weight {
        parts.push(format!("males from {}{}", weight(range), years(care.maturity_male_years.as_ref())));
    }
    parts.push(format!("{} females a male", scene.world.females_per_male));
    if let Some(share) = &care.producing_share {
        parts.push(format!("{} producing", percent(&odds_of(share.default))));
    }
    let kin = if scene.closest >= sure() {
        "relatives paired"
    } else if scene.closest == none() {
        "no relatives"
    } else {
        "none closer than half-siblings"
    };
    parts.push(kin.to_owned());
    format!("common practice fits ({})", parts.join("; "))
}

fn odds_of(share: f64) -> crate::engine::odds::Odds {
    crate::engine::odds::parse(&share.to_string()).unwrap_or_else(none)
}

/// "ball pythons are paired November to February (northern rooms), and now is the season".
pub(super) fn season(species: &Species, kept: &Kept, today: jiff::civil::Date) -> Option<String> {
    let months: &Months = species.care().pairing_months.as_ref()?;
    let south = kept.said.south == Some(true);
    let shift = |m: &u8| if south { (m + 5) % 12 + 1 } else { *m };
    let usual: Vec<u8> = months.usual.iter().map(shift).collect();
    let possible: Vec<u8> = months.possible.iter().map(shift).collect();
    let name = |m: Option<&u8>| m.and_then(|m| i8::try_from(*m).ok()).map(month_name).unwrap_or_default();
    let now = u8::try_from(today.month()).unwrap_or(0);
    let state = if usual.contains(&now) {
        "now is the season"
    } else if possible.contains(&now) {
        "now is early or late for it"
    } else {
        "now is out of season"
    };
    let half = if south { "southern" } else { "northern" };
    Some(format!(
        "{}s are paired {} to {} ({half} rooms), and {state}",
        species.name().to_lowercase(),
        name(usual.first()),
        name(usual.last()),
    ))
}

/// Goals that stand in each other's way, or in their own.
pub(super) fn contradictions(species: &Species, scene: &Scene) -> Vec<String> {
    let mut lines = Vec::new();
    for one in &scene.wishes {
        for other in &scene.wishes {
            let barred = one.limits.without.iter().filter_map(|id| species.gene_by_id(id));
            let meant: Vec<_> = barred.filter(|g| other.target.genes.iter().any(|(w, _)| w == g)).collect();
            let Some(gene) = meant.first() else { continue };
            let name = &species.gene(*gene).entry.name;
            lines.push(if one.number == other.number {
                format!("Goal {} wants {name} and is without it: nothing can serve it. Change one of the two.", one.number)
            } else {
                format!(
                    "Goals {} and {} pull apart: goal {} is without {name}, goal {} wants it. Each has its own pairings.",
                    one.number, other.number, one.number, other.number
                )
            });
        }
    }
    lines
}

/// Goals that are reached, and goals for which an allele is missing.
pub(super) fn states(shown: &Shown<'_>, kept: &Kept, room: usize) -> Vec<String> {
    let scene = &kept.scenes[room];
    let species = shown.catalogue.get(scene.species);
    let mut lines = Vec::new();
    for (wish, missing) in scene.wishes.iter().zip(&kept.advice.missing[room]) {
        let goal = target(species, &wish.target);
        if !missing.is_empty() {
            let genes =
                wish.target.genes.iter().filter(|(g, _)| species.place(*g).is_some_and(|p| missing.contains(&p.0)));
            let names: Vec<String> = genes.map(|(g, _)| species.gene(*g).entry.name.clone()).collect();
            lines.push(format!(
                "Goal {} ({goal}): nobody here can bring {}. The rest of it is worked on; \"what should I buy\" says what would mend it.",
                wish.number,
                list_of(&names)
            ));
        } else if let Some(animal) = wish.reached.and_then(|id| shown.herd.animal(id)) {
            lines.push(format!(
                "Goal {} ({goal}) is there already: {}. It counts for less now.",
                wish.number,
                with_code(animal)
            ));
        }
    }
    lines
}
