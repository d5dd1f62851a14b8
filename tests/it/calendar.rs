//! Dates from signs: the days of each species, windows that get narrower, both halves of the world, and the file for
//! calendar programs, read back by an independent parser (crate `icalendar`, which the program itself does not use).

use hatchward::collection::animal::{Animal, AnimalId, Sex};
use hatchward::collection::calendar::course::{self, Lateness, Told, lateness, of_clutch, of_female};
use hatchward::collection::calendar::ics::{self, Event};
use hatchward::collection::calendar::learned::learned;
use hatchward::collection::calendar::months::{months_in, season};
use hatchward::collection::calendar::numbers::{Basis, Interval, Numbers};
use hatchward::collection::calendar::window::{Window, plus};
use hatchward::collection::calendar::{due, year};
use hatchward::collection::events::{Clutch, Meeting, OwnNumber, Sign};
use hatchward::collection::herd::Herd;
use hatchward::collection::name::Name;
use hatchward::reading::dates::When;
use hatchward::reading::places::Half;
use hatchward::reading::records::kinds::{MeetingKind, SignKind, Stage};
use hatchward::species::{Catalogue, Species};
use icalendar::parser::{read_calendar, unfold};
use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::cases;

const TODAY: Date = date(2027, 3, 1);

fn catalogue() -> Catalogue {
    Catalogue::builtin().expect("the catalogue is sound")
}

fn species<'a>(catalogue: &'a Catalogue, key: &str) -> &'a Species {
    catalogue.species().iter().find(|s| s.key() == key).unwrap_or_else(|| panic!("{key} is a species"))
}

/// A herd with one female of a species.
fn herd_of(key: &str) -> (Herd, AnimalId) {
    let mut herd = Herd::empty();
    let (id, number) = herd.ids().animal();
    let mut animal = Animal::new(id, number, key.to_owned());
    animal.name = Some(Name::new("Nala").expect("a name"));
    animal.sex = Sex::Female;
    herd.animals.push(animal);
    (herd, id)
}

fn signed(herd: &mut Herd, id: AnimalId, kind: SignKind, on: Date) {
    let mut ids = herd.ids();
    herd.signs.push(Sign { id: ids.event(), version: 0, animal_id: id, on: When::Day(on), kind, size_mm: None });
}

fn locked(herd: &mut Herd, id: AnimalId, on: Date) {
    let mut ids = herd.ids();
    herd.meetings.push(Meeting {
        id: ids.event(),
        version: 0,
        on: When::Day(on),
        kind: MeetingKind::Lock,
        sire_id: None,
        sire_out: Some("a male elsewhere".to_owned()),
        dam_id: Some(id),
        dam_out: None,
    });
}

fn clutch(herd: &mut Herd, dam: AnimalId, laid: Date, hatched: Option<Date>) -> Clutch {
    // Several clutches of one herd need numbers of their own.
    let mut ids = herd.ids();
    let mut id = ids.clutch();
    for _ in 0..herd.clutches.len() {
        id = ids.clutch();
    }
    let clutch = Clutch {
        id,
        version: 0,
        code: None,
        sire_id: None,
        sire_out: None,
        sires: None,
        dam_id: Some(dam),
        dam_out: None,
        laid: Some(When::Day(laid)),
        eggs: Some(6),
        slugs: None,
        doubtful: None,
        warmth: None,
        pipped: None,
        hatched: hatched.map(When::Day),
        lost: None,
        young: Vec::new(),
        notes: None,
    };
    herd.clutches.push(clutch.clone());
    clutch
}

const CP: &str = "common practice, no source";
const MEMORY: &str = "memory";

/// Species, interval, least, usual, most, and its source: the husbandry numbers that keepers commonly work with, entered a
/// second time by hand.
const INTERVALS: &[(&str, Interval, i64, i64, i64, &str)] = &[
    ("ball_python", Interval::OvulationToShed, 14, 18, 28, CP),
    ("ball_python", Interval::ShedToLaying, 23, 30, 35, CP),
    ("ball_python", Interval::OvulationToLaying, 40, 48, 60, CP),
    ("ball_python", Interval::Incubation, 53, 58, 65, CP),
    ("ball_python", Interval::Pip, 1, 2, 3, CP),
    ("ball_python", Interval::FirstShed, 7, 10, 14, CP),
    // "Laying overdue by more than 7 to 10 days after the usual day 30 from pre-lay shed": a vet at once.
    ("ball_python", Interval::Overdue, 7, 7, 10, CP),
    ("corn_snake", Interval::MatingToLaying, 30, 38, 45, CP),
    ("corn_snake", Interval::Incubation, 55, 62, 70, CP),
    ("western_hognose", Interval::Incubation, 50, 58, 65, CP),
    ("leopard_gecko", Interval::MatingToLaying, 21, 25, 28, CP),
    ("leopard_gecko", Interval::BetweenClutches, 14, 21, 28, CP),
    ("leopard_gecko", Interval::Incubation, 35, 50, 70, CP),
    ("boa", Interval::ShedToLaying, 100, 112, 125, CP),
    // From memory of the trade alone: what breeders of these species usually see.
    ("corn_snake", Interval::ShedToLaying, 7, 10, 14, MEMORY),
    ("western_hognose", Interval::ShedToLaying, 7, 10, 14, MEMORY),
    ("boa", Interval::OvulationToShed, 14, 18, 25, MEMORY),
    ("ball_python", Interval::FirstMeal, 1, 3, 7, MEMORY),
    ("corn_snake", Interval::Pip, 1, 1, 3, MEMORY),
    ("western_hognose", Interval::FirstShed, 1, 5, 10, MEMORY),
    ("leopard_gecko", Interval::FirstShed, 0, 1, 3, MEMORY),
    ("boa", Interval::FirstShed, 7, 10, 14, MEMORY),
];

#[test]
fn the_days_of_a_season_are_those_of_common_practice_and_say_so() {
    let catalogue = catalogue();
    for (key, interval, low, usual, high, source) in INTERVALS {
        let species = species(&catalogue, key);
        let herd = Herd::empty();
        let days = Numbers::of(species, &herd, Half::North).days(*interval, None).expect("it is known");
        assert_eq!((days.low(), days.usual(), days.high()), (*low, *usual, *high), "{key} {interval:?}");
        let basis = if *source == MEMORY { Basis::Memory } else { Basis::Common };
        assert_eq!(days.basis, basis, "{key} {interval:?} is graded {source}");
        let item =
            if *key == "boa" && *interval == Interval::ShedToLaying { "shed_to_birth_days" } else { interval.item() };
        let items = species.care().items();
        let range = items.iter().find(|i| i.0 == item).and_then(|i| i.2).expect("an item of the care numbers");
        assert_eq!(range.source, [*source], "{key} {item}");
    }
}

/// A species, what happened and when, and what is asked with its window.
type Row = (&'static str, Stage, Date, Stage, Date, Date, Date);

#[test]
fn each_species_has_its_own_course() {
    let catalogue = catalogue();
    let cases: [Row; 9] = [
        // Ball python, ovulation 1 January: shed 14 to 28 days later, eggs 40 to 60, common practice.
        (
            "ball_python",
            Stage::Ovulation,
            date(2027, 1, 1),
            Stage::Shed,
            date(2027, 1, 15),
            date(2027, 1, 19),
            date(2027, 1, 29),
        ),
        (
            "ball_python",
            Stage::Ovulation,
            date(2027, 1, 1),
            Stage::Laying,
            date(2027, 2, 10),
            date(2027, 2, 18),
            date(2027, 3, 2),
        ),
        (
            "ball_python",
            Stage::Shed,
            date(2027, 1, 20),
            Stage::Laying,
            date(2027, 2, 12),
            date(2027, 2, 19),
            date(2027, 2, 24),
        ),
        (
            "ball_python",
            Stage::Laying,
            date(2027, 1, 1),
            Stage::Hatch,
            date(2027, 2, 23),
            date(2027, 2, 28),
            date(2027, 3, 7),
        ),
        // One to three days before the egg is left.
        (
            "ball_python",
            Stage::Laying,
            date(2027, 1, 1),
            Stage::Pip,
            date(2027, 2, 20),
            date(2027, 2, 26),
            date(2027, 3, 6),
        ),
        (
            "ball_python",
            Stage::Hatch,
            date(2027, 1, 1),
            Stage::FirstShed,
            date(2027, 1, 8),
            date(2027, 1, 11),
            date(2027, 1, 15),
        ),
        (
            "corn_snake",
            Stage::Paired,
            date(2027, 1, 1),
            Stage::Laying,
            date(2027, 1, 31),
            date(2027, 2, 8),
            date(2027, 2, 15),
        ),
        (
            "leopard_gecko",
            Stage::Paired,
            date(2027, 1, 1),
            Stage::Laying,
            date(2027, 1, 22),
            date(2027, 1, 26),
            date(2027, 1, 29),
        ),
        // A boa gives birth 100 to 125 days after the shed that follows ovulation; there are no eggs.
        ("boa", Stage::Shed, date(2027, 1, 1), Stage::Laying, date(2027, 4, 11), date(2027, 4, 23), date(2027, 5, 6)),
    ];
    for (key, from, on, stage, earliest, likely, latest) in cases {
        let herd = Herd::empty();
        let numbers = Numbers::of(species(&catalogue, key), &herd, Half::North);
        let course = course::after(&numbers, from, When::Day(on), None);
        let window = course.expected(stage).unwrap_or_else(|| panic!("{key}: {stage:?} follows from {from:?}")).window;
        assert_eq!((window.earliest(), window.likely(), window.latest()), (earliest, likely, latest), "{key} {from:?}");
    }
}

#[test]
fn a_live_bearer_has_no_eggs_to_wait_for() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("boa");
    signed(&mut herd, id, SignKind::PrelayShed, date(2027, 1, 1));
    let numbers = Numbers::of(species(&catalogue, "boa"), &herd, Half::North);
    let course = of_female(&numbers, &herd, &herd.animals[0], TODAY, Told::default()).expect("a season");
    let stages: Vec<Stage> = course.ahead.iter().map(|e| e.stage).collect();
    assert_eq!(stages, [Stage::Laying, Stage::FirstShed, Stage::FirstMeal]);
}

#[test]
fn a_paired_ball_python_without_a_sign_is_due_in_the_months_of_her_half() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    locked(&mut herd, id, date(2026, 12, 1));
    let due = |half, today| due::next(&catalogue, &herd, id, half, today).expect("she may lay").window;
    // Eggs February to July in northern rooms, common practice; 40 days after mating at the soonest.
    let north = due(Half::North, date(2026, 12, 20));
    assert_eq!((north.earliest(), north.latest()), (date(2027, 2, 1), date(2027, 7, 31)));
    assert!((4..=5).contains(&north.likely().month()), "{north:?}");
    let south = due(Half::South, date(2026, 12, 20));
    // There the season ends in January: she lays late, if she does.
    assert_eq!((south.earliest(), south.latest()), (date(2027, 1, 10), date(2027, 3, 11)));
}

#[test]
fn southern_months_are_six_later() {
    let catalogue = catalogue();
    let care = species(&catalogue, "corn_snake").care();
    let pairing = care.pairing_months.as_ref().expect("months");
    assert_eq!(months_in(Half::North, pairing).0, [3, 4, 5]);
    assert_eq!(months_in(Half::South, pairing).0, [9, 10, 11]);
    let cooling = care.cooling_months.as_ref().expect("months");
    assert_eq!(months_in(Half::South, cooling), (vec![6, 7, 8], vec![5, 6, 7, 8]));
    let next = season(Half::North, cooling, date(2027, 4, 1)).expect("a season");
    assert_eq!((next.earliest(), next.latest()), (date(2027, 11, 1), date(2028, 2, 29)));
    let running = season(Half::North, cooling, date(2027, 1, 10)).expect("a season");
    assert_eq!((running.earliest(), running.latest()), (date(2026, 11, 1), date(2027, 2, 28)));
}

#[test]
fn past_the_latest_day_it_is_late_and_a_week_past_the_usual_one_overdue() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    signed(&mut herd, id, SignKind::PrelayShed, date(2027, 1, 1));
    let numbers = Numbers::of(species(&catalogue, "ball_python"), &herd, Half::North);
    // Days from the shed: mostly 30, at most 35; overdue more than 7 days after the usual one. Common practice.
    for (after, state) in [
        (0, Lateness::Early(23)),
        (22, Lateness::Early(1)),
        (23, Lateness::Now),
        (35, Lateness::Now),
        (36, Lateness::Past(1)),
        (37, Lateness::Past(2)),
        (38, Lateness::Overdue(8)),
    ] {
        let today = plus(date(2027, 1, 1), after);
        let course = of_female(&numbers, &herd, &herd.animals[0], today, Told::default()).expect("a season");
        let laying = course.expected(Stage::Laying).expect("eggs");
        assert_eq!(lateness(&numbers, laying, today), state, "day {after}");
    }
}

#[test]
fn a_nearer_sign_that_contradicts_counts_and_is_marked() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    signed(&mut herd, id, SignKind::Ovulation, date(2027, 1, 1));
    // 45 days after the ovulation: later than any usual shed.
    signed(&mut herd, id, SignKind::PrelayShed, date(2027, 2, 15));
    let numbers = Numbers::of(species(&catalogue, "ball_python"), &herd, Half::North);
    let course = of_female(&numbers, &herd, &herd.animals[0], TODAY, Told::default()).expect("a season");
    let laying = course.expected(Stage::Laying).expect("eggs");
    assert!(laying.against);
    assert_eq!(laying.window.earliest(), date(2027, 3, 10));
}

#[test]
fn warm_gecko_eggs_hatch_sooner() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("leopard_gecko");
    let mut eggs = clutch(&mut herd, id, date(2027, 2, 1), None);
    let numbers = Numbers::of(species(&catalogue, "leopard_gecko"), &herd, Half::North);
    // 26 to 33 °C and 35 to 70 days are common practice; straight in between is ours.
    for (tenths, usual) in [(260, 70), (295, 53), (330, 35)] {
        eggs.warmth = Some(tenths);
        let days = numbers.days(Interval::Incubation, Some(&eggs)).expect("days");
        assert_eq!((days.usual(), days.basis), (usual, Basis::Warmth(tenths)));
    }
    // Pythons are kept within a degree: the range stays.
    let python = Numbers::of(species(&catalogue, "ball_python"), &herd, Half::North);
    assert_eq!(python.days(Interval::Incubation, Some(&eggs)).map(|d| (d.low(), d.high())), Some((53, 65)));
}

#[test]
fn an_own_number_stands_before_the_default_and_a_clutchs_before_both() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    let eggs = clutch(&mut herd, id, date(2027, 2, 1), None);
    let own = |clutch_id, usual, records| OwnNumber {
        id: herd.ids().event(),
        version: 0,
        species: "ball_python".to_owned(),
        clutch_id,
        item: "incubation_days".to_owned(),
        usual,
        low: None,
        high: None,
        records,
    };
    let (mine, of_clutch) = (own(None, 600, Some(6)), own(Some(eggs.id), 630, None));
    herd.own_numbers = vec![mine, of_clutch];
    let numbers = Numbers::of(species(&catalogue, "ball_python"), &herd, Half::North);
    let days = numbers.days(Interval::Incubation, None).expect("days");
    assert_eq!((days.low(), days.usual(), days.high(), days.basis), (55, 60, 67, Basis::Median(6)));
    let days = numbers.days(Interval::Incubation, Some(&eggs)).expect("days");
    assert_eq!((days.usual(), days.basis), (63, Basis::OfClutch));
}

#[test]
fn five_records_make_a_median_and_four_do_not() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    let species = species(&catalogue, "ball_python");
    for (year, days) in [(2021, 57), (2022, 61), (2023, 59), (2024, 58), (2025, 60)] {
        assert_eq!(learned(species, &herd, Interval::Incubation), None);
        let laid = date(year, 4, 1);
        clutch(&mut herd, id, laid, Some(plus(laid, days)));
    }
    let found = learned(species, &herd, Interval::Incubation).expect("five of them");
    assert_eq!((found.records, found.low, found.median, found.high), (5, 570, 590, 610));
    let laid = date(2026, 4, 1);
    clutch(&mut herd, id, laid, Some(plus(laid, 60)));
    // The middle of two.
    assert_eq!(learned(species, &herd, Interval::Incubation).map(|l| l.median), Some(595));
    // A hatching known to the month alone says nothing.
    herd.clutches[0].hatched = Some(When::Month(2021, 5));
    assert_eq!(learned(species, &herd, Interval::Incubation).map(|l| l.records), Some(5));
}

#[test]
fn eggs_are_due_until_they_hatch_and_their_young_until_they_eat() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    let numbers_of = |herd: &Herd| {
        let numbers = Numbers::of(species(&catalogue, "ball_python"), herd, Half::North);
        of_clutch(&numbers, &herd.clutches[0], TODAY).map(|c| c.ahead.iter().map(|e| e.stage).collect::<Vec<_>>())
    };
    clutch(&mut herd, id, date(2027, 1, 10), None);
    let all = [Stage::Pip, Stage::Hatch, Stage::FirstShed, Stage::FirstMeal];
    assert_eq!(numbers_of(&herd).as_deref(), Some(&all[..]));
    herd.clutches[0].hatched = Some(When::Day(date(2027, 2, 25)));
    assert_eq!(numbers_of(&herd).as_deref(), Some(&all[2..]));
    herd.clutches[0].hatched = Some(When::Day(date(2026, 12, 1)));
    assert_eq!(numbers_of(&herd), None, "they eat by now");
    herd.clutches[0].hatched = None;
    herd.clutches[0].eggs = Some(0);
    assert_eq!(numbers_of(&herd), None, "nothing but slugs");
    herd.clutches[0].eggs = Some(5);
    herd.clutches[0].laid = Some(When::Day(date(2026, 1, 1)));
    assert_eq!(numbers_of(&herd), None, "nobody waits for them any more");
}

const KINDS: [&str; 5] = ["ball_python", "corn_snake", "western_hognose", "leopard_gecko", "boa"];

fn laying(herd: &Herd, key: &str, catalogue: &Catalogue, half: Half) -> Option<(Window, bool)> {
    let numbers = Numbers::of(species(catalogue, key), herd, half);
    let course = of_female(&numbers, herd, &herd.animals[0], TODAY, Told::default())?;
    course.expected(Stage::Laying).map(|e| (e.window, e.against || e.out_of.is_some()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(256)))]

    /// A further sign that agrees never widens a window; one that does not is marked.
    #[test]
    fn a_further_sign_never_widens_the_window(
        kind in 0..KINDS.len(),
        south in any::<bool>(),
        mated in 60..180_i64,
        signs in proptest::collection::vec((0..3_usize, 0..120_i64), 1..5),
    ) {
        let catalogue = catalogue();
        let half = if south { Half::South } else { Half::North };
        let (mut herd, id) = herd_of(KINDS[kind]);
        let by_months = species(&catalogue, KINDS[kind]).care().mating_to_laying_days.is_none();
        locked(&mut herd, id, plus(TODAY, -mated));
        let mut before = laying(&herd, KINDS[kind], &catalogue, half);
        for (what, ago) in signs {
            let sign = [SignKind::Ovulation, SignKind::Gravid, SignKind::PrelayShed][what];
            // One of a kind: a second ovulation is another one and not a further sign.
            if herd.signs.iter().any(|s| s.kind == sign) {
                continue;
            }
            signed(&mut herd, id, sign, plus(TODAY, -ago));
            let now = laying(&herd, KINDS[kind], &catalogue, half);
            if let (Some((was, marked_before)), Some((is, marked))) = (before, now) {
                prop_assert!(is.earliest() <= is.likely() && is.likely() <= is.latest());
                // The months of a season are no sign of hers: there it only gets narrower.
                let agrees = is.is_within(was) || by_months && is.width() <= was.width();
                prop_assert!(marked || marked_before || agrees, "{is:?} is not within {was:?}");
            }
            prop_assert!(before.is_none() || now.is_some());
            before = now;
        }
    }

    /// Whatever stands in a summary, the file is one of whole, folded lines, and gives it back.
    #[test]
    fn a_calendar_file_holds_any_text(said in "\\PC{0,120}", more in "(\\PC|\n){0,300}", days in 0..40_i64) {
        let event = Event {
            uid: "17-2-laying@hatchward".to_owned(),
            first: TODAY,
            last: plus(TODAY, days),
            summary: said.clone(),
            description: more.clone(),
        };
        let bytes = ics::write(std::slice::from_ref(&event), TODAY);
        let text = String::from_utf8(bytes).expect("UTF-8");
        prop_assert!(text.ends_with("END:VCALENDAR\r\n"));
        prop_assert!(!text.replace("\r\n", "").contains(['\r', '\n']), "every line ends with CR and LF");
        prop_assert!(text.split("\r\n").all(|line| line.len() <= 75), "75 octets a line");
        let unfolded = unfold(&text);
        let calendar = read_calendar(&unfolded).map_err(TestCaseError::fail)?;
        let [only] = &calendar.components[..] else { return Err(TestCaseError::fail("one event")) };
        let value = |name: &str| only.find_prop(name).map(|p| p.val.as_ref().to_owned());
        prop_assert_eq!(value("UID"), Some(event.uid));
        prop_assert_eq!(value("SUMMARY"), Some(said));
        prop_assert_eq!(value("DESCRIPTION").unwrap_or_default(), more);
        let digits = |date: Date| date.to_string().replace('-', "");
        prop_assert_eq!(value("DTSTART"), Some(digits(TODAY)));
        // The end is exclusive: RFC 5545, 3.6.1.
        prop_assert_eq!(value("DTEND"), Some(digits(plus(TODAY, days + 1))));
    }
}

#[test]
fn the_year_keeps_a_clutch_under_the_same_number_before_and_after_laying() {
    let catalogue = catalogue();
    let (mut herd, id) = herd_of("ball_python");
    clutch(&mut herd, id, date(2026, 4, 1), Some(date(2026, 5, 29)));
    signed(&mut herd, id, SignKind::PrelayShed, date(2027, 2, 1));
    let hatch = |herd: &Herd| {
        let all = year::entries(&catalogue, herd, Half::North, TODAY, None);
        all.iter().find(|e| e.expected.stage == Stage::Hatch).map(|e| (e.nth, e.expected.window.width()))
    };
    let (nth, before) = hatch(&herd).expect("eggs to come");
    clutch(&mut herd, id, date(2027, 2, 28), None);
    let (same, after) = hatch(&herd).expect("eggs");
    assert_eq!((nth, same), (2, 2));
    assert!(after < before, "the day of laying narrows it");
}

#[test]
fn a_sign_narrows_the_months_of_her_kind_and_counts_where_they_disagree() {
    let catalogue = catalogue();
    // Ball pythons of northern rooms lay February to July: common practice, no source.
    let of = |ovulated: Date| {
        let (mut herd, id) = herd_of("ball_python");
        herd.meetings.push(Meeting {
            id: herd.ids().event(),
            version: 0,
            on: When::Day(date(2026, 8, 20)),
            kind: MeetingKind::Lock,
            sire_id: None,
            sire_out: Some("a male elsewhere".to_owned()),
            dam_id: Some(id),
            dam_out: None,
        });
        signed(&mut herd, id, SignKind::Ovulation, ovulated);
        let numbers = Numbers::of(species(&catalogue, "ball_python"), &herd, Half::North);
        let course = of_female(&numbers, &herd, &herd.animals[0], TODAY, Told::default()).expect("a season");
        *course.expected(Stage::Laying).expect("eggs")
    };
    // Ovulation to eggs 40 to 60 days: all of it before February.
    let early = of(date(2026, 11, 1));
    assert_eq!((early.window.earliest(), early.window.latest()), (date(2026, 12, 11), date(2026, 12, 31)));
    assert_eq!(early.out_of.map(Window::earliest), Some(date(2027, 2, 1)));
    assert!(!early.against, "the months are no record of hers");
    // 24 January to 13 February: what is left lies in both.
    let both = of(date(2026, 12, 15));
    assert_eq!((both.window.earliest(), both.window.latest()), (date(2027, 2, 1), date(2027, 2, 13)));
    assert_eq!((both.out_of, both.against), (None, false));
}
