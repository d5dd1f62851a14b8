//! A collection to a file and back: nothing is lost, nothing comes twice, and a stranger's sheet is understood.

use hatchward::collection::animal::{Animal, Basis, Belief, Sex};
use hatchward::collection::events::{
    CarrierFrequency, Clutch, Goal, Limits, Meal, Meeting, OwnNumber, PossibleSire, PossibleSires, Sign, Weight, Young,
};
use hatchward::collection::files::portable::portable;
use hatchward::collection::files::{self, FileError, Form, Incoming, MOST_BYTES, Words, merge};
use hatchward::collection::herd::Herd;
use hatchward::collection::name::{Name, tidy, tidy_note};
use hatchward::collection::reminder::Reminder;
use hatchward::collection::reminder::rule::{Rule, Unit};
use hatchward::engine::odds::{Odds, odds};
use hatchward::reading::dates::When;
use hatchward::reading::records::kinds::{MeetingKind, Sexed, SignKind, Status};
use hatchward::species::Catalogue;
use jiff::ToSpan as _;
use jiff::civil::{Date, date, time};
use proptest::prelude::*;

use crate::cases;
use crate::keeper::Town;

const TODAY: Date = date(2026, 11, 25);
const GENES: [&str; 5] = ["clown", "piebald", "pastel", "enchi", "mojave"];

/// What is random of one animal and what happened to it.
#[derive(Debug, Clone)]
struct Drawn {
    name: Option<String>,
    male: bool,
    genes: Vec<(usize, u8, i64, bool)>,
    texts: [Option<String>; 3],
    tags: Vec<String>,
    status: usize,
    parents: (usize, usize),
    grams: Vec<i32>,
    in_clutch: bool,
}

fn texts() -> impl Strategy<Value = String> {
    prop_oneof![
        "[=+@'-]{0,2}[A-Za-z0-9\"',;.\\\\/ ]{1,20}",
        "\\PC{1,20}",
        Just("=HYPERLINK(\"x\")".to_owned()),
        Just("two lines\nof \"notes\", with all".to_owned()),
    ]
}

fn drawn() -> impl Strategy<Value = Drawn> {
    (
        proptest::option::of(texts()),
        any::<bool>(),
        proptest::collection::vec((0..GENES.len(), 1..=2_u8, 1..=8_i64, any::<bool>()), 0..4),
        [proptest::option::of(texts()), proptest::option::of(texts()), proptest::option::of(texts())],
        proptest::collection::vec(texts(), 0..3),
        0..Status::ALL.len(),
        (0..6_usize, 0..6_usize),
        proptest::collection::vec(100..4000_i32, 0..3),
        any::<bool>(),
    )
        .prop_map(|(name, male, genes, texts, tags, status, parents, grams, in_clutch)| Drawn {
            name,
            male,
            genes,
            texts,
            tags,
            status,
            parents,
            grams,
            in_clutch,
        })
}

fn line(text: &str) -> Option<String> {
    Some(tidy(text)).filter(|t| !t.is_empty())
}

/// A herd in which everything can be: young are younger than their parents, and no locus is overfull.
#[expect(clippy::too_many_lines)] // a record of every kind
fn herd(drawn: &[Drawn]) -> Herd {
    let mut herd = Herd::empty();
    let mut ids = herd.ids();
    for (n, one) in drawn.iter().enumerate() {
        let (id, number) = ids.animal();
        let mut animal = Animal::new(id, number, "ball_python".to_owned());
        animal.name = one.name.as_deref().and_then(|name| Name::new(name).ok());
        animal.sex = if one.male { Sex::Male } else { Sex::Female };
        animal.sexed = if one.in_clutch { Sexed::Seen } else { Sexed::Stated };
        for (gene, copies, eighths, inferred) in &one.genes {
            let gene = GENES[*gene].to_owned();
            if animal.genes.iter().any(|b| b.gene == gene) {
                continue;
            }
            let chance: Odds = odds(*eighths, 8);
            let basis = if *inferred { Basis::Inferred } else { Basis::Stated };
            animal.genes.push(Belief { gene, copies: *copies, chance, basis, side: None });
        }
        let year = 1990 + i16::try_from(n).expect("few");
        animal.hatched = Some(When::Year(year));
        animal.origin = one.texts[0].as_deref().and_then(line);
        animal.notes = one.texts[1].as_deref().map(tidy_note).filter(|t| !t.is_empty());
        animal.tags = one.tags.iter().filter_map(|t| line(t)).collect();
        animal.status = Status::ALL[one.status];
        animal.price_cents = Some(i64::from(one.male) * 12_345);
        animal.currency = one.male.then(|| "EUR".to_owned());
        let parent = |at: usize, sex: Sex| herd.animals.get(at).filter(|a| a.sex == sex).map(|a| a.id);
        animal.sire_id = parent(one.parents.0, Sex::Male);
        animal.dam_id = parent(one.parents.1, Sex::Female);
        if animal.sire_id.is_none() {
            animal.sire_out = one.texts[2].as_deref().and_then(line);
        }
        let day = date(year, 6, 1).checked_add(1.year()).expect("a day");
        if one.in_clutch
            && let Some(dam) = animal.dam_id
        {
            let young = Young { males: 1, females: 2, unsexed: 0, genes: animal.genes.clone(), untold: false };
            let clutch = Clutch {
                id: ids.clutch(),
                version: 0,
                code: Some(format!("c{n}")),
                sire_id: animal.sire_id.filter(|_| !one.male),
                sire_out: None,
                sires: animal
                    .sire_id
                    .filter(|_| one.male)
                    .map(|id| PossibleSires { of: vec![PossibleSire { id, chance: odds(1, 1) }], mixed: false }),
                dam_id: Some(dam),
                dam_out: None,
                laid: Some(When::Month(year, 1)),
                eggs: Some(7),
                slugs: None,
                doubtful: None,
                warmth: Some(315),
                pipped: None,
                hatched: None,
                lost: None,
                young: vec![young, Young { males: 0, females: 0, unsexed: 1, genes: Vec::new(), untold: one.male }],
                notes: one.texts[1].as_deref().map(tidy_note).filter(|t| !t.is_empty()),
            };
            animal.clutch_id = Some(clutch.id);
            herd.clutches.push(clutch);
        }
        for grams in &one.grams {
            herd.weights.push(Weight { id: ids.event(), version: 0, animal_id: id, on: day, grams: *grams });
        }
        let prey = one.texts[2].as_deref().and_then(line);
        herd.meals.push(Meal { id: ids.event(), version: 0, animal_id: id, on: day, taken: one.male, prey });
        let (on, kind) = (When::Day(day), SignKind::Follicles);
        herd.signs.push(Sign { id: ids.event(), version: 0, animal_id: id, on, kind, size_mm: Some(18) });
        herd.meetings.push(Meeting {
            id: ids.event(),
            version: 0,
            on: When::Season(year + 1, hatchward::reading::dates::Season::Winter),
            kind: MeetingKind::Lock,
            sire_id: one.male.then_some(id),
            sire_out: None,
            dam_id: (!one.male).then_some(id),
            dam_out: one.male.then(|| "a female elsewhere".to_owned()),
        });
        if one.in_clutch && herd.goals.len() < 3 {
            let genes = animal.genes.clone();
            let (species, sex) = ("ball_python".to_owned(), Sex::Unknown);
            let limits = one.male.then(|| Limits { by_year: Some(year + 5), room: Some(12), ..Limits::default() });
            let name = one.male.then(|| "the long project".to_owned());
            let rank = Some(i16::try_from(herd.goals.len() + 1).expect("three at most"));
            herd.goals.push(Goal { id: ids.event(), version: 0, species, genes, sex, name, rank, limits });
        }
        if herd.own_numbers.is_empty()
            && let Some(clutch) = herd.clutches.first()
        {
            let (species, item) = ("ball_python".to_owned(), "incubation_days".to_owned());
            let of = |clutch_id, records| OwnNumber {
                id: herd.ids().event(),
                version: 0,
                species: species.clone(),
                clutch_id,
                item: item.clone(),
                usual: 605,
                low: Some(570),
                high: None,
                records,
            };
            herd.own_numbers = vec![of(None, Some(6)), of(Some(clutch.id), None)];
        }
        if one.male && herd.frequencies.is_empty() {
            let (species, gene) = ("ball_python".to_owned(), "clown".to_owned());
            herd.frequencies.push(CarrierFrequency { id: ids.event(), version: 0, species, gene, share: odds(1, 20) });
        }
        if let Some(what) = one.texts[0].as_deref().and_then(line) {
            herd.reminders.push(reminder(i32::try_from(n).expect("few") + 1, &what, one.male));
        }
        herd.animals.push(animal);
    }
    herd
}

/// One that comes every second Sunday and is put off once, or one that comes once.
fn reminder(number: i32, what: &str, again: bool) -> Reminder {
    let at = |day: i8| date(2026, 12, day).at(18, 0, 0, 0).in_tz("Europe/Berlin").expect("a zone").timestamp();
    let rule = Rule { every: 2, unit: Unit::Weeks, on: vec![7], from: date(2026, 12, 6), at: time(18, 0, 0, 0) };
    Reminder {
        id: Herd::empty().ids().event(),
        version: 0,
        number,
        what: what.to_owned(),
        zone: "Europe/Berlin".to_owned(),
        rule: again.then_some(rule),
        next_at: at(6),
        put_off: again.then(|| at(8)),
        channel: None,
        moments: Vec::new(),
    }
}

#[test]
fn reminders_come_back_once_and_from_today_on() {
    let catalogue = Catalogue::builtin().expect("sound");
    let mut herd = Herd::empty();
    herd.reminders = vec![reminder(1, "weigh the girls", true), reminder(4, "candle the eggs", false)];
    let merged = |into: &Herd, file: &Herd, today: Date| merge::merge(into, file, &catalogue, today).expect("it fits");
    for form in [Form::Json, Form::Tables] {
        let file = own(&files::export(&herd, form, TODAY, &words()).expect("it is written"));
        let back = merged(&Herd::empty(), &file, TODAY);
        assert_eq!((back.n_other, back.bad.len()), (2, 0), "{form:?}: {:?}", back.bad);
        assert_eq!(portable(&back.herd).reminders, portable(&herd).reminders, "{form:?}");
        assert_eq!(merged(&back.herd, &file, TODAY).change.n_rows(), 0, "{form:?}: a second time changes nothing");
        // Three weeks later the rule has gone on, and the other is over.
        let mut later = back.herd.clone();
        later.reminders[0].next_at += 14 * 24.hours();
        assert_eq!(merged(&later, &file, date(2026, 12, 17)).change.n_rows(), 0, "{form:?}");
        let late = merged(&Herd::empty(), &file, date(2026, 12, 17));
        let said: Vec<&str> = late.herd.reminders.iter().map(|r| r.what.as_str()).collect();
        assert_eq!(said, ["weigh the girls"]);
        assert_eq!(late.herd.reminders[0].next_at.to_string(), "2026-12-20T17:00:00Z");
        assert_eq!(late.herd.reminders[0].put_off, None);
        assert_eq!(late.bad[0].reason, "its moment is over");
    }
    // Its number may be another's here.
    let mut here = Herd::empty();
    here.reminders = vec![reminder(1, "clean", false)];
    let both = merged(&here, &portable(&herd), TODAY);
    assert_eq!(both.herd.reminders.iter().map(|r| r.number).collect::<Vec<_>>(), [1, 2, 4]);
}

#[test]
fn a_reminder_that_cannot_be_is_named() {
    let text = r#"{"format":"hatchward-collection","version":1,"reminders":[
        {"number":1,"what":"weigh","zone":"Mars/Olympus","next_at":"2027-01-01T10:00:00Z"},
        {"number":2,"what":"  ","zone":"UTC","next_at":"2027-01-01T10:00:00Z"},
        {"number":3,"what":"feed","zone":"UTC","next_at":"2027-01-01T10:00:00Z",
         "rule":{"every":0,"unit":"days","from":"2027-01-01","at":"10:00:00"}},
        {"number":4,"what":"clean","zone":"UTC","next_at":"soon"}]}"#;
    let Incoming::Own(herd, damaged) = files::read(text.as_bytes(), &words()).expect("read") else { panic!("ours") };
    assert_eq!(damaged.iter().map(|b| b.place.as_str()).collect::<Vec<_>>(), ["reminders, record 4"]);
    let catalogue = Catalogue::builtin().expect("sound");
    let merged = merge::merge(&Herd::empty(), &herd, &catalogue, TODAY).expect("it fits");
    let reasons: Vec<&str> = merged.bad.iter().map(|b| b.reason.as_str()).collect();
    assert_eq!(
        reasons,
        [
            "\"Mars/Olympus\" is no time zone that this program knows",
            "its text has 0 characters; it must be 1 to 300",
            "how often it comes is 0; it must be 1 to 65535",
        ]
    );
}

/// The looks of a sheet are words for people; here they are none, so that the exact records alone count.
fn words() -> Words<'static> {
    Words { write: &|animal| format!("look of {}", animal.genes.len()), read: &|_, _| Err("changed".to_owned()) }
}

fn own(bytes: &[u8]) -> Herd {
    match files::read(bytes, &words()).expect("it is read") {
        Incoming::Own(herd, bad) => {
            assert_eq!(bad, [], "damaged records");
            *herd
        }
        Incoming::Sheet(table) => panic!("no file of ours: {table:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases(48)))]

    #[test]
    fn what_goes_out_comes_back(all in proptest::collection::vec(drawn(), 1..8), gone in 0..3_i32) {
        let catalogue = Catalogue::builtin().expect("sound");
        let mut herd = herd(&all);
        // The last animals of all may be gone: their codes are not given again.
        herd.next_number = 1 + i32::try_from(all.len()).expect("few") + gone;
        let kept = |herd: &Herd| portable(herd);
        for form in [Form::Json, Form::Tables] {
            let bytes = files::export(&herd, form, TODAY, &words()).expect("it is written");
            let read = own(&bytes);
            let merged = merge::merge(&Herd::empty(), &read, &catalogue, TODAY).expect("it fits");
            prop_assert_eq!(&merged.bad, &Vec::new());
            prop_assert_eq!(kept(&merged.herd), kept(&herd), "{:?}", form);
            // The same file once more changes nothing.
            let again = merge::merge(&herd, &read, &catalogue, TODAY).expect("it fits");
            prop_assert_eq!((again.change.n_rows(), again.new.len(), again.changed.len()), (0, 0, 0), "{:?}", form);
        }
        // One sheet has the animals whole, but for the clutch that it has no table of.
        let bytes = files::export(&herd, Form::Sheet, TODAY, &words()).expect("it is written");
        let mut animals = portable(&herd).animals;
        for animal in &mut animals {
            animal.clutch_id = None;
        }
        let merged = merge::merge(&Herd::empty(), &own(&bytes), &catalogue, TODAY).expect("it fits");
        prop_assert_eq!(portable(&merged.herd).animals, animals);
        // No cell begins as a formula does.
        let text = String::from_utf8(bytes).expect("text");
        let mut rows = csv::ReaderBuilder::new().from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        for row in rows.records() {
            for cell in &row.expect("a row") {
                prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{:?}", cell);
            }
        }
    }

    #[test]
    fn no_bytes_are_too_strange(bytes in proptest::collection::vec(any::<u8>(), 0..400), text in "[\"',;\n\t a-f0-9=/x.]{0,200}") {
        for bytes in [&bytes[..], text.as_bytes(), format!("name,sex,genes,dob,weight\n{text}").as_bytes()] {
            // Read or refused, but never a panic.
            let _ = files::read(bytes, &words());
        }
    }
}

#[test]
fn what_is_no_file_of_records_is_refused_with_the_reason() {
    let refused = |bytes: &[u8]| files::read(bytes, &words()).expect_err("it is refused").to_string();
    let large = vec![b'x'; usize::try_from(MOST_BYTES).expect("it fits") + 1];
    assert_eq!(refused(&large), "the file has 20481 KiB; 20480 KiB is the most. Send it in parts");
    assert_eq!(refused(b""), "the file is empty");
    assert_eq!(refused(b" \n\n"), "the file is empty");
    assert!(refused(b"{\"a\": 1}").contains("its \"format\" is not"));
    assert!(refused(b"{\"format\": ").contains("no JSON of a collection"));
    assert!(refused(b"{\"format\":\"hatchward-collection\",\"version\":2}").contains("newer Hatchward"));
    assert!(refused(b"PK\x03\x04nonsense").contains("the zip file cannot be opened"));
    assert!(refused(&[0xd0, 0xcf, 0x11, 0xe0, 0, 0]).contains("save its sheet as CSV"));
    let many = "name,sex\n".to_owned() + &"Ash,f\n".repeat(5_002);
    assert!(matches!(files::read(many.as_bytes(), &words()), Err(FileError::TooManyLines { lines: 5_003 })));
}

#[test]
fn damaged_records_are_named_and_the_rest_is_kept() {
    let text = r#"{"format":"hatchward-collection","version":1,"animals":[
        {"number":1,"name":"Ash","species":"ball_python","sex":"female","sexed":"stated","genes":[],"status":"active","tags":[]},
        {"number":2,"name":"Birch","species":"ball_python","sex":"both","sexed":"stated","genes":[],"status":"active","tags":[]},
        {"number":3,"name":"Cedar","species":"ball_python","sex":"male","sexed":"stated","genes":[],"hatched":"2031","status":"active","tags":[]},
        {"number":4,"name":"Elm","species":"ball_python","sex":"male","sexed":"stated","genes":[],"status":"active","tags":[],"sire_id":3}],
        "weights":[{"animal_id":1,"on":"2026-01-01","grams":1500},{"animal_id":2,"on":"2026-01-01","grams":900},
        {"animal_id":1,"on":"2026-01-02","grams":-5}]}"#;
    let Incoming::Own(herd, bad) = files::read(text.as_bytes(), &words()).expect("it is read") else { panic!("ours") };
    assert_eq!(bad.len(), 1, "{bad:?}");
    assert!(bad[0].place == "animals, record 2" && bad[0].reason.contains("both"), "{bad:?}");
    let catalogue = Catalogue::builtin().expect("sound");
    let merged = merge::merge(&Herd::empty(), &herd, &catalogue, TODAY).expect("it fits");
    assert_eq!(merged.new.iter().map(Animal::called).collect::<Vec<_>>(), ["Ash", "Elm"]);
    assert_eq!((merged.herd.weights.len(), merged.new[1].sire_id), (1, None));
    let reasons: Vec<String> = merged.bad.iter().map(|b| format!("{}: {}", b.place, b.reason)).collect();
    let has = |part: &str| assert!(reasons.iter().any(|r| r.contains(part)), "{part} in {reasons:?}");
    has("Cedar (#3): Cedar hatched 2031, which is still to come");
    has("weight of #2, 1 January 2026: its animal is not in the file");
    has("weight of Ash (#1), 2 January 2026: the weight in grams is -5; it must be 1 to 200000");
}

/// Writes a sheet, imports it in the talk, and says what follows.
async fn imported(sheet: &str, follow: &[&str]) -> (String, String) {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    let mut heard = maren.receives(sheet.as_bytes()).await;
    for said in follow {
        heard.push_str("\n---\n");
        heard.push_str(&maren.says(said).await);
    }
    let mut kept: Vec<String> = Vec::new();
    let herd = maren.herd().await;
    for animal in &herd.animals {
        let genes: Vec<String> = animal.genes.iter().map(|b| format!("{}*{}={}", b.gene, b.copies, b.chance)).collect();
        let grams = herd.weights_of(animal.id).last().map_or(0, |w| w.grams);
        let hatched = animal.hatched.map(|w| w.to_string()).unwrap_or_default();
        let parents = [animal.sire_id, animal.dam_id].map(|p| p.and_then(|id| herd.animal(id)).map(Animal::called));
        kept.push(format!(
            "{} {:?} [{}] {hatched} {grams} {}",
            animal.called(),
            animal.sex,
            genes.join(" "),
            parents.map(Option::unwrap_or_default).join("x")
        ));
    }
    (heard, kept.join("\n"))
}

#[tokio::test]
async fn a_strangers_sheet_is_understood_shown_and_asked_about_once() {
    let sheet = "Collection of the barn,,,,,,,,,\n\
        Snake Name,Sex,Morph,Hets,DOB,Weight,Sire,Dam,Rack,Comments\n\
        ,,,,,(g),,,,\n\
        Maple,female,Pastel Axanthic,,06/20/2024,\"1.1 kg\",Duke,Juno,A3,shy\n\
        Juno,F,Pastel,axanthic,03/14/2021,\"1,650\",,,A1,=SUM(A1:A3)\n\
        Duke,m,Clown,\"axanthic, 66% pied\",05/06/2020,900,,,A2,\n\
        \"Broken,f,clown,,2021,,,,,\n\
        Tiny,m,spider,,02/30/2023,,,,,\n\
        Big,m,mojave,,2023,900 kg,,,,\n\
        Total,5,,,,5000,,,,\n";
    let (heard, kept) = imported(sheet, &["vpi"]).await;
    assert!(heard.contains("Which line"), "{heard}");
    assert!(kept.is_empty(), "nothing is saved before the word: {kept}");
    for part in [
        "I read 3 new animals",
        "Morph = genes",
        "Not used: Rack",
        "line 7: A quotation mark",
        "line 8: \"02/30/2023\" is no day of the calendar",
        "Left out, line 9",
        "1 row of totals skipped",
        "Type \"save\"",
    ] {
        assert!(heard.to_lowercase().contains(&part.to_lowercase()), "{part} is missing:\n{heard}");
    }
    let (heard, kept) = imported(sheet, &["vpi", "save"]).await;
    assert!(heard.contains("Saved 3 animals"), "{heard}");
    let maple = kept.lines().find(|l| l.starts_with("Maple")).unwrap_or_default();
    assert!(maple.contains("DukexJuno") && maple.contains("1100") && maple.contains("2024-06-20"), "{kept}");
    assert!(maple.contains("axanthic_vpi*2=1"), "{kept}");
    assert!(kept.contains("Juno Female") && kept.contains("2021-03-14 1650"), "{kept}");
}

#[tokio::test]
async fn dates_units_and_encodings_are_those_of_their_column() {
    // Day first, because one of them can be nothing else; decimal commas; kilos by the heading; German words.
    let german = "Name;Geschlecht;Morph;Geboren;Gewicht (kg)\nRosi;w;Clown;13/04/2021;1,65\nOtto;m;pied;3/4/2021;0,9\n";
    let (_, kept) = imported(german, &["save"]).await;
    assert!(kept.contains("Rosi Female [clown*2=1] 2021-04-13 1650"), "{kept}");
    assert!(kept.contains("Otto Male [piebald*2=1] 2021-04-03 900"), "{kept}");
    // Nothing tells the order: asked once for the column.
    let unclear = "Name,Sex,Genes,DOB\nAsh,f,clown,3/4/2021\nElm,m,pied,5/6/2021\n";
    let (heard, kept) = imported(unclear, &["the month", "save"]).await;
    assert_eq!(heard.matches("What comes first?").count(), 1, "{heard}");
    assert!(kept.contains("2021-03-04") && kept.contains("2021-05-06"), "{kept}");
    // Pounds and ounces, and a spreadsheet's own count of days (44,927 is 1 January 2023 there).
    let pounds = "Name,Sex,Genes,Hatched,Weight lbs\nAsh,f,clown,44927,3.5\nElm,m,pied,2022,2 lb 4 oz\n";
    let (_, kept) = imported(pounds, &["save"]).await;
    assert!(kept.contains("2023-01-01 1588") && kept.contains("2022 1021"), "{kept}");
    let small = "Name,Sex,Genes,Weight\nAsh,f,clown,1.5\nElm,m,pied,0.9\n";
    let (heard, kept) = imported(small, &["kg", "save"]).await;
    assert!(heard.contains("In which unit") && kept.contains("1500") && kept.contains("900"), "{heard}\n{kept}");
}

#[tokio::test]
async fn a_sheet_that_comes_twice_changes_nothing() {
    let sheet = "name,sex,genes\nAsh,f,clown\nElm,m,pied\n,f,pastel\n";
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.receives(sheet.as_bytes()).await;
    maren.hears("save", &["Saved 3 animals"]).await;
    let before = maren.kept().await;
    let heard = maren.receives(sheet.as_bytes()).await;
    assert!(heard.contains("No animal of that sheet is new") && heard.contains("3 animals are here"), "{heard}");
    assert_eq!(maren.kept().await, before);
    maren.hears("undo", &["Taken back: added 3 animals"]).await;
    assert!(maren.herd().await.is_empty());
}

#[tokio::test]
async fn a_keeper_exports_forgets_and_imports() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "add 1.0 het clown named Duke, hatched 2020, 900 g",
        "add 0.1 pastel het clown named Juno, hatched 2020",
        "add 0.1 pastel from Duke x Juno named Maple, hatched 2024",
        "Duke locked with Juno on 3 december 2025",
        "goal: super pastel clown",
        "add 1.0 pied named Otto",
        "delete Otto",
    ] {
        maren.hears(said, &["undo"]).await;
    }
    let before = portable(&maren.herd().await);
    let heard = maren.says("export my girls as a sheet").await;
    assert!(heard.contains("One sheet of 2 animals"), "{heard}");
    let sheet = String::from_utf8(maren.takes_file().expect("a file").bytes).expect("text");
    assert!(sheet.contains("Pastel, 66 % het Clown") && sheet.contains("clown*1=2/3 inferred"), "{sheet}");
    for (said, end) in [("export", ".zip"), ("export everything as json", ".json")] {
        let heard = maren.says(said).await;
        assert!(heard.contains("3 animals and 3 other records"), "{heard}");
        let file = maren.takes_file().expect("a file");
        assert!(file.name.ends_with(end), "{}", file.name);
        maren.hears("forget me", &["erases 3 animals"]).await;
        maren.hears("erase everything", &["Everything is erased"]).await;
        let heard = maren.receives(&file.bytes).await;
        assert!(heard.contains("3 new animals and 3 other records"), "{heard}");
        assert!(maren.herd().await.is_empty(), "nothing is saved before the word");
        maren.hears("save", &["Saved 3 new animals"]).await;
        assert_eq!(portable(&maren.herd().await), before);
        // #4 was Otto and stays Otto's.
        assert_eq!(before.next_number, 5);
        let heard = maren.receives(&file.bytes).await;
        assert!(heard.contains("Nothing new is in that file: 6 records are here already"), "{heard}");
    }
    // Words that somebody changed in the sheet count, and are shown before they do.
    let changed = sheet.replace("Pastel, 66 % het Clown", "Pastel, het Clown, het Piebald");
    let heard = maren.receives(changed.as_bytes()).await;
    assert!(heard.contains("changed: Maple") && heard.contains("was Maple"), "{heard}");
    maren.hears("save", &["Saved 1 changed animal"]).await;
    maren.hears("Maple", &["Pastel, het Clown, het Piebald"]).await;
}

#[tokio::test]
async fn german_and_spanish_sheets() {
    let german = "Tierart;Rufname;Geschlecht;Genetik;Het für;Schlupfdatum;Gewicht (g);Vater;Mutter;Züchter;Kaufpreis;Bemerkungen\n\
        Königspython;Rosi;weiblich;Pastel;Clown;13.04.2021;1.650;;;Nordhof;350 €;frisst gut\n\
        Königspython;Otto;Männchen;Clown;;2.5.2020;900;;;;;\n\
        Königspython;Fritz;?;Pastel;;Juni 2024;;Otto;Rosi;;;\n\
        Summe;3;;;;;2.550;;;;350 €;\n";
    let (heard, kept) = imported(german, &["save"]).await;
    assert!(heard.contains("Saved 3 animals"), "{heard}");
    assert!(kept.contains("Rosi Female [clown*1=1 pastel*1=1] 2021-04-13 1650"), "{kept}\n{heard}");
    assert!(kept.contains("Otto Male [clown*2=1] 2020-05-02 900"), "{kept}");
    assert!(kept.contains("Fritz Unknown") && kept.contains("2024-06 0 OttoxRosi"), "{kept}");
    let spanish = "Especie,Nombre,Sexo,Genética,Posible het,Fecha de nacimiento,Peso (kg),Padre,Madre,Criador,Observaciones\n\
        Pitón bola,Lola,hembra,pastel,clown 66%,13/04/2021,\"1,65\",,,La Granja,tímida\n\
        Pitón bola,Paco,macho,clown,,2/5/2020,\"0,9\",,,,\n\
        Promedio,,,,,,\"1,3\",,,,\n";
    let (heard, kept) = imported(spanish, &["save"]).await;
    assert!(kept.contains("Lola Female [clown*1=2/3 pastel*1=1] 2021-04-13 1650"), "{kept}\n{heard}");
    assert!(kept.contains("Paco Male [clown*2=1] 2020-05-02 900"), "{kept}");
}

#[tokio::test]
async fn merged_cells_are_asked_about_once() {
    // A merged cell stands in its first row; whose young the others are cannot be seen.
    let sheet = "name,sex,genes,sire,dam,hatched\nAsh,f,clown,Duke,Juno,2024-06-01\nBirch,m,clown,,,\nCedar,f,clown,,,\n\
        Elm,m,pied,Rook,Ida,2025\nFir,f,pied,,,\n";
    for (answer, expected) in [
        ("the same", ["Cedar Female [clown*2=1] 2024-06-01", "Fir Female [piebald*2=1] 2025"]),
        ("2", ["Cedar Female [clown*2=1]  0", "Fir Female [piebald*2=1]  0"]),
    ] {
        let (heard, kept) = imported(sheet, &[answer, "save"]).await;
        assert_eq!(heard.matches("What do the empty ones mean?").count(), 1, "{heard}");
        assert!(heard.contains("\"sire\", \"dam\" and \"hatched\""), "{heard}");
        for line in expected {
            assert!(kept.contains(line), "{answer}: {line} is missing in\n{kept}");
        }
    }
    // Where siblings have their parents written out an empty cell is an empty cell.
    let written = "name,sex,genes,sire,dam\nAsh,f,clown,Duke,Juno\nBirch,m,clown,Duke,Juno\nCedar,f,clown,,\n";
    let (heard, _) = imported(written, &[]).await;
    assert!(heard.contains("I read 3 new animals"), "{heard}");
}
