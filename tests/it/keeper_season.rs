//! A breeder asks what to pair this season, asks back, and does it.

use hatchward::reading::records::kinds::MeetingKind;

use super::keeper::{Breeder, Town};

async fn tells(who: &mut Breeder<'_>, said: &[&str]) {
    for said in said {
        let heard = who.says(said).await;
        assert!(heard.contains("Saved"), "{said:?} was answered:\n{heard}");
    }
}

/// Two visuals, a double het of either sex, and what is told of them.
const ROOM: [&str; 5] = [
    "add 1.0 het clown het pied named Duke, hatched 2021, 900g",
    "add 1.0 clown named Rusty, hatched 2021, 900g",
    "add 0.1 clown het pied named Nova, hatched 2021, 1600g",
    "add 0.1 pied named Olive, hatched 2021, 1650g",
    "goal: clown pied",
];

/// The pairings of an answer.
fn pairs(heard: &str) -> Vec<&str> {
    heard.lines().filter_map(|line| line.split_once(". ")?.1.split_once(": ").map(|(pair, _)| pair)).collect()
}

#[tokio::test]
async fn a_season_from_the_question_to_the_records() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    // Duke × Nova: Clown from het × visual 1/2, Piebald from het × het 1/4, together 1/8. Mendel 1866.
    maren
        .hears(
            "what should I pair next?",
            &[
                "Your season: towards Clown, Piebald; 2 females and 2 males can be paired",
                "1. Duke × Nova: Clown, Piebald 1/8 per egg (12.5 %)",
                // Olive has no Clown: what Duke gives her is kept for the next round.
                "2. Duke × Olive: keep a ♂ Piebald, het Clown: 1/8 per egg (12.5 %)",
                "\"do it\"",
                "ball pythons are paired November to February (northern rooms), and now is the season",
                "common practice fits (females from 1,300 g, 3 years;",
            ],
        )
        .await;
    maren
        .hears(
            "why not Rusty x Olive?",
            &["Rusty × Olive", "cannot give Clown, Piebald itself", "Olive with Duke does more for your goals"],
        )
        .await;
    let one = maren.says("only one clutch this year").await;
    assert_eq!(pairs(&one), ["Duke × Nova"], "{one}");
    let without = maren.says("skip Nova").await;
    assert_eq!(pairs(&without), ["Duke × Olive"], "{without}");
    maren.hears("why is Nova resting?", &["Nova (#3) is left out, as you said."]).await;
    assert!(maren.herd().await.meetings.is_empty(), "nothing is recorded before it is said");
    maren.hears("do it", &["Saved: introduced Duke × Olive, today.", "undo"]).await;
    let herd = maren.herd().await;
    assert_eq!(herd.meetings.len(), 1);
    assert_eq!(herd.meetings[0].kind, MeetingKind::Introduced);
    maren.hears("undo", &["Taken back: introduced Duke × Olive."]).await;
    assert!(maren.herd().await.meetings.is_empty());
}

#[tokio::test]
async fn several_introductions_are_shown_before_they_are_recorded() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    maren.says("what should I pair this season").await;
    maren.hears("do it", &["2 pairs", "Duke × Nova", "Duke × Olive", "introduce-2-pairs"]).await;
    assert!(maren.herd().await.meetings.is_empty());
    maren.hears("introduce-2-pairs", &["Saved: introduced Duke × Nova and Duke × Olive"]).await;
    assert_eq!(maren.herd().await.meetings.len(), 2);
    // Who is together stays together, and is not recorded twice.
    maren.hears("what should I pair next", &["Duke × Nova", "together already"]).await;
    maren.hears("why not Rusty x Nova?", &["Nova is with Duke this season"]).await;
    maren.hears("do it", &["are recorded already"]).await;
    maren.hears("undo", &["Taken back: introduced"]).await;
    assert!(maren.herd().await.meetings.is_empty());
}

#[tokio::test]
async fn what_is_asked_about_no_season_is_about_something_else() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    let heard = maren.says("do it").await;
    assert!(!heard.contains("introduce"), "{heard}");
    // Nor where the talk has gone on to odds since.
    maren.says("what should I pair next?").await;
    maren.hears("het clown x clown, 6 eggs?", &["1/2  50 %  Clown"]).await;
    for said in ["do it", "only two clutches"] {
        let heard = maren.says(said).await;
        assert!(!heard.contains("introduce") && !heard.contains("Your season"), "{said:?} was answered:\n{heard}");
    }
    maren.hears("why not Rusty x Olive?", &["Olive with Duke does more for your goals"]).await;
    assert!(maren.herd().await.meetings.is_empty());
}

#[tokio::test]
async fn a_keeper_without_goals_is_asked_for_one_with_suggestions() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM[..4]).await;
    maren
        .hears(
            "what should I pair next?",
            &["What do you work towards?", "\"goal: clown piebald\": within reach of what you have"],
        )
        .await;
    // What was suggested can be sent as it stands.
    maren.hears("goal: clown piebald", &["Saved goal 1: Clown, Piebald"]).await;
    maren.hears("what should I pair next?", &["1. Duke × Nova"]).await;
}

#[tokio::test]
async fn what_is_missing_is_said_in_place_of_an_empty_list() {
    for (told, heard) in [
        (&["add 0.1 clown named Nova, hatched 2021, 1600g"][..], "there is no male ball python here"),
        (&["add 1.0 clown named Duke, hatched 2021, 900g"][..], "there is no female ball python here"),
        (
            &["add 1.0 clown named Duke, hatched 2021, 900g", "add pied named Nova, hatched 2021, 1600g"][..],
            "one of them may be the female that is missing",
        ),
        (
            &["add 1.0 clown named Duke, hatched 2021, 900g", "add 0.1 pied named Nova, hatched 2021, 900g"][..],
            "every female ball python is too light (1 of 1)",
        ),
        (
            &["add 1.0 clown named Duke, hatched 2021, 900g", "add 0.1 pied named Nova, hatched 2025"][..],
            "none of your 1 female ball pythons is ready",
        ),
    ] {
        let town = Town::new();
        let mut maren = town.breeder("Maren");
        tells(&mut maren, told).await;
        tells(&mut maren, &["goal: clown pied"]).await;
        maren.hears("what should I pair next?", &[heard]).await;
    }
}

#[tokio::test]
async fn relatives_are_left_out_unless_they_are_allowed() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 1.0 clown named Duke, hatched 2016, 900g",
            "add 0.1 pied named Nova, hatched 2016, sold 2023",
            "add 0.1 het clown het pied named Juno, hatched 2021, from Duke x Nova, 1600g",
            "goal: clown",
        ],
    )
    .await;
    maren.says("sold Nova").await;
    maren.hears("what should I pair next?", &["closer relatives than half-siblings", "allow relatives"]).await;
    maren
        .hears(
            "allow relatives",
            &["1. Duke × Juno: Clown 1/2 per egg (50 %)", "young inbred by 25 %", "relatives paired"],
        )
        .await;
    maren.hears("what should Nova be paired with?", &["Nova (#2) is sold, so no season counts on it."]).await;
}

#[tokio::test]
async fn females_short_of_weight_are_named_with_what_they_lack() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    tells(
        &mut maren,
        &["add 0.1 clown named Pia, hatched 2022", "Pia 1000 g on 1 august", "Pia 1100 g on 20 november"],
    )
    .await;
    // 100 g in 111 days: the 200 g to 1,300 g take 222 days from 20 November.
    maren
        .hears(
            "what should I pair next?",
            &["Pia (#5) is 200 g short of 1,300 g (1,100 g); at its pace about June 2027."],
        )
        .await;
    maren.hears("is Pia big enough to breed?", &["Pia (#5) is 200 g short"]).await;
}

#[tokio::test]
async fn pairings_that_can_hurt_the_young_are_not_advised() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["add 1.0 spider clown named Boris, hatched 2021, 900g"]).await;
    tells(&mut maren, &ROOM).await;
    let heard = maren.says("what should I pair next?").await;
    assert!(!heard.contains("Boris ×"), "{heard}");
    maren.hears("who rests", &["Never advised, for the harm known of it: Boris (Spider)."]).await;
    maren
        .hears("why not Boris x Olive?", &["Caution: Spider", "Left out for the harm that Spider can do to the young."])
        .await;
}

#[tokio::test]
async fn goals_that_pull_apart_are_named() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    tells(
        &mut maren,
        &["add 1.0 pastel named Otto, hatched 2021, 900g", "goal: pastel pied", "goal: clown without pastel"],
    )
    .await;
    maren
        .hears("what should I pair next?", &["Goals 3 and 2 pull apart: goal 3 is without Pastel, goal 2 wants it."])
        .await;
    let only = maren.says("for the pastel goal only").await;
    assert!(only.contains("Your season: towards Pastel, Piebald"), "{only}");
    maren.hears("for goal 9 only", &["Which goal?"]).await;
    maren.hears("for the banana project", &["None of your goals is for \"banana\""]).await;
}

#[tokio::test]
async fn species_share_the_clutches_of_a_season() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    tells(
        &mut maren,
        &[
            "add 1.0 amel corn snake named Rufus, hatched 2020, 400g",
            "add 0.1 66% het amel corn snake named Kiwi, hatched 2020, 500g",
            "goal: amel corn snake",
        ],
    )
    .await;
    maren
        .hears(
            "what should I pair next?",
            &[
                "2 goals; 3 females and 3 males",
                "Rufus × Kiwi: Amel 1/3 per egg (33.3 %)",
                "may prove Kiwi het Amel (",
                "corn snakes are paired March to May",
            ],
        )
        .await;
    let two = maren.says("only two clutches").await;
    assert_eq!(pairs(&two).len(), 2, "{two}");
    let sure = maren.says("without the 66s").await;
    assert!(!sure.contains("Kiwi:") && sure.contains("not counting on possible hets"), "{sure}");
}

#[tokio::test]
async fn after_a_hatch_it_is_said_whom_to_keep() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    maren.says("Duke x Nova laid 7 eggs on 18 april 2026").await;
    maren.says("hatched 1.0 clown, 0.1 clown and 0.2 normals on 15 june 2026").await;
    maren
        .hears(
            "which young should I hold back?",
            &[
                "1. Keep ♂ Clown, 66 % het Piebald of Duke × Nova.",
                "Your goals hang most on Nova",
                "feeding, kinks and temper",
            ],
        )
        .await;
    maren.hears("is it worth keeping the 66s?", &["Possible hets: prove them, or buy sure ones?"]).await;
    maren.hears("what should I buy for 800?", &["What buying in would save", "Prices are your own to weigh"]).await;
}
