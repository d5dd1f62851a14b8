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

#[tokio::test]
async fn what_to_buy_is_weighed_by_the_prices_that_the_keeper_tells() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &["add 1.0 clown named Rusty, hatched 2021, 900g", "add 0.1 pied named Olive, hatched 2021, 1650g"],
    )
    .await;
    tells(&mut maren, &["goal: clown pied"]).await;
    maren.hears("what should I buy", &["Prices are yours: tell them"]).await;
    // The prices go on from the question, or stand in it.
    for said in [
        "a clown het pied female 400, a banana male 150",
        "what should I buy: a clown het pied female for 400 or a banana male for 150?",
        "should I buy a clown het pied female at $400 or a banana male for $150",
    ] {
        maren
            .hears(
                said,
                &[
                    "1. ♀ Clown, het Piebald for 400:",
                    "saved for Clown, Piebald (ball python)",
                    "2. ♂ Banana for 150: none of your goals wants what it has.",
                    "The prices are yours; I know none.",
                ],
            )
            .await;
    }
    maren
        .hears(
            "what should I buy for 300: a clown het pied female 400",
            &["More than there is to spend.", "Nothing of it saves a season within 300."],
        )
        .await;
    // What only may carry is worth its chance: the same animal, sure, at twice the price is as dear a season.
    let heard = maren.says("what should I buy: a clown 50% het pied female 200, a clown het pied female 400").await;
    let each: Vec<&str> =
        heard.lines().filter_map(|l| l.split_once("(ball python); ")?.1.split(" a season").next()).collect();
    assert_eq!(each.len(), 2, "{heard}");
    assert_eq!(each[0], each[1], "{heard}");
    assert!(heard.contains("if it carries (50 %)"), "{heard}");
    maren.hears("what should I buy: a thing for 200", &["I read no animal of your goals' species in \"thing\""]).await;
}

#[tokio::test]
async fn keeping_possible_hets_is_weighed_by_what_a_year_costs() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    tells(&mut maren, &["add 1.0 clown 50% het pied named Pip, hatched 2021, 900g"]).await;
    maren.hears("is it worth keeping the 66s?", &["Tell me what, and it is counted"]).await;
    // 40 a year and 8 a month are 136 a year; he can be paired now, so one year proves him: 136 at 50 % is 272 for a sure one.
    maren
        .hears(
            "a tub is 40 a year and food 8 a month",
            &[
                "Counted with 136 a year for each",
                "costs 136 (1 year)",
                "a sure one for 272: below that buy, above it prove",
            ],
        )
        .await;
    for (price, verdict) in [("200", "so at your price buy"), ("400", "so at your price prove")] {
        let said = format!("is it worth keeping the 66s if one costs 136 a year and a sure one {price}");
        maren.hears(&said, &["a sure one for 272", verdict]).await;
    }
}

#[tokio::test]
async fn a_visual_son_takes_the_place_of_his_father() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    // Nova is not grown before the son is: until then his father could do nothing with her.
    tells(
        &mut maren,
        &[
            "add 1.0 het clown named Rusty, hatched 2021, 900g",
            "add 0.1 clown named Olive, hatched 2018, 1700g",
            "add 0.1 clown het pied named Nova, hatched june 2026, 90g",
            "add 1.0 pied named Duke, hatched 2021, 900g",
            "goal: clown",
        ],
    )
    .await;
    maren.says("Rusty x Olive laid 4 eggs on 18 april 2026").await;
    maren.says("hatched 1.0 clown and 1.1 normals on 15 june 2026").await;
    maren.says("sold Olive").await;
    let heard = maren.says("which young should I keep?").await;
    assert!(heard.contains("1. Keep ♂ Clown of Rusty × Olive."), "{heard}");
    assert!(heard.contains("the young take the place of Rusty (#1)"), "{heard}");
}

#[tokio::test]
async fn whatever_is_asked_amiss_has_an_answer_that_helps() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM).await;
    tells(&mut maren, &["add 0.1 clown named Pearl, hatched 2020, 1600g"]).await;
    maren.says("Pearl died").await;
    for (said, heard) in [
        ("what should Pearl be paired with?", "Pearl (#5) has died, so no season counts on it."),
        ("what should I pair next?", "1. Duke × Nova"),
        ("why not Duke x Pearl?", "Pearl (#5) has died"),
        ("why not Duke x Rusty?", "Duke (#1) and Rusty (#2) are of one sex"),
        ("skip Pearl", "1. Duke × Nova"),
        ("skip Duke and Rusty", "none of your 2 male ball pythons is ready"),
        ("only 0 clutches", "clutch"),
        ("what should Nessie be paired with?", "\"Nessie\""),
        ("what should I pair next?", "1. Duke × Nova"),
        ("skip Nessie", "\"Nessie\""),
    ] {
        maren.hears(said, &[heard]).await;
    }
    for name in ["Duke", "Rusty", "Nova", "Olive"] {
        maren.says(&format!("sold {name}")).await;
    }
    for said in ["what should I pair next?", "which young should I keep?"] {
        let heard = maren.says(said).await;
        assert!(heard.len() > 40 && pairs(&heard).is_empty(), "{said:?} was answered:\n{heard}");
    }
}

#[tokio::test]
async fn species_share_the_room_there_is() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &ROOM[..4]).await;
    tells(
        &mut maren,
        &[
            "add 1.0 amel corn snake named Rufus, hatched 2020, 400g",
            "add 0.1 het amel corn snake named Kiwi, hatched 2020, 500g",
            "goal: clown pied, room for 5 animals",
            "goal: amel anery corn snake",
        ],
    )
    .await;
    let heard = maren.says("who is no longer needed?").await;
    // Six animals in five places, whatever their species.
    let places: usize = heard
        .lines()
        .filter_map(|line| line.split_once("Of your room ")?.1.split(' ').next()?.parse::<usize>().ok())
        .sum();
    assert_eq!(places, 5, "{heard}");
}
