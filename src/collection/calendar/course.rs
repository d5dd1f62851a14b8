//! The course of a season: what was seen of a female or of her eggs, and what follows from it.
//!
//! Every record gives a window for what comes after it; the days that all of them allow are left. Where a nearer sign
//! contradicts one further back, the nearer one counts and the window says that it is so.

use jiff::civil::Date;

use super::months::season;
use super::numbers::{Days, Interval, Numbers};
use super::window::{Window, days_between, plus};
use crate::collection::animal::{Animal, ClutchId};
use crate::collection::events::{Clutch, Meeting};
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reading::records::kinds::{MeetingKind, SignKind, Stage};

/// Signs and meetings longer ago than this are of another season.
const SEASON: i64 = 200;
/// The same for live-bearers, which carry for months after a long pairing season.
const LONG_SEASON: i64 = 330;
/// Eggs that nobody has told of for so many days beyond their latest one are no longer waited for.
const FORGOTTEN: i64 = 45;
/// Days after the soonest laying in which one that is out of season is waited for.
const LATE: i64 = 60;
/// Where a species' overdue days are not known.
const USUALLY_OVERDUE: i64 = 7;

/// What a window rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reason {
    /// The event that it is counted from.
    pub from: Stage,
    /// When that was, or when it is expected.
    pub on: Window,
    /// It was seen; else it is expected itself.
    pub seen: bool,
    /// The days counted; without them it is by the months of the season.
    pub days: Option<Days>,
}

/// An event that is to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// Which.
    pub stage: Stage,
    /// When.
    pub window: Window,
    /// What it is counted from, the nearest record.
    pub reason: Reason,
    /// An earlier record contradicts the nearest one.
    pub against: bool,
    /// The months in which her kind lays, where a sign of hers is outside of them: it counts.
    pub out_of: Option<Window>,
}

impl Expected {
    fn new(stage: Stage, window: Window, reason: Reason) -> Self {
        Self { stage, window, reason, against: false, out_of: None }
    }
}

/// What was seen of a season, and what follows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Course {
    /// Recorded events, in their order.
    pub seen: Vec<(Stage, When)>,
    /// Events that are expected, in their order.
    pub ahead: Vec<Expected>,
    /// The clutch that it is of, where there is one.
    pub clutch: Option<ClutchId>,
}

impl Course {
    /// The expected event of a stage.
    #[must_use]
    pub fn expected(&self, stage: Stage) -> Option<&Expected> {
        self.ahead.iter().find(|e| e.stage == stage)
    }

    /// When a stage was seen.
    #[must_use]
    pub fn seen(&self, stage: Stage) -> Option<When> {
        self.seen.iter().find(|s| s.0 == stage).map(|s| s.1)
    }

    /// Whether she has shown that she carries, by more than a pairing.
    #[must_use]
    pub fn carries(&self) -> bool {
        self.seen.iter().any(|s| matches!(s.0, Stage::Ovulation | Stage::Gravid | Stage::Shed))
    }
}

/// How a day that was expected stands to today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lateness {
    /// So many days until the earliest.
    Early(i64),
    /// Between the earliest and the latest.
    Now,
    /// So many days past the latest, and not yet overdue.
    Past(i64),
    /// So many days past the usual day, which is too many.
    Overdue(i64),
}

/// The first day on which a laying or birth is overdue.
#[must_use]
pub fn overdue_from(numbers: &Numbers<'_>, expected: &Expected) -> Date {
    let days = numbers.days(Interval::Overdue, None).map_or(USUALLY_OVERDUE, |d| d.low());
    plus(expected.window.likely(), days).max(expected.window.latest()).tomorrow().unwrap_or(Date::MAX)
}

/// How an expected laying or birth stands to today.
#[must_use]
pub fn lateness(numbers: &Numbers<'_>, expected: &Expected, today: Date) -> Lateness {
    let window = expected.window;
    if today < window.earliest() {
        Lateness::Early(days_between(today, window.earliest()))
    } else if today <= window.latest() {
        Lateness::Now
    } else if today < overdue_from(numbers, expected) {
        Lateness::Past(days_between(window.latest(), today))
    } else {
        Lateness::Overdue(days_between(window.likely(), today))
    }
}

/// What was told of a female beyond her records, for a question that keeps nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Told {
    /// An event and its day.
    pub event: Option<(Stage, When)>,
}

/// The season of a female that has not ended in eggs or young yet; nothing where nothing is recorded of one.
#[must_use]
pub fn of_female(numbers: &Numbers<'_>, herd: &Herd, animal: &Animal, today: Date, told: Told) -> Option<Course> {
    let mut season = Season::of(numbers, herd, animal, today);
    if let Some((stage, on)) = told.event {
        season.seen.retain(|s| s.0 != stage);
        season.seen.push((stage, on));
        season.seen.sort_by_key(|s| (s.0, s.1.first()));
    }
    (!season.seen.is_empty() || season.between.is_some()).then(|| season.course(numbers))
}

/// The events that follow one that was told, of no animal in particular.
#[must_use]
pub fn after(numbers: &Numbers<'_>, stage: Stage, on: When, clutch: Option<&Clutch>) -> Course {
    if stage >= Stage::Laying {
        return young(numbers, stage, Window::of(on), true, clutch, vec![(stage, on)]);
    }
    let season = Season { seen: vec![(stage, on)], matings: Some(Window::of(on)), between: None, misfit: false };
    season.course(numbers)
}

/// The eggs of a clutch, or its young until they eat; nothing where the day of laying is not known or it is over.
#[must_use]
pub fn of_clutch(numbers: &Numbers<'_>, clutch: &Clutch, today: Date) -> Option<Course> {
    let hatched = clutch.hatched.or(clutch.laid.filter(|_| numbers.is_live_bearing()));
    let mut seen: Vec<(Stage, When)> = clutch.laid.into_iter().map(|on| (Stage::Laying, on)).collect();
    if let Some(on) = hatched {
        if !numbers.is_live_bearing() {
            seen.push((Stage::Hatch, on));
        }
        if clutch.n_young() == 0 && clutch.lost.is_some() {
            return None;
        }
        let from = if numbers.is_live_bearing() { Stage::Laying } else { Stage::Hatch };
        let mut course = young(numbers, from, Window::of(on), true, Some(clutch), seen);
        course.ahead.retain(|e| e.window.latest() >= today);
        return (!course.ahead.is_empty()).then_some(course);
    }
    // Nothing but slugs.
    if clutch.eggs == Some(0) && clutch.doubtful.unwrap_or(0) == 0 {
        return None;
    }
    let course = match clutch.pipped {
        Some(pip) => pipped(numbers, clutch, pip, seen)?,
        None => young(numbers, Stage::Laying, Window::of(clutch.laid?), true, Some(clutch), seen),
    };
    let hatch = course.expected(Stage::Hatch)?;
    (days_between(hatch.window.latest(), today) <= FORGOTTEN).then_some(course)
}

/// What follows from the first cut egg: the days that it allows, cut by those of the laying where these agree.
fn pipped(numbers: &Numbers<'_>, clutch: &Clutch, pip: When, mut seen: Vec<(Stage, When)>) -> Option<Course> {
    let by_pip = young(numbers, Stage::Pip, Window::of(pip), true, Some(clutch), Vec::new());
    let mut hatch = *by_pip.expected(Stage::Hatch)?;
    let by_laying = clutch.laid.and_then(|laid| {
        let course = young(numbers, Stage::Laying, Window::of(laid), true, Some(clutch), Vec::new());
        course.expected(Stage::Hatch).map(|e| e.window)
    });
    match by_laying.map(|further| hatch.window.meet(further)) {
        Some(Some(both)) => hatch.window = both,
        Some(None) => hatch.against = true,
        None => {}
    }
    seen.push((Stage::Pip, pip));
    let mut course = young(numbers, Stage::Hatch, hatch.window, false, Some(clutch), seen);
    course.ahead.insert(0, hatch);
    Some(course)
}

/// What follows from eggs or young.
fn young(
    numbers: &Numbers<'_>,
    from: Stage,
    on: Window,
    seen: bool,
    clutch: Option<&Clutch>,
    records: Vec<(Stage, When)>,
) -> Course {
    let mut course = Course { seen: records, ahead: Vec::new(), clutch: clutch.map(|c| c.id) };
    let mut last = Reason { from, on, seen, days: None };
    let mut step = |course: &mut Course, stage: Stage, days: Days, counted: Window| {
        let reason = Reason { days: Some(days), ..last };
        course.ahead.push(Expected::new(stage, counted, reason));
        last = Reason { from: stage, on: counted, seen: false, days: None };
    };
    let mut at = on;
    if from == Stage::Laying && !numbers.is_live_bearing() {
        let Some(days) = numbers.days(Interval::Incubation, clutch) else { return course };
        let hatch = at.after(&days);
        if let Some(pip) = numbers.days(Interval::Pip, clutch) {
            let reason = Reason { from, on, seen, days: Some(days) };
            course.ahead.push(Expected::new(Stage::Pip, hatch.before(&pip), reason));
        }
        step(&mut course, Stage::Hatch, days, hatch);
        at = hatch;
    } else if from == Stage::Pip {
        let Some(days) = numbers.days(Interval::Pip, clutch) else { return course };
        at = at.after(&days);
        step(&mut course, Stage::Hatch, days, at);
    }
    if from < Stage::FirstShed {
        let Some(days) = numbers.days(Interval::FirstShed, clutch) else { return course };
        at = at.after(&days);
        step(&mut course, Stage::FirstShed, days, at);
    }
    if from < Stage::FirstMeal
        && let Some(days) = numbers.days(Interval::FirstMeal, clutch)
    {
        at = at.after(&days);
        step(&mut course, Stage::FirstMeal, days, at);
    }
    course
}

/// What was seen of a female since she last laid.
struct Season {
    seen: Vec<(Stage, When)>,
    /// From the first mating to the last, or to being put together where none was seen.
    matings: Option<Window>,
    /// The day she last laid in this season, where the species lays again.
    between: Option<When>,
    /// A shed was recorded that does not fit her ovulation.
    misfit: bool,
}

impl Season {
    fn of(numbers: &Numbers<'_>, herd: &Herd, animal: &Animal, today: Date) -> Self {
        let within = if numbers.is_live_bearing() { LONG_SEASON } else { SEASON };
        let laid = herd
            .clutches
            .iter()
            .filter(|c| c.dam_id == Some(animal.id))
            .filter_map(|c| c.laid)
            .filter(|on| on.first() <= today)
            .max_by_key(|on| on.last());
        let open = |on: When| {
            laid.is_none_or(|laid| on.last() > laid.last())
                && on.first() <= today
                && days_between(on.last(), today) <= within
        };
        let mut seen = Vec::new();
        let met: Vec<&Meeting> = herd.meetings.iter().filter(|m| m.dam_id == Some(animal.id) && open(m.on)).collect();
        let locks: Vec<When> = met.iter().filter(|m| m.kind == MeetingKind::Lock).map(|m| m.on).collect();
        let put: Vec<When> = met.iter().filter(|m| m.kind == MeetingKind::Introduced).map(|m| m.on).collect();
        let mated = if locks.is_empty() { put } else { locks };
        let first = mated.iter().copied().min_by_key(|on| on.first());
        let last = mated.iter().copied().max_by_key(|on| on.last());
        let matings =
            first.zip(last).map(|(first, last)| Window::new(first.first(), Window::of(last).likely(), last.last()));
        seen.extend(last.map(|on| (Stage::Paired, on)));
        let signs = |kind: SignKind| {
            herd.signs
                .iter()
                .filter(move |s| s.animal_id == animal.id && s.kind == kind)
                .map(|s| s.on)
                .filter(|on| open(*on))
        };
        let ovulation = signs(SignKind::Ovulation).max_by_key(|on| on.last());
        // Carrying is news the first time it is seen.
        let gravid = signs(SignKind::Gravid).min_by_key(|on| on.first());
        // A shed before the ovulation is an ordinary one.
        let is_before = |on: When| ovulation.is_some_and(|o| on.last() < o.first());
        let misfit = signs(SignKind::PrelayShed).any(is_before);
        let shed = signs(SignKind::PrelayShed).filter(|on| !is_before(*on)).max_by_key(|on| on.last());
        for (stage, on) in [(Stage::Ovulation, ovulation), (Stage::Gravid, gravid), (Stage::Shed, shed)] {
            seen.extend(on.map(|on| (stage, on)));
        }
        let between = numbers.days(Interval::BetweenClutches, None).and_then(|days| {
            let laid = laid?;
            let next = Window::of(laid).after(&days);
            (overdue_after(numbers, next) >= today).then_some(laid)
        });
        Self { seen, matings, between, misfit }
    }

    fn course(&self, numbers: &Numbers<'_>) -> Course {
        let mut course = Course { seen: self.seen.clone(), ahead: Vec::new(), clutch: None };
        let Some(laying) = self.laying(numbers) else { return course };
        let has = |stage: Stage| self.seen.iter().find(|s| s.0 == stage).map(|s| Window::of(s.1));
        let (ovulated, shed) = (has(Stage::Ovulation), has(Stage::Shed));
        let back = |interval: Interval, stage: Stage| {
            let days = numbers.days(interval, None)?;
            let window = laying.window.before(&days);
            Some(Expected { stage, window, ..laying })
        };
        let carrying = has(Stage::Gravid).is_some();
        if ovulated.is_none() && shed.is_none() && !carrying && self.between.is_none() {
            course.ahead.extend(back(Interval::OvulationToLaying, Stage::Ovulation));
        }
        if shed.is_none() && self.between.is_none() {
            let after = ovulated.zip(numbers.days(Interval::OvulationToShed, None)).map(|(on, days)| {
                let reason = Reason { from: Stage::Ovulation, on, seen: true, days: Some(days) };
                Expected::new(Stage::Shed, on.after(&days), reason)
            });
            course.ahead.extend(after.or_else(|| back(Interval::ShedToLaying, Stage::Shed)));
        }
        course.ahead.push(laying);
        let follows = young(numbers, Stage::Laying, laying.window, false, None, Vec::new());
        course.ahead.extend(follows.ahead);
        course
    }

    /// When she lays or gives birth: what every record allows, from the nearest back.
    fn laying(&self, numbers: &Numbers<'_>) -> Option<Expected> {
        let mut records = self.layings(numbers);
        let (reason, mut window) = records.pop()?;
        let (mut against, mut out_of) = (self.misfit, None);
        while let Some((of, further)) = records.pop() {
            match window.meet(further) {
                Some(both) => window = both,
                // The months of a season are no record of hers.
                None if of.days.is_none() => out_of = Some(further),
                None => {
                    against = true;
                    break;
                }
            }
        }
        Some(Expected { against, out_of, ..Expected::new(Stage::Laying, window, reason) })
    }

    /// The window of each record by itself, the nearest to laying last.
    fn layings(&self, numbers: &Numbers<'_>) -> Vec<(Reason, Window)> {
        let mut found = Vec::new();
        let whole = ovulation_to_laying(numbers);
        let mating = numbers.days(Interval::MatingToLaying, None);
        if let (Some(laid), Some(days)) = (self.between, numbers.days(Interval::BetweenClutches, None)) {
            return vec![counted(Stage::Laying, Window::of(laid), days)];
        }
        match (self.matings, mating) {
            (Some(on), Some(days)) => found.push(counted(Stage::Paired, on, days)),
            (Some(on), None) => found.extend(by_months(numbers, on, whole)),
            _ => {}
        }
        for (stage, on) in &self.seen {
            let on = Window::of(*on);
            match stage {
                Stage::Ovulation => found.extend(whole.map(|days| counted(Stage::Ovulation, on, days))),
                // She carries at some day of it: between now and the longest time is all that is known.
                Stage::Gravid => {
                    if let Some(days) = whole.or(mating) {
                        let days = Days::new(0, days.usual() / 2, days.high(), days.basis);
                        found.push(counted(Stage::Gravid, on, days));
                    }
                }
                Stage::Shed => {
                    let days = numbers.days(Interval::ShedToLaying, None);
                    found.extend(days.map(|days| counted(Stage::Shed, on, days)));
                }
                _ => {}
            }
        }
        found
    }
}

fn counted(from: Stage, on: Window, days: Days) -> (Reason, Window) {
    (Reason { from, on, seen: true, days: Some(days) }, on.after(&days))
}

/// From ovulation to the eggs, directly or by way of the shed.
fn ovulation_to_laying(numbers: &Numbers<'_>) -> Option<Days> {
    numbers.days(Interval::OvulationToLaying, None).or_else(|| {
        let shed = numbers.days(Interval::OvulationToShed, None)?;
        Some(shed.then(&numbers.days(Interval::ShedToLaying, None)?))
    })
}

/// Without a number from mating to laying: the season in which her kind lays.
fn by_months(numbers: &Numbers<'_>, mated: Window, carried: Option<Days>) -> Option<(Reason, Window)> {
    let months = numbers.species.care().laying_months.as_ref()?;
    // Who mates today carries for a while before she lays.
    let soonest = plus(mated.latest(), carried.map_or(0, |days| days.low()));
    let lays = season(numbers.half, months, soonest)?;
    // Paired late in the season, or out of it: then she lays late, if she does.
    let latest = lays.latest().max(plus(soonest, LATE));
    let window = Window::new(lays.earliest().max(soonest), lays.likely().max(soonest), latest);
    Some((Reason { from: Stage::Paired, on: mated, seen: true, days: None }, window))
}

/// The last day on which a next clutch is still waited for.
fn overdue_after(numbers: &Numbers<'_>, window: Window) -> Date {
    plus(window.latest(), numbers.days(Interval::Overdue, None).map_or(USUALLY_OVERDUE, |d| d.high()))
}
