//! Where the keeper is, in words.

use super::changed::UNDO;
use crate::collection::herd::Herd;
use crate::conversation::sentences::keeping::{count, list_of};
use crate::reading::places;
use crate::reply::{Kind, Reply};

/// "Berlin (Europe/Berlin)", "UTC".
fn zone(name: &str) -> String {
    let called = places::called(name);
    if called == "UTC" { called } else { format!("{called} ({name})") }
}

pub(in crate::conversation) fn told_past(herd: &Herd, by_zone: bool) -> String {
    match (herd.zone_name(), herd.half()) {
        (Some(name), _) if by_zone => format!("set your time zone to {}", zone(name)),
        (_, Some(half)) => format!("set that you keep in the {} half of the world", half.name()),
        _ => "set where you are".to_owned(),
    }
}

pub(in crate::conversation) fn told(herd: &Herd, by_zone: bool) -> Reply {
    let half = herd.half().map_or("", places::Half::name);
    let mut reply = match herd.zone_name() {
        Some(name) if by_zone => {
            let mut reply = Reply::sentence(format!("Saved: your time zone is {}.", zone(name)));
            reply.assumed.push(format!("you keep in the {half} half of the world"));
            reply
        }
        _ => Reply::sentence(format!("Saved: you keep in the {half} half of the world. Your seasons are counted so.")),
    };
    reply.notes.push(UNDO.to_owned());
    reply
}

/// Beside something else that was saved with it.
pub(in crate::conversation) fn told_beside(herd: &Herd) -> String {
    let half = herd.half().map_or("", places::Half::name);
    let zone = herd.zone_name().map(zone).unwrap_or_default();
    format!("Your time zone is {zone} from now on, and you keep in the {half} half of the world.")
}

/// Reminders that go with the keeper.
pub(in crate::conversation) fn reminders_moved(n: usize) -> String {
    let those = count(n, "reminder that comes again keeps its hour", "reminders that come again keep their hour");
    format!("{those} by your clock there; one that comes once keeps its moment.")
}

/// What is no place was answered to the question where they are.
pub(in crate::conversation) fn again(reply: Reply) -> Reply {
    Reply { kind: Kind::Question, ..reply }
}

pub(in crate::conversation) fn as_it_was(herd: &Herd) -> Reply {
    let mut reply = known(herd);
    reply.answer.push("Nothing was changed.".to_owned());
    reply
}

/// What is known of where the keeper is.
pub(in crate::conversation) fn known(herd: &Herd) -> Reply {
    let half = herd.half().map(|half| format!("you keep in the {} half of the world", half.name()));
    match (herd.zone_name(), half) {
        (Some(name), Some(half)) => Reply::sentence(format!("Your time zone is {}; {half}.", zone(name))),
        (None, Some(half)) => Reply::sentence(format!(
            "I know no time zone of yours yet; {half}. Say for example \"my time zone is Berlin\"."
        )),
        _ => Reply::sentence(
            "I do not know where you are yet. Say for example \"my time zone is Berlin\" or \"I'm in the UK\".",
        ),
    }
}

/// A name of several zones.
pub(in crate::conversation) fn which_zone(typed: &str, zones: &[String]) -> Reply {
    Reply {
        kind: Kind::Question,
        choices: zones.iter().map(|name| places::called(name)).collect(),
        ..Reply::sentence(format!("\"{typed}\" has several time zones. Whose clock is yours?"))
    }
}

/// Hours from UTC say nothing of the changes of the clock.
pub(in crate::conversation) fn offset(typed: &str) -> Reply {
    Reply::refusal(format!(
        "\"{typed}\" does not tell me when your clocks change. Name a city or country instead: \"my time zone is Berlin\"."
    ))
}

pub(in crate::conversation) fn no_such_zone(typed: &str, near: &[String]) -> Reply {
    let typed: String = typed.chars().take(40).collect();
    Reply::refusal(if near.is_empty() {
        format!("I know no time zone \"{typed}\". Name a large city or your country: \"my time zone is Berlin\".")
    } else {
        format!("I know no time zone \"{typed}\". Did you mean {}? Say \"my time zone is {}\".", either(near), near[0])
    })
}

/// "Berlin", "Berlin or Bern".
fn either(names: &[String]) -> String {
    list_of(names).replace(" and ", " or ")
}
