//! A keeper asks when: what is due, how late she is, eggs by their day, the season, the year, a file of it, own numbers.
//! The day of all talks is 25 November 2026; days are common practice, no source, where nothing else is said.

use hatchward::reading::records::kinds::SignKind;
use icalendar::parser::{read_calendar, unfold};

use super::keeper::{Breeder, Town};

async fn tells(who: &mut Breeder<'_>, said: &[&str]) {
    for said in said {
        let heard = who.says(said).await;
        assert!(heard.contains("Saved"), "{said:?} was answered:\n{heard}");
    }
}

/// Two females and a male.
const ROOM: [&str; 3] = [
    "add a 2020 male clown named Duke, 900g",
    "add a 2020 female clown named Nala, 1700g",
    "add a 2020 female pied named Olive, 1650g",
];

async fn room(town: &Town) -> Breeder<'_> {
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    maren
}

#[tokio::test]
async fn when_is_she_due_from_the_pairing_to_the_eggs() {
    let town = Town::new();
    let mut maren = room(&town).await;
    maren.hears("when is Nala due", &["Nothing is due for Nala (#2)", "\"Nala ovulated today\""]).await;
    tells(&mut maren, &["Duke locked with Nala on 1 october"]).await;
    maren.hears("when is Nala due", &["only the season in which her kind lays (common default, no source)"]).await;
    // Ovulation to eggs 40 to 60 days, mostly 48.
    insta::assert_snapshot!(maren.says("Nala ovulated on 20 october").await, @r#"
    Saved for Nala (#2): ovulation, 20 October 2026.
    Pre-lay shed: 3 to 17 November 2026, most likely the 7th.
    Eggs: 29 November to 19 December 2026, most likely 7 December.
    Hatching: 21 January to 22 February 2027, most likely 3 February.
    Say "remind me 8 days before Nala is due" and I remind you on 29 November 2026, the first day on which it can begin.
    Counted from her ovulation (20 October 2026): 40 to 60 days, mostly 48 (common default, no source).
    Say "undo" to take it back.
    "#);
    insta::assert_snapshot!(maren.says("when is Nala due").await, @r#"
    Nala (#2), ball python
    Nala lays 29 November to 19 December 2026, most likely 7 December: in 12 days.
      Paired: 1 October 2026 (recorded)
      Ovulation: 20 October 2026 (recorded)
      Pre-lay shed: 3 to 17 November 2026, most likely the 7th
      Eggs: 29 November to 19 December 2026, most likely 7 December
      First pip: 18 January to 21 February 2027, most likely 1 February
      Hatching: 21 January to 22 February 2027, most likely 3 February
    Counted from her ovulation (20 October 2026): 40 to 60 days, mostly 48 (common default, no source).
    Her kind usually lays 1 February to 31 July 2027; what you saw of her says other days, and that counts.
    Her pre-lay shed will narrow it: say "Nala had her pre lay shed on the 3rd".
    "#);
    // "Biscuit had her pre lay shed on the 3rd": recorded, and what follows.
    insta::assert_snapshot!(maren.says("Nala had her pre lay shed on the 8th").await, @r#"
    Saved for Nala (#2): pre-lay shed, 8 November 2026.
    Eggs: 1 to 13 December 2026, most likely the 8th.
    Hatching: 23 January to 16 February 2027, most likely 4 February.
    Say "remind me 7 days before Nala is due" and I remind you on 1 December 2026, the first day on which it can begin.
    Counted from her pre-lay shed (8 November 2026): 23 to 35 days, mostly 30 (common default, no source).
    Say "undo" to take it back.
    "#);
    insta::assert_snapshot!(maren.says("is she late?").await, @r#"
    Nala (#2), ball python
    No, Nala is not late: 6 days until the first usual day. She lays 1 to 13 December 2026, most likely the 8th.
      Paired: 1 October 2026 (recorded)
      Ovulation: 20 October 2026 (recorded)
      Pre-lay shed: 8 November 2026 (recorded)
      Eggs: 1 to 13 December 2026, most likely the 8th
      First pip: 20 January to 15 February 2027, most likely 2 February
      Hatching: 23 January to 16 February 2027, most likely 4 February
    Counted from her pre-lay shed (8 November 2026): 23 to 35 days, mostly 30 (common default, no source).
    Her kind usually lays 1 February to 31 July 2027; what you saw of her says other days, and that counts.
    "#);
    let herd = maren.herd().await;
    assert_eq!(herd.signs.iter().map(|s| s.kind).collect::<Vec<_>>(), [SignKind::Ovulation, SignKind::PrelayShed]);
}

#[tokio::test]
async fn overdue_eggs_put_the_caution_first() {
    let town = Town::new();
    let mut maren = room(&town).await;
    // Day 36 after the shed: past the usual days.
    tells(&mut maren, &["Nala had her pre lay shed on 20 october"]).await;
    insta::assert_snapshot!(maren.says("is Nala overdue?").await, @r#"
    Caution: Nala (#2) is 1 day past the usual days. It can be egg binding: with straining, a swelling behind the last egg, restless wandering or weakness she needs a reptile vet at once, and without any of it a reptile vet on 27 November 2026 if nothing has come by then.
    Nala (#2), ball python
    Yes: Nala is 1 day past the latest usual day, and 6 days past the most likely one.
      Pre-lay shed: 20 October 2026 (recorded)
      Eggs: 12 to 24 November 2026, most likely the 19th
      First pip: 1 to 27 January 2027, most likely the 14th
      Hatching: 4 to 28 January 2027, most likely the 16th
    Counted from her pre-lay shed (20 October 2026): 23 to 35 days, mostly 30 (common default, no source).
    "#);
    // Day 56: overdue.
    tells(&mut maren, &["undo", "Olive had her pre lay shed on 30 september"][1..]).await;
    insta::assert_snapshot!(maren.says("is she late?").await, @r#"
    Caution: Olive (#3) is overdue: 26 days past the usual day (30 October 2026). That can be egg binding, which kills if nobody acts: see a reptile vet now, also if she seems well, and tell them the dates below. If she has laid already, say "Olive laid 6 eggs on the 3rd".
    Olive (#3), ball python
    Yes: Olive is 21 days past the latest usual day, and 26 days past the most likely one.
      Pre-lay shed: 30 September 2026 (recorded)
      Eggs: 23 October to 4 November 2026, most likely 30 October
      First pip: 12 December 2026 to 7 January 2027, most likely 25 December
      Hatching: 15 December 2026 to 8 January 2027, most likely 27 December
    Counted from her pre-lay shed (30 September 2026): 23 to 35 days, mostly 30 (common default, no source).
    "#);
    let year = maren.says("what's due this month").await;
    assert!(year.starts_with("Caution: "), "{year}");
    assert!(year.contains("Olive (#3)") && year.contains("reptile vet"), "{year}");
}

#[tokio::test]
async fn eggs_by_their_day_and_when_they_hatch() {
    let town = Town::new();
    let mut maren = room(&town).await;
    tells(&mut maren, &["Duke locked with Nala on 1 august", "Nala laid 6 eggs on 16 october"]).await;
    insta::assert_snapshot!(maren.says("day 40 for the Nala eggs, how much longer").await, @r#"
    Nala (#2), ball python
    The Nala eggs hatch 8 to 20 December 2026, most likely the 13th: 13 to 25 days to go, most likely 18; today is day 40.
      Eggs: 16 October 2026 (recorded)
      First pip: 5 to 19 December 2026, most likely the 11th
      Hatching: 8 to 20 December 2026, most likely the 13th
      First shed of the young: 15 December 2026 to 3 January 2027, most likely 23 December
      First meal, after that shed: 16 December 2026 to 10 January 2027, most likely 26 December
    Counted from the eggs (16 October 2026): 53 to 65 days, mostly 58 (common default, no source).
    "#);
    maren
        .hears("when do the Nala eggs hatch", &["8 to 20 December 2026, most likely the 13th", "13 to 25 days to go"])
        .await;
    maren.hears("day 30 for the Nala eggs, how much longer", &["today is day 40 and not 30"]).await;
    maren.hears("the Nala eggs take 62 days", &["Saved for the Nala clutch: laying to hatching 62 days."]).await;
    maren.hears("when do they hatch?", &["most likely the 17th", "as you said of this clutch"]).await;
    maren.hears("day 500 for the Nala eggs", &["Day 500 is beyond any incubation I know"]).await;
    // Eggs that nobody recorded are counted by what is said.
    maren
        .hears(
            "day 20 for the Olive eggs, how much longer",
            &["No such clutch of Olive is recorded", "laid on 5 November 2026"],
        )
        .await;
    tells(&mut maren, &["hatched 2.2 clowns from Nala today"]).await;
    maren
        .hears("day 42 for the Nala eggs, how much longer", &["That clutch has hatched already on 25 November 2026"])
        .await;
    maren.hears("when does the Nala clutch shed first", &["first shed"]).await;
}

#[tokio::test]
async fn what_is_told_in_the_question_is_counted_and_not_kept() {
    let town = Town::new();
    let mut maren = room(&town).await;
    maren
        .hears(
            "Nala ovulated on 1 november, when will she lay?",
            &["11 to 31 December 2026, most likely the 19th", "Nothing was saved"],
        )
        .await;
    maren.hears("eggs laid 1 november, when do they hatch?", &["24 December 2026 to 5 January 2027"]).await;
    assert!(maren.herd().await.signs.is_empty() && maren.herd().await.clutches.is_empty());
    let mut tove = town.breeder_anywhere("Tove");
    tove.hears("eggs laid 1 november, when do they hatch?", &["Of which species are they?", "Corn snake"]).await;
    tove.hears("corn snake", &["26 December 2026 to 10 January 2027"]).await;
}

#[tokio::test]
async fn the_season_by_the_half_of_the_world() {
    let town = Town::new();
    let mut maren = town.breeder_anywhere("Maren");
    insta::assert_snapshot!(maren.says("when do I start cooling in the UK").await, @r#"
    Cooling, northern rooms:
      Ball python: no cold winter rest; a night drop of a few degrees from September to February
      Corn snake: start cooling in December, November at the earliest: 8 to 12 weeks at 8 to 14 °C, warm again for March
      Western hognose: start cooling in December, November at the earliest: 8 to 12 weeks at 7 to 12 °C, warm again for March
      Leopard gecko: start cooling in December, November at the earliest (optional): 4 to 8 weeks at 15 to 18 °C, warm again for January
      Boa: no cold winter rest; a night drop of a few degrees from October to March
    Counted for the UK: the northern half of the world.
    Common practice or from memory, no source: rooms with their own day length can be 2 to 4 months off. Only healthy animals of good weight are cooled.
    "#);
    maren
        .hears(
            "when do I start cooling corn snakes",
            &["Start cooling in December, November at the earliest", "northern half"],
        )
        .await;
    maren
        .hears(
            "when do I start cooling corn snakes in Australia",
            &["Start cooling in June", "Australia: the southern half"],
        )
        .await;
    maren.hears("I keep in Sydney", &["Saved"]).await;
    maren.hears("when do I start cooling corn snakes", &["Start cooling in June, May at the earliest"]).await;
    maren.hears("which months do I pair my boas", &["Paired May to October"]).await;
}

#[tokio::test]
async fn the_pairings_of_a_season_go_by_the_kept_half() {
    let town = Town::new();
    let mut maren = room(&town).await;
    tells(&mut maren, &["goal: clown pied", "I keep in Sydney"]).await;
    maren.hears("what should I pair next?", &["paired May to August (southern rooms), and now is out of season"]).await;
    maren.hears("we are in the northern hemisphere", &["northern"]).await;
}

#[tokio::test]
async fn when_she_can_be_paired_again() {
    let town = Town::new();
    let mut maren = room(&town).await;
    maren
        .hears("when can I pair Olive again", &["Olive can be paired now: the season goes on until 31 March 2027."])
        .await;
    tells(&mut maren, &["Duke locked with Nala on 1 february", "Nala laid 6 eggs on 16 april"]).await;
    insta::assert_snapshot!(maren.says("when can I pair Nala again").await, @r#"
    Nala (#2), ball python
    Nala is not ready yet; this season goes on until 31 March 2027.
    Nala (#2) rests: she laid, and her weight since is not known. Weigh her to have her counted.
    Nala laid last on 16 April 2026. 1 to 2 years from one to the next. Every year if the weight returns, every second year otherwise. Her weight needs 4 to 10 months of feeding (common practice, no source).
    Ball pythons are paired November to February, October to March at the outside (northern rooms, taken for granted; common practice, no source).
    "#);
}

#[tokio::test]
async fn the_year_at_a_glance() {
    let town = Town::new();
    let mut maren = room(&town).await;
    tells(
        &mut maren,
        &[
            "Duke locked with Nala on 1 august",
            "Nala laid 6 eggs on 16 october",
            "Olive ovulated on 10 november",
            "add a 2025 female pied named Dove, 800g",
        ],
    )
    .await;
    insta::assert_snapshot!(maren.says("the year").await, @r#"
    Your year from November 2026
      November 2026:
        Ball pythons: cooler nights until February 2027
        Ball pythons: pairing until March 2027
        Olive: pre-lay shed 24 November to 8 December 2026, most likely 28 November
      December 2026:
        Nala: hatching 8 to 20 December 2026, most likely the 13th
        Nala: first shed of the young 15 December 2026 to 3 January 2027, most likely 23 December
        Nala: first meal of the young 16 December 2026 to 10 January 2027, most likely 26 December
        Olive: eggs 20 December 2026 to 9 January 2027, most likely 28 December
      February 2027:
        Olive: hatching 11 February to 15 March 2027, most likely 24 February
    Resting after a clutch until the weight is back: Nala.
    Too young: Dove until January 2028.
    "export my calendar" gives it as a file for a calendar program.
    I took it that your rooms are in the northern half of the world (say "I keep in Sydney" if not); the dates are common defaults or your own numbers.
    "#);
    maren.hears("what's due next month", &["Your dates of December 2026", "Nala: hatching", "Olive: eggs"]).await;
    let hers = maren.says("Olive's year").await;
    assert!(hers.contains("Olive: eggs") && !hers.contains("Nala"), "{hers}");
    maren.hears("calendar", &["Your year from November 2026"]).await;
    // However many there are, it fits a message and says how many are left.
    for n in 0..40 {
        let sex = "female";
        tells(
            &mut maren,
            &[&format!("add a 2020 {sex} clown named Ada{n}, 1700g"), &format!("Ada{n} ovulated on 10 november")],
        )
        .await;
    }
    let full = maren.says("the year").await;
    assert!(full.chars().count() <= 2_000, "{} characters", full.chars().count());
    assert!(full.contains("more; ask for a month"), "{full}");
}

#[tokio::test]
async fn the_calendar_as_a_file() {
    let town = Town::new();
    let mut maren = room(&town).await;
    tells(
        &mut maren,
        &["Duke locked with Nala on 1 august", "Nala laid 6 eggs on 16 october", "Olive ovulated on 10 november"],
    )
    .await;
    maren.hears("export my calendar", &["as a file (.ics) that calendar programs read"]).await;
    let file = maren.takes_file().expect("a file");
    assert_eq!(file.name, "calendar-2026-11-25.ics");
    let text = String::from_utf8(file.bytes).expect("UTF-8");
    let unfolded = unfold(&text);
    let calendar = read_calendar(&unfolded).expect("a calendar program reads it");
    let uids = |calendar: &icalendar::parser::Calendar<'_>| {
        let mut all: Vec<String> =
            calendar.components.iter().filter_map(|c| c.find_prop("UID").map(|p| p.val.as_ref().to_owned())).collect();
        all.sort();
        all
    };
    let first = uids(&calendar);
    let mut once = first.clone();
    once.dedup();
    assert_eq!(first, once, "each mark is there once");
    assert!(text.contains("SUMMARY:Nala: hatching\\, most likely 13 December 2026"), "{text}");
    // A sign moves the days and keeps the marks.
    tells(&mut maren, &["Olive had her pre lay shed on 24 november"]).await;
    maren.says("export my calendar").await;
    let later = String::from_utf8(maren.takes_file().expect("a file").bytes).expect("UTF-8");
    let unfolded = unfold(&later);
    let moved = uids(&read_calendar(&unfolded).expect("it is read"));
    assert!(moved.iter().all(|uid| first.contains(uid)), "{moved:?} {first:?}");
    assert_ne!(text, later);
}

#[tokio::test]
async fn own_medians_are_offered_from_five_records_on() {
    let town = Town::new();
    let mut maren = room(&town).await;
    for year in 2021..=2025 {
        let told =
            [format!("Nala laid 6 eggs on 1 april {year}"), format!("hatched 6 clowns from Nala on 2 june {year}")];
        tells(&mut maren, &[&told[0], &told[1]]).await;
        if year == 2024 {
            maren.hears("use mine", &["None of your intervals has 5 records"]).await;
        }
    }
    tells(&mut maren, &["Nala laid 6 eggs on 1 november"]).await;
    // From 1 April to 2 June: 62 days each time.
    maren
        .hears(
            "when do the Nala eggs hatch",
            &[
                "mostly 58 (common default, no source)",
                "Your own median of laying to hatching is 62 days (62 to 62, 5 records)",
            ],
        )
        .await;
    maren.hears("use mine", &["Saved: 1 median", "Ball python, laying to hatching: 62 days"]).await;
    maren.hears("when do the Nala eggs hatch", &["57 to 69 days, mostly 62 (your own median of 5 records)"]).await;
    maren.hears("use mine", &["used already"]).await;
    maren.hears("my numbers", &["laying to hatching: 57 to 69 days, mostly 62 (your own median of 5 records)"]).await;
    maren.hears("use the default", &["the default counts again for 1 number"]).await;
    maren
        .hears("my ball pythons hatch at 60 days", &["Saved for your ball pythons: laying to hatching 60 days."])
        .await;
    maren.hears("when do the Nala eggs hatch", &["mostly 60 (your own number)"]).await;
    maren.hears("undo", &["Taken back: laying to hatching"]).await;
    maren.hears("when do the Nala eggs hatch", &["mostly 58 (common default, no source)"]).await;
}

#[tokio::test]
async fn what_cannot_be_is_refused_in_a_line() {
    let town = Town::new();
    let mut maren = room(&town).await;
    for (said, heard) in [
        (
            "Nala ovulated tomorrow",
            "26 November 2026: that day is still to come (today is 25 November 2026). Nothing was saved.",
        ),
        ("Nala ovulated on 3 april 2028", "that day is still to come"),
        ("Duke ovulated yesterday", "Duke is male, so this (ovulation) must be another animal. Nothing was saved."),
        ("when is Duke due", "Duke (#1) is male: eggs are due for a female."),
        ("when is Zorro due", "I know no animal called \"Zorro\"."),
        ("my ball pythons hatch at 600 days", "usual is 53 to 65"),
    ] {
        maren.hears(said, &[heard]).await;
    }
    tells(&mut maren, &["Duke locked with Nala on 20 november"]).await;
    maren
        .hears(
            "Nala had her pre lay shed on 3 november",
            &["pre-lay shed on 3 November 2026, but she was first paired that season on 20 November 2026"],
        )
        .await;
    assert!(maren.herd().await.signs.is_empty());
    // Two of one name are asked about.
    maren.says("add a 2021 female clown named Nala, 1500g").await;
    maren.says("yes").await;
    let heard = maren.says("when is Nala due").await;
    assert!(heard.contains("Which \"Nala\"?") || !heard.contains("(#4)"), "{heard}");
}

#[tokio::test]
async fn a_pip_is_a_sign_of_its_own_that_narrows_the_hatch() {
    let town = Town::new();
    let mut maren = room(&town).await;
    tells(&mut maren, &["Nala laid 6 eggs on 28 september"]).await;
    // Laying to hatching 53 to 65 days, mostly 58; pip to leaving the egg 1 to 3 days, mostly 2: common practice, no source.
    maren
        .hears("when do the Nala eggs hatch", &["hatch 20 November to 2 December 2026, most likely 25 November"])
        .await;
    insta::assert_snapshot!(maren.says("the Nala eggs pipped on 23 november").await, @r#"
    Saved: the first pip on 23 November 2026. ? × Nala, laid 28 September 2026, 6 eggs.
    The Nala eggs hatch 24 to 26 November 2026, most likely the 25th: any day now; today is day 58.
    When they are out, tell me what hatched: "hatched 2 clowns and 4 normals".
    Counted from the first pip (23 November 2026): 1 to 3 days, mostly 2 (common default, no source).
    Say "undo" to take it back.
    "#);
    maren
        .hears("how much longer", &["First pip: 23 November 2026 (recorded)", "Hatching: 24 to 26 November 2026"])
        .await;
    // A second cut moves nothing, and none is young.
    maren.hears("2 more pipped today", &["The first pip of 23 November 2026 stays"]).await;
    maren.hears("hatched 2 clowns and 4 normals", &["6 young"]).await;
    maren.hears("the Nala eggs pipped", &["has hatched already"]).await;
    for said in ["undo", "undo", "undo"] {
        maren.hears(said, &["Taken back"]).await;
    }
    maren.hears("when do the Nala eggs hatch", &["hatch 20 November to 2 December 2026"]).await;
    // The days of both, where they agree; those of the pip, where not.
    maren.hears("Nala eggs pipping since 18 november", &["hatch 20 to 21 November 2026"]).await;
    maren.hears("when do the Nala eggs hatch", &["First pip: 18 November 2026 (recorded)"]).await;
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("the first egg of Nala pipped on 10 november", &["I went by the first pip"]).await;
    let heard = maren.says("when do the Nala eggs hatch").await;
    assert!(heard.contains("11 to 13 November 2026") && heard.contains("I went by the first pip"), "{heard}");
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("Nala eggs pipped on 5 october", &["7 days are too few"]).await;
    // What is still to come is no record, and does not become one of today.
    for said in ["Nala eggs pipped tomorrow", "Nala laid 5 eggs next week", "the Nala eggs hatched tomorrow"] {
        maren.hears(said, &["still to come", "Nothing was saved"]).await;
    }
}

#[tokio::test]
async fn a_name_like_a_sign_stays_a_name() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["add 0.1 normal ball python named Pip, 900g"]).await;
    maren.hears("Pip 950g", &["950 g"]).await;
    maren.hears("Pip refused again", &["Pip (#1) refused food"]).await;
}
