//! A keeper sets reminders: the moment is repeated, what is unclear is asked, what cannot be is refused in one line.

use hatchward::chat::due;
use hatchward::collection::store::{Claim, Outcome, Who};
use hatchward::conversation::desk::{Desk, Present};
use jiff::civil::date;

use crate::keeper::Town;

/// Noon in Berlin on a Wednesday.
const NOON: &str = "2026-11-25T11:00:00Z";

/// One talk in Berlin, at a moment.
async fn talk(town: &Town, who: &str, now: &str, said: &[(&str, &[&str])]) {
    let who = Who { platform: "terminal", user: who.to_owned() };
    let present = Present { now: now.parse().ok(), ..date(2026, 11, 25).into() };
    let mut desk =
        Desk::new(&town.catalogue, &town.reader, town.catalogue.by_name("ball python"), Some(town.shelf.clone()));
    for (said, parts) in said {
        let heard = desk.turn(&who, None, present, said).await.map(|r| r.text()).unwrap_or_default();
        for part in *parts {
            assert!(heard.contains(part), "{said:?} was answered without {part:?}:\n{heard}");
        }
    }
}

#[tokio::test]
async fn the_answer_repeats_the_moment() {
    let town = Town::new();
    talk(
        &town,
        "Maren",
        NOON,
        &[
            ("remind me on 12 May at 18:00 to weigh Nala", &["By whose clock?"]),
            (
                "Berlin",
                &[
                    "Saved as reminder 1: weigh Nala, on Wednesday 12 May 2027 at 18:00 (Berlin)",
                    "Your time zone is Berlin",
                ],
            ),
            (
                "every Sunday at 18:00 weigh the girls",
                &["reminder 2: weigh the girls, every Sunday at 18:00", "first on Sunday 29 November 2026 at 18:00"],
            ),
            ("remind me in 10 days to candle the eggs", &["on Saturday 5 December 2026 at 12:00"]),
            (
                "my reminders",
                &["3 reminders", "2: weigh the girls, every Sunday at 18:00 (Berlin), next on Sunday 29 November 2026"],
            ),
            (
                "snooze reminder 2 for 2 days",
                &["put off to Tuesday 1 December 2026 at 18:00", "goes on as before: every Sunday"],
            ),
            ("move reminder 1 to 13 May at 9:00", &["Thursday 13 May 2027 at 09:00"]),
            ("remove reminder 3", &["Removed reminder 3: candle the eggs"]),
            ("undo", &["Taken back: removed reminder 3"]),
            ("my reminders", &["3 reminders", "3: candle the eggs"]),
        ],
    )
    .await;
    talk(&town, "Timo", NOON, &[("my reminders", &["You have no reminders"])]).await;
}

#[tokio::test]
async fn what_is_unclear_is_asked_and_what_cannot_be_is_refused() {
    let town = Town::new();
    talk(
        &town,
        "Maren",
        NOON,
        &[
            ("my time zone is Berlin", &["Berlin"]),
            ("remind me on 30 February to clean", &["no such day"]),
            ("remind me on 3/4 to clean", &["On which day?", "1.", "2."]),
            ("remind me today at 8:00 to clean", &["08:00 is over today"]),
            ("remind me every second to clean", &["once an hour is the most"]),
            ("remind me in 11 years to clean", &["10 years is the most"]),
            ("remind me at 25:00 to clean", &["no such hour"]),
            ("remind me at 6 to clean", &["In the morning or in the evening?"]),
            ("remind me every spring to clean", &["On which day?", "1 March 2027"]),
            ("remind me to clean", &["When?"]),
            ("remind me tomorrow", &["Of what?"]),
            ("add Biscuit, female normal ball python, 1500 g", &["Saved Biscuit"]),
            ("remind me 3 days before Biscuit is due", &["I know no date for Biscuit"]),
            ("my reminders", &["You have no reminders"]),
        ],
    )
    .await;
    // Ten past midnight in Berlin.
    talk(
        &town,
        "Maren",
        "2026-11-24T23:10:00Z",
        &[("remind me tomorrow at 9:00 to feed", &["which day is your \"tomorrow\"?"])],
    )
    .await;
}

#[tokio::test]
async fn at_this_machine_a_reminder_is_told_once_it_was_shown() {
    let town = Town::new();
    let told =
        [("my time zone is Berlin", &["Berlin"][..]), ("every Sunday at 18:00 weigh the girls", &["reminder 1"][..])];
    talk(&town, "Maren", "2024-11-25T11:00:00Z", &told).await;
    let who = Who { platform: "terminal", user: "Maren".to_owned() };
    let store = town.shelf.store().await.expect("it opens");
    let found = due::due(&town.shelf, &who).await.expect("an answer");
    let text = due::told(&found).expect("it is due").text();
    assert!(text.contains("Reminder 1: weigh the girls (was due"), "{text}");
    // Not shown yet: it is still owed, and only held back for a moment.
    assert_eq!(store.owed("terminal").await.expect("an answer").0, 1);
    assert!(due::due(&town.shelf, &who).await.expect("an answer").is_empty(), "it is on its way");
    store.put_due_back(found[0].id, 0.0).await.expect("an answer");
    let again = due::due(&town.shelf, &who).await.expect("an answer");
    assert_eq!(
        again.iter().map(|d| d.id).collect::<Vec<_>>(),
        [found[0].id],
        "a window was closed before it was shown"
    );
    due::count_as_told(&town.shelf, &again).await.expect("an answer");
    assert_eq!(store.owed("terminal").await.expect("an answer").0, 0);
    assert!(due::told(&due::due(&town.shelf, &who).await.expect("an answer")).is_none());
    let keeper = store.keeper(&who).await.expect("an answer").expect("a keeper");
    let next = store.herd(keeper).await.expect("a herd").reminders[0].next();
    assert!(next.is_some_and(|at| at > jiff::Timestamp::now()), "the rule goes on: {next:?}");
    // Nobody else hears of it, and a collection that nobody has opened is not opened for it.
    let other = Who { platform: "terminal", user: "Timo".to_owned() };
    assert!(due::due(&town.shelf, &other).await.expect("an answer").is_empty());
}

#[tokio::test]
async fn a_hundred_are_the_most() {
    let town = Town::new();
    talk(&town, "Maren", NOON, &[("my time zone is Berlin", &["Berlin"])]).await;
    for n in 1..=100 {
        let said = format!("remind me in {n} days to weigh");
        talk(&town, "Maren", NOON, &[(said.as_str(), &["Saved as reminder"])]).await;
    }
    // However many more are told, each is refused in one line.
    let refused = [("remind me in 3 days to feed", &["100 reminders, which is the most"][..])];
    for _ in 0..20 {
        talk(&town, "Maren", NOON, &refused).await;
    }
    talk(&town, "Maren", NOON, &[("my reminders", &["100 reminders, the next first", "and 78 later ones"])]).await;
}

#[tokio::test]
async fn what_is_due_is_claimed_once_and_a_rule_goes_on() {
    let town = Town::new();
    // Long ago by the database's clock, so it is due.
    let told =
        [("my time zone is Berlin", &["Berlin"][..]), ("every Sunday at 18:00 weigh the girls", &["reminder 1"][..])];
    talk(&town, "Maren", "2024-11-25T11:00:00Z", &told).await;
    let store = town.shelf.store().await.expect("it opens");
    let claim = Claim { platform: "terminal", keeper: None, worker: "a", lease_s: 60.0, most: 10 };
    let due = store.claim_old(claim).await.expect("an answer");
    assert_eq!(due.iter().map(|d| d.what.as_str()).collect::<Vec<_>>(), ["weigh the girls"]);
    assert!(store.claim_old(claim).await.expect("an answer").is_empty(), "it is claimed");
    let next = "2099-01-04T17:00:00Z".parse().ok();
    let told = [(due[0].id, next)];
    assert_eq!(store.settle_all_due(Outcome::Told, &told).await.expect("an answer"), [true]);
    assert_eq!(store.settle_all_due(Outcome::Told, &told).await.expect("an answer"), [false], "it is told once");
    let who = Who { platform: "terminal", user: "Maren".to_owned() };
    let keeper = store.keeper(&who).await.expect("an answer").expect("a keeper");
    let herd = store.herd(keeper).await.expect("a herd");
    assert_eq!(herd.reminders[0].next(), next);
}

#[tokio::test]
async fn a_clock_told_afterwards_sets_what_was_said_before() {
    let town = Town::new();
    for (who, told) in [("Maren", "Berlin"), ("Tjark", "my time zone is Berlin"), ("Timo", "I'm in Germany")] {
        talk(
            &town,
            who,
            NOON,
            &[
                ("remind me every second sunday at 7pm to weigh the girls", &["By whose clock?"]),
                // What is no place is asked again, and other talk comes between.
                ("Atlantis City", &["no time zone \"Atlantis City\"", "Name a large city"]),
                ("het clown x clown", &["1/2", "Your reminder is not set yet: name your city or country"]),
                ("add Biscuit, female normal ball python, 1500 g", &["Saved Biscuit", "not set yet"]),
                ("I really do not see why that should matter to anybody who keeps snakes", &[]),
                (told, &["Saved as reminder 1: weigh the girls, every 2 weeks on Sunday at 19:00 (Berlin)"]),
                ("my reminders", &["1 reminder"]),
            ],
        )
        .await;
    }
    // Without words it is asked for them too, and nothing has to be said again.
    talk(
        &town,
        "Wilko",
        NOON,
        &[
            ("remind me every second sunday at 7pm", &["By whose clock?"]),
            ("USA", &["several time zones", "1."]),
            ("what is a het?", &["not set yet"]),
            ("Chicago", &["Of what?"]),
            ("weigh the girls", &["Saved as reminder 1: weigh the girls, every 2 weeks on Sunday at 19:00 (Chicago)"]),
            ("remind me tomorrow at 9:00", &["Of what?"]),
            ("cancel", &["was dropped; nothing was changed"]),
            ("my reminders", &["1 reminder"]),
        ],
    )
    .await;
    talk(
        &town,
        "Rieke",
        NOON,
        &[
            ("remind me in 3 days to feed", &["By whose clock?"]),
            ("never mind", &["was dropped; nothing was changed"]),
            ("my reminders", &["You have no reminders"]),
        ],
    )
    .await;
}

#[tokio::test]
async fn a_rule_follows_its_keeper_to_another_clock() {
    let town = Town::new();
    talk(
        &town,
        "Maren",
        // Sunday 29 November, 12:00 in Berlin.
        "2026-11-29T11:00:00Z",
        &[
            ("my time zone is Berlin", &["Berlin"]),
            ("every Sunday at 18:00 weigh the girls", &["first on Sunday 29 November 2026 at 18:00"]),
            ("remind me every 6 hours to mist the hatchlings", &["every 6 hours"]),
            ("remind me on 12 December at 8:00 to call the vet", &["Saturday 12 December 2026 at 08:00 (Berlin)"]),
            // Going west the same Sunday's is later by the clock of the world, and comes once.
            (
                "my time zone is New York",
                &["2 reminders that come again keep their hour", "comes once keeps its moment"],
            ),
            (
                "my reminders",
                &[
                    "1: weigh the girls, every Sunday at 18:00 (New York), next on Sunday 29 November 2026 at 18:00",
                    // 18:00 in Berlin is 12:00 in New York: hours pass the same everywhere.
                    "2: mist the hatchlings, every 6 hours (New York), next on Sunday 29 November 2026 at 12:00",
                    "3: call the vet, on Saturday 12 December 2026 at 08:00 (Berlin)",
                ],
            ),
            ("undo", &["Taken back"]),
            // Going east its hour is over there already: it is not left out, but comes at once.
            ("my time zone is Auckland", &["keep their hour"]),
            (
                "my reminders",
                &["1: weigh the girls, every Sunday at 18:00 (Auckland), next on Sunday 29 November 2026 at 18:00"],
            ),
        ],
    )
    .await;
    let store = town.shelf.store().await.expect("it opens");
    let who = Who { platform: "terminal", user: "Maren".to_owned() };
    let keeper = store.keeper(&who).await.expect("an answer").expect("a keeper");
    let herd = store.herd(keeper).await.expect("a herd");
    // 18:00 in Auckland is 05:00 UTC in November.
    assert_eq!(herd.reminders[0].next(), "2026-11-29T05:00:00Z".parse().ok());
}

#[tokio::test]
async fn bad_input_is_answered_in_one_clear_line() {
    let town = Town::new();
    talk(
        &town,
        "Maren",
        NOON,
        &[
            (
                "my time zone is Mars/Olympus",
                &["I know no time zone \"Mars/Olympus\". Name a large city or your country"],
            ),
            ("my time zone is Berlni", &["Did you mean Berlin?"]),
            ("my time zone is UTC+2", &["does not tell me when your clocks change"]),
            ("my time zone is Berlin", &["Berlin"]),
            // A name that is in two is told of; one that may mean either is asked about.
            ("add Hazel Senior, female normal ball python, 1500 g", &["Saved Hazel Senior"]),
            ("add Hazel Junior, female normal ball python, 1500 g", &["Saved Hazel Junior"]),
            (
                "remind me 3 days before Hazel is due",
                &["no animal called \"Hazel\". You have Hazel Senior, Hazel Junior"],
            ),
            ("add Willow, female normal ball python, 1500 g", &["Saved Willow"]),
            ("add Willot, female normal ball python, 1500 g", &["Saved Willot"]),
            ("Willow had her pre lay shed on 20 november", &["Say \"remind me 7 days before Willow is due\""]),
            ("remind me 3 days before Willor is due", &["1. Willow", "2. Willot"]),
            ("1", &["Saved as reminder 1: Willow", "17 December 2026"]),
            ("remove reminder 1", &["Removed reminder 1"]),
            (
                "Willow laid 7 eggs on 24 november",
                &["Say \"remind me", "days before Willow is due\" and I remind you on"],
            ),
            ("remind me 2 days before Willow is due", &["Willow is due with hatching eggs"]),
            ("remove that reminder", &["Removed reminder"]),
            ("remind me every 59 minutes to look", &["once an hour is the most"]),
            ("remind me every hour to look", &["every hour"]),
            ("remind me in 10 years to look back", &["2036"]),
            ("remind me in 3651 weeks to look back", &["10 years is the most"]),
            ("remind me in 99999999999999999999 days to feed", &[]),
            ("my reminders", &["2 reminders"]),
            // The same again is one reminder.
            ("remind me on 1 May at 9:00 to feed", &["Saved as reminder"]),
            ("remind me on 1 May at 9:00 to feed", &["set already, as reminder"]),
            ("my reminders", &["3 reminders"]),
        ],
    )
    .await;
}
