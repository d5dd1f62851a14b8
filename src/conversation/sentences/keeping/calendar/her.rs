//! A female's season in words: when she lays, how late she is, when she can be paired again.

use jiff::civil::Date;

use super::super::{clutch_short, count, with_code};
use super::words::{counted_from, day, days_of, head, month_of, rows, stage_name, standing, with_likely};
use crate::collection::animal::Animal;
use crate::collection::calendar::course::{Course, Expected, Lateness, lateness, overdue_from};
use crate::collection::calendar::numbers::Numbers;
use crate::collection::calendar::window::{Window, days_between};
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::reading::records::kinds::Stage;
use crate::reply::Reply;
use crate::species::Species;

/// So long past her day she has most likely laid, and nobody told.
const UNTOLD: i64 = 60;

/// What an event is, as something that somebody does: "lays", "hatch".
fn does(stage: Stage, live: bool) -> &'static str {
    match (stage, live) {
        (Stage::Laying, false) => "lays",
        (Stage::Laying, true) => "gives birth",
        (Stage::Ovulation, _) => "ovulates",
        (Stage::Shed, _) => "sheds",
        _ => "is due",
    }
}

/// The dates of a female's season, or of the eggs that she may lay.
pub(in crate::conversation) fn season_of(
    numbers: &Numbers<'_>,
    animal: &Animal,
    course: &Course,
    asked: Option<Stage>,
    today: Date,
) -> Reply {
    let live = numbers.is_live_bearing();
    let main = asked.and_then(|stage| course.expected(stage)).or_else(|| course.expected(Stage::Laying));
    let mut reply = Reply { understood: head(numbers.species, animal), ..Reply::default() };
    let Some(main) = main else {
        reply.answer.push(no_date_yet(numbers, animal, course));
        return reply;
    };
    if let Some(laying) = course.expected(Stage::Laying) {
        reply.cautions.extend(overdue(numbers, animal, course, laying, today));
    }
    let who = animal.called();
    reply.answer.push(match main.stage {
        Stage::Laying | Stage::Ovulation | Stage::Shed => {
            format!("{who} {} {}: {}.", does(main.stage, live), with_likely(main.window), standing(today, main.window))
        }
        stage => format!("{} {}.", of_her(&who, stage), with_likely(main.window)),
    });
    rows(&mut reply, course, asked.unwrap_or(Stage::Hatch).max(Stage::Hatch), live);
    reply.notes.push(counted_from(main, live));
    if main.against {
        reply.notes.push(
            "Her earlier records say other days; I went by the nearest one. Check the dates if that surprises you."
                .to_owned(),
        );
    }
    if let Some(months) = main.out_of {
        let lays = if live { "gives birth" } else { "lays" };
        reply.notes.push(format!(
            "Her kind usually {lays} {}; what you saw of her says other days, and that counts.",
            days_of(months)
        ));
    }
    if !course.carries() && course.seen(Stage::Laying).is_none() {
        reply.notes.push(not_shown_yet(live));
    } else if course.expected(Stage::Shed).is_some() {
        reply.notes.push(format!(
            "Her {} will narrow it: say \"{who} had her {} on the 3rd\".",
            if live { "shed" } else { "pre-lay shed" },
            if live { "post ovulation shed" } else { "pre lay shed" }
        ));
    }
    reply
}

fn of_her(who: &str, stage: Stage) -> String {
    match stage {
        Stage::Pip => format!("{who}'s eggs, once laid, pip"),
        Stage::Hatch => format!("{who}'s eggs, once laid, hatch"),
        Stage::FirstShed => format!("{who}'s young, once there, shed"),
        _ => format!("{who}'s young, once there, are offered food"),
    }
}

fn not_shown_yet(live: bool) -> String {
    let shed = if live { "post ovulation shed" } else { "pre lay shed" };
    format!(
        "She may not have taken. Tell me what you see, and it gets narrower: \"she ovulated today\", \"she had her {shed} \
         yesterday\"."
    )
}

fn no_date_yet(numbers: &Numbers<'_>, animal: &Animal, course: &Course) -> String {
    let who = animal.called();
    let seen: Vec<String> = course
        .seen
        .iter()
        .map(|(stage, on)| format!("{} {}", stage_name(*stage, numbers.is_live_bearing()).to_lowercase(), on.words()))
        .collect();
    let what = if numbers.is_live_bearing() { "birth" } else { "laying" };
    format!(
        "No day of {what} follows from what is recorded of {who} ({}): say when she ovulates or has the shed after it.",
        seen.join(", ")
    )
}

/// What is said before all else of a female that is past her days.
pub(in crate::conversation) fn overdue(
    numbers: &Numbers<'_>,
    animal: &Animal,
    course: &Course,
    laying: &Expected,
    today: Date,
) -> Option<String> {
    let live = numbers.is_live_bearing();
    // By the months alone nobody is overdue: she may not have taken.
    laying.reason.days?;
    let who = with_code(animal);
    let (trouble, signs) = if live {
        ("a birth that does not go on", "straining, weakness, or slugs and stillborn young without an end")
    } else {
        ("egg binding", "straining, a swelling behind the last egg, restless wandering or weakness")
    };
    let laid = if live { "gave birth" } else { "laid" };
    let record = if live { "had 12 live babies" } else { "laid 6 eggs" };
    let likely = day(laying.window.likely());
    let sure = course.carries();
    match lateness(numbers, laying, today) {
        Lateness::Early(_) | Lateness::Now => None,
        Lateness::Past(n) => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            let by = day(overdue_from(numbers, laying));
            Some(format!(
                "{who} is {n} past the usual days. It can be {trouble}: with {signs} she needs a reptile vet at once, and \
                 without any of it a reptile vet on {by} if nothing has come by then."
            ))
        }
        Lateness::Overdue(n) if n > UNTOLD => Some(format!(
            "{who} should have {laid} about {likely}, and nothing is recorded of it. If she has, say \"{} {record} on the 3rd\". \
             If she has not and looks full, or with {signs}, it can be {trouble}: a reptile vet now.",
            animal.called()
        )),
        Lateness::Overdue(n) if sure => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            Some(format!(
                "{who} is overdue: {n} past the usual day ({likely}). That can be {trouble}, which kills if nobody acts: see a \
                 reptile vet now, also if she seems well, and tell them the dates below. If she has {laid} already, say \"{} \
                 {record} on the 3rd\".",
                animal.called()
            ))
        }
        Lateness::Overdue(n) => {
            let n = count(usize::try_from(n).unwrap_or(0), "day", "days");
            Some(format!(
                "{who} is {n} past the usual day after her pairing ({likely}). She may not have taken; but if she looks full, or \
                 with {signs}, it can be {trouble}: a reptile vet at once."
            ))
        }
    }
}

/// "Is she late?"
pub(in crate::conversation) fn late(numbers: &Numbers<'_>, animal: &Animal, course: &Course, today: Date) -> Reply {
    let live = numbers.is_live_bearing();
    let mut reply = season_of(numbers, animal, course, None, today);
    let Some(laying) = course.expected(Stage::Laying) else { return reply };
    let who = animal.called();
    let what = if live { "gives birth" } else { "lays" };
    let first = match lateness(numbers, laying, today) {
        Lateness::Early(n) => format!(
            "No, {who} is not late: {} until the first usual day. She {what} {}.",
            count(usize::try_from(n).unwrap_or(0), "day", "days"),
            with_likely(laying.window)
        ),
        Lateness::Now => format!("No, {who} is within her days: she {what} {}.", with_likely(laying.window)),
        Lateness::Past(_) | Lateness::Overdue(_) if laying.reason.days.is_none() => format!(
            "{who} shows no sign since her pairing, and the season in which her kind lays is over ({}): she most likely did not \
             take.",
            days_of(laying.window)
        ),
        Lateness::Past(_) | Lateness::Overdue(_) => format!(
            "Yes: {who} is {} past the latest usual day, and {} past the most likely one.",
            count(usize::try_from(days_between(laying.window.latest(), today)).unwrap_or(0), "day", "days"),
            count(usize::try_from(days_between(laying.window.likely(), today)).unwrap_or(0), "day", "days"),
        ),
    };
    if let Some(line) = reply.answer.first_mut() {
        *line = first;
    }
    reply
}

/// Nothing of a season is recorded.
pub(in crate::conversation) fn no_season(herd: &Herd, animal: &Animal, last: Option<&Clutch>, live: bool) -> Reply {
    let who = animal.called();
    let mut reply = Reply::sentence(format!(
        "Nothing is due for {}: no pairing, sign or eggs of a running season are recorded.",
        with_code(animal)
    ));
    if let Some(clutch) = last {
        let hatched = clutch.hatched.map_or_else(String::new, |on| format!("; it hatched {}", on.words()));
        reply.answer.push(format!("Her last one: {}{hatched}.", clutch_short(herd, clutch)));
    }
    let born = if live { "had 12 live babies" } else { "laid 6 eggs" };
    reply.notes.push(format!(
        "Tell me what happens: \"{who} locked with … yesterday\", \"{who} ovulated today\", \"{who} {born} on 3 March\"."
    ));
    reply
}

/// A male is due for nothing.
pub(in crate::conversation) fn male_is_not_due(animal: &Animal) -> Reply {
    Reply::refusal(format!("{} is male: eggs are due for a female. Ask by her name.", with_code(animal)))
}

/// Somebody who is not here any more.
pub(in crate::conversation) fn no_longer_here(animal: &Animal) -> Reply {
    let what = super::super::status_word(animal.status);
    Reply::refusal(format!("{} is {what}: nothing is due.", with_code(animal)))
}

/// When an animal can be paired again.
pub(in crate::conversation) struct Again<'a> {
    pub(in crate::conversation) animal: &'a Animal,
    pub(in crate::conversation) species: &'a Species,
    pub(in crate::conversation) today: Date,
    /// The season that it is for.
    pub(in crate::conversation) season: Option<Window>,
    /// She can go now, and now is a month for it.
    pub(in crate::conversation) now: bool,
    /// Why not now, in sentences.
    pub(in crate::conversation) why: Vec<String>,
    /// What the answer rests on.
    pub(in crate::conversation) rests_on: Vec<String>,
}

pub(in crate::conversation) fn again(found: &Again<'_>) -> Reply {
    let who = found.animal.called();
    let mut reply = Reply { understood: head(found.species, found.animal), ..Reply::default() };
    let first = match (found.now, found.season) {
        (true, Some(season)) => {
            format!("{who} can be paired now: the season goes on until {}.", day(season.latest()))
        }
        (_, Some(season)) if season.earliest() <= found.today => {
            format!("{who} is not ready yet; this season goes on until {}.", day(season.latest()))
        }
        (_, Some(season)) => format!(
            "{who} can be paired from {} on, mostly about {}.",
            month_of(season.earliest()),
            month_of(season.likely())
        ),
        (true, None) => format!("{who} can be paired now."),
        (false, None) => format!("{who} cannot be paired yet."),
    };
    reply.answer.push(first);
    reply.answer.extend(found.why.iter().cloned());
    reply.notes.extend(found.rests_on.iter().cloned());
    reply
}
