//! A breeder works towards a goal for years: goals are kept, planned from what is there, and planned again.

use super::keeper::{Breeder, Town};

async fn tells(who: &mut Breeder<'_>, said: &[&str]) {
    for said in said {
        let heard = who.says(said).await;
        assert!(heard.contains("Saved"), "{said:?} was answered:\n{heard}");
    }
}

/// A visual of either recessive, grown.
const FOUNDERS: [&str; 2] = ["add 1.0 clown named Rusty, hatched 2020", "add 0.1 pied named Nova, hatched 2020"];

#[tokio::test]
async fn goals_are_named_ranked_limited_and_taken_back() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren
        .hears(
            "goal: clown pied, a pair, by 2033, at most 3 clutches a season, room for 20, without spider",
            &[
                "Saved goal 1",
                "Clown, Piebald",
                "a male and a female",
                "by 2033",
                "at most 3 clutches a season",
                "room for 20",
                "without Spider",
            ],
        )
        .await;
    maren.hears("goal: super pastel female", &["Saved goal 2", "♀ Super Pastel"]).await;
    maren.hears("call goal 2 Sunrise", &["Sunrise: ♀ Super Pastel"]).await;
    maren.hears("make goal 2 first", &["goal 1 now"]).await;
    maren.hears("goals", &["1. Sunrise", "2. Clown, Piebald"]).await;
    maren
        .hears(
            "goal 2: by 2031, nothing closer than half siblings, only what i have",
            &["by 2031", "no pair closer than 12.5 %", "only what is here"],
        )
        .await;
    maren.hears("undo", &["Taken back: changed the goal"]).await;
    maren.hears("goals", &["by 2033"]).await;
    maren.hears("remove goal 1", &["Removed the goal Sunrise"]).await;
}

#[tokio::test]
async fn goals_that_cannot_be_are_declined_and_nothing_is_kept() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for (said, heard) in [
        ("goal: clown pied by 2019", "2019 is over"),
        ("goal: super spider", "no project towards"),
        ("goal: clown pied without zorblat", "zorblat"),
        ("goal: clown pied, room for 0", "at least 1"),
        ("goal: lesser mojave butter", "two"),
    ] {
        let reply = maren.says(said).await;
        assert!(reply.contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
        assert!(maren.herd().await.goals.is_empty(), "{said:?} was kept");
    }
}

#[tokio::test]
async fn the_plan_starts_from_what_is_there() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &FOUNDERS).await;
    tells(&mut maren, &["goal: clown pied"]).await;
    maren
        .hears(
            "plan goal 1",
            &[
                "a project towards Clown, Piebald, from your 2 animals",
                "the first is 2027",
                "Phase 1, double hets. Season 1: Rusty (#1) × Nova (#2)",
                "Phase 2, the goal. Seasons 4 to",
                "keep a ♂ normal-looking, het Clown, het Piebald",
                "1/16",
                // Both double hets come from one pair.
                "pairs relatives (kinship 25 %)",
                "Played out",
            ],
        )
        .await;
    maren.hears("why not faster", &["Each round waits", "2 clutches a season"]).await;
    maren.hears("show the risk", &["done by season", "nine in ten by season", "as a keeper goes on"]).await;
    maren.hears("alternatives", &["as it stands", "with 3 clutches a season"]).await;
    maren.hears("what if I keep only two females", &["With 2 females kept", "nine in ten"]).await;
    maren.hears("phase 1", &["Season 1: Rusty (#1) × Nova (#2)", "can breed"]).await;
    maren.hears("what if I buy a female visual pied het clown", &["That purchase saves", "seasons"]).await;
}

#[tokio::test]
async fn what_is_missing_is_named_with_what_would_mend_it() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["add 1.0 clown named Rusty, hatched 2020", "add 0.1 pastel named Juno, hatched 2020"]).await;
    maren
        .hears(
            "plan a clown pied with only what i have",
            &["nobody is sure to carry Piebald", "Buying a Piebald would mend that"],
        )
        .await;
    maren.hears("plan a clown pied", &["Your animals alone do not lead there", "to be bought"]).await;
}

#[tokio::test]
async fn a_female_that_laid_rests_unless_she_has_her_weight_back() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &FOUNDERS).await;
    tells(&mut maren, &["Nova 1700 g on 1 april"]).await;
    maren.says("Rusty x Nova laid 5 eggs on 18 april").await;
    maren.hears("plan a clown pied", &["Nova (#2) rests a season", "not known"]).await;
    tells(&mut maren, &["Nova 1500 g"]).await;
    maren.hears("plan a clown pied", &["has 1,500 g of the 1,700 g"]).await;
    tells(&mut maren, &["Nova 1650 g"]).await;
    let heard = maren.says("plan a clown pied").await;
    assert!(!heard.contains("rests a season"), "{heard}");
}

#[tokio::test]
async fn a_hatch_plans_again_and_says_what_changed() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 1.0 het clown het pied named Rusty, hatched 2020",
            "add 0.1 het clown het pied named Nova, hatched 2020",
            "goal: clown pied",
        ],
    )
    .await;
    maren.says("Rusty x Nova laid 6 eggs on 18 april").await;
    maren
        .hears(
            "hatched 0.1 clown pied and 5 normals on 15 june",
            &["Your goal Clown, Piebald (ball python) is reached."],
        )
        .await;
}

#[tokio::test]
async fn a_possible_het_is_not_counted_but_named() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 1.0 clown het pied named Rusty, hatched 2020",
            "add 0.1 clown 66% het pied named Nova, hatched 2020",
            "add 0.1 pied named Juno, hatched 2020",
        ],
    )
    .await;
    maren.hears("plan a clown pied", &["Nova (#2)", "if it proves out", "saved"]).await;
}

#[tokio::test]
async fn a_lucky_hatch_saves_seasons_and_says_so() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 1.0 pastel het clown het pied named Rusty, hatched 2020",
            "add 0.1 het clown het pied named Nova, hatched 2020",
            "goal: clown pied pastel",
        ],
    )
    .await;
    maren.says("Rusty x Nova laid 6 eggs on 18 april").await;
    // Both recessives in phase two, where a visual of one was hoped for.
    maren.hears("hatched 0.1 clown pied and 5 normals on 15 june", &["seasons saved, if what hatched is kept"]).await;
}

#[tokio::test]
async fn relatives_are_named_with_what_it_costs_to_avoid_them() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &FOUNDERS).await;
    maren
        .hears(
            "plan a clown pied, nothing closer than half siblings",
            // Full siblings of one mother become half siblings.
            &[
                "kinship 25 %), closer than you want",
                "a second, unrelated",
                "it is 12.5 %: one animal more to buy",
                "Played out with no pair closer than 12.5 %, with a second, unrelated",
                "Without that limit half of such projects are done by season",
            ],
        )
        .await;
    maren
        .hears(
            "plan a clown pied, nothing closer than half siblings, only what i have",
            // Of two founders all young are siblings.
            &["With only what you have it cannot be avoided", "Played out: no such project is done by season"],
        )
        .await;
    // Another of the kind is there already.
    tells(&mut maren, &["add 0.1 pied named Hazel, hatched 2020"]).await;
    maren.hears("plan a clown pied, nothing closer than half siblings", &["With Hazel (#3)", "nothing to buy"]).await;
}

#[tokio::test]
async fn visible_genes_come_in_with_the_founders_or_cost_seasons() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren
        .hears(
            "plan a clown pied with pastel in it, from scratch",
            &["Phase 1,", "Pastel has to come in with \u{2642} Pastel", "brought in only in season", "it costs"],
        )
        .await;
}

#[tokio::test]
async fn the_money_of_a_plan_is_told_at_the_keepers_prices() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &FOUNDERS).await;
    tells(&mut maren, &["goal: clown pied"]).await;
    maren.hears("plan goal 1", &["Played out"]).await;
    maren.hears("what does it cost", &["Prices are yours to say"]).await;
    maren
        .hears(
            "what does it cost at 120 a year each",
            // Two founders in the first season.
            &["at 120 a year an animal", "season 1 (2027): 2.0 animals, 240", "The mean of many projects"],
        )
        .await;
}

/// Prices are the keeper's own, invented here.
#[tokio::test]
async fn a_plan_stays_within_the_budget_at_the_keepers_prices() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["goal: clown pied, budget 1000"]).await;
    maren.hears("plan my goal", &["To plan within your 1,000, I need your prices"]).await;
    maren
        .hears(
            "a visual clown male 400, a visual pied female 500, a female visual pied het clown 1200",
            &[
                "Within your 1,000: ♂ Clown and ♀ Piebald for 900. Booked for",
                "Played out: half of such projects",
                "♀ Piebald, het Clown for 1,600",
                "(over your budget)",
            ],
        )
        .await;
    // The next prices are for the same plan.
    maren
        .hears(
            "what if i buy a visual clown male for 900 or a visual pied female for 500",
            &["Nothing that leads there fits your budget of 1,000: the least is ♂ Clown and ♀ Piebald for 1,400"],
        )
        .await;
    maren.hears("a visual clown male 400, a clown female 300", &["These animals alone do not lead there"]).await;
    // One that is here already costs nothing.
    tells(&mut maren, &FOUNDERS).await;
    maren.hears("plan my goal", &["Booked with"]).await;
    maren
        .hears(
            "a visual pied het clown female 800, a het clown male 100, a 66 het clown male 90",
            &[
                "Within your 1,000: ♀ Piebald, het Clown for 800",
                "Nothing bought",
                "No plan worth its money buys ♂ het Clown",
                "Not counted, because it may carry nothing: 66 het clown male",
            ],
        )
        .await;
    maren.hears("what does it cost at 100 a year each", &["Keeping comes to about"]).await;
}

#[tokio::test]
async fn an_animal_to_buy_can_be_named_by_its_part() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &FOUNDERS).await;
    maren.hears("plan a clown pied", &["Phase 1, double hets"]).await;
    maren
        .hears(
            "what if i buy a visual het for the other?",
            &["Piebald, het Clown bought", "saves 6 seasons: 11 without it"],
        )
        .await;
    maren.hears("plan a pastel clown from scratch", &["project towards Pastel, Clown"]).await;
    // There is no other.
    maren.hears("what if i buy a visual het for the other?", &["Buy what?"]).await;
}
