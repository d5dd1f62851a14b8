//! A breeder proves animals out: what hatched moves everybody it should, and nothing is ever "certainly not".

use super::keeper::{Breeder, Town};

async fn tells(who: &mut Breeder<'_>, said: &[&str]) {
    for said in said {
        let heard = who.says(said).await;
        assert!(heard.contains("Saved") || heard.contains("father"), "{said:?} was answered:\n{heard}");
    }
}

/// Nova is a 66 % het Piebald with six misses by Rusty, a visual.
async fn six_misses(maren: &mut Breeder<'_>) {
    tells(
        maren,
        &[
            "add 0.1 66% het pied named Nova, hatched 2021",
            "add 1.0 pied named Rusty, hatched 2021",
            "Rusty x Nova laid 6 eggs on 18 april",
            "hatched 3.3 normals on 15 june",
        ],
    )
    .await;
}

#[tokio::test]
async fn misses_move_the_chance_and_never_to_nothing() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    six_misses(&mut maren).await;
    // 2/3 against 1/3, six misses at a half each: (2/3 · 1/64) : 1/3 = 1/33.
    maren
        .hears(
            "how sure is Nova het pied now",
            &["66.7 %", "3.03 % (1/33)", "With Rusty, a visual: 6 young, none visual", "1.56 %", "5 eggs", "visual"],
        )
        .await;
    maren.hears("how many more eggs to be 99 % sure", &["Rusty", "7 eggs show a visual with 99 %", "under 1 %"]).await;
    let heard = maren.says("is she still het pied").await;
    assert!(!heard.to_lowercase().contains("certainly not"), "{heard}");
    maren.hears("Nova", &["66 % het Piebald", "het Piebald 3.03 % (1/33) (label: 66 %)"]).await;
    maren.hears("Rusty x Nova", &["1/66", "label: 66 %"]).await;
}

#[tokio::test]
async fn a_hatch_tells_who_changed_and_undo_takes_it_back() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 66% het clown named Juno, hatched 2018",
            "add 1.0 normal named Otto, hatched 2018",
            "add 1.0 clown named Rusty, hatched 2020",
            "add 0.1 normal from Otto x Juno, hatched 2021, named Pip",
            "Rusty x Juno laid 5 eggs on 18 april",
        ],
    )
    .await;
    // Pip has half of what her mother has.
    maren.hears("how sure is Pip het clown", &["33.3 %"]).await;
    maren
        .hears(
            "hatched 1.4 normals on 15 june",
            &["What it changed:", "Juno (#1) het Clown: 66.7 % → 5.88 %", "Pip (#4) het Clown: 33.3 % → 2.94 %"],
        )
        .await;
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("how sure is Pip het clown", &["33.3 %"]).await;
    maren
        .hears(
            "hatched 1.0 clown and 4 normals on 15 june",
            &["Juno (#1) is proven het Clown", "Pip (#4) het Clown: 33.3 % → 50 %"],
        )
        .await;
}

#[tokio::test]
async fn what_if_the_next_clutch_is_all_normal() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    six_misses(&mut maren).await;
    let before = maren.kept().await;
    maren
        .hears(
            "what if Nova's next 4 eggs are all normal",
            &["Rusty × Nova gave 4 normal-looking young", "3.03 % → 0.19 %", "nothing was saved"],
        )
        .await;
    assert_eq!(maren.kept().await, before);
}

#[tokio::test]
async fn whom_to_prove_first() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 50% het pied named Nova, hatched 2021",
            "add 0.1 66% het clown named Juno, hatched 2021",
            "add 1.0 pied named Rusty, hatched 2021",
        ],
    )
    .await;
    maren
        .hears(
            "who should I prove out first",
            &["Nova (#1) first, with Rusty", "50 % het Piebald", "1 more has no mate"],
        )
        .await;
}

#[tokio::test]
async fn records_that_clash_are_named_and_nothing_is_changed() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 pastel named Nova, hatched 2021",
            "add 1.0 pied named Rusty, hatched 2021",
            "Rusty x Nova laid 6 eggs on 18 april",
        ],
    )
    .await;
    maren
        .hears(
            "hatched 1 pied and 4 normals on 15 june",
            &[
                "These records cannot all be true",
                "Nova (#1) carries no Piebald as told",
                "Nova (#1) is the mother of the clutch Rusty × Nova",
                "1 Piebald hatched from the clutch Rusty × Nova",
                "stored sperm",
                "new mutation",
            ],
        )
        .await;
    maren.hears("Nova", &["♀ Pastel"]).await;
    maren.hears("how sure is Nova het pied", &["These records cannot all be true"]).await;
    // What is known of another gene is still known.
    tells(
        &mut maren,
        &[
            "add 1.0 66% het clown named Otto, hatched 2021",
            "add 0.1 clown named Juno, hatched 2021",
            "Otto x Juno laid 3 eggs on 20 april",
        ],
    )
    .await;
    maren.hears("hatched 3 normals from Juno on 17 june", &["Saved"]).await;
    maren.hears("how sure is Otto het clown", &["20 % (1/5)", "contradict each other"]).await;
    maren.hears("Otto", &["het Clown 20 % (1/5) (label: 66 %)"]).await;
    for _ in 0..6 {
        maren.hears("undo", &["Taken back"]).await;
    }
    maren.hears("how sure is Nova het pied", &["0 as long as"]).await;
}

#[tokio::test]
async fn kinship_in_words() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 pastel named Nova, hatched 2015",
            "add 1.0 clown named Rusty, hatched 2015",
            "add 1.0 pied named Otto, hatched 2015",
            "add 1.0 pastel from Rusty x Nova, hatched 2018, named Duke",
            "add 0.1 pastel from Otto x Nova, hatched 2018, named Juniper",
            "add 0.1 pastel from Rusty x Nova, hatched 2019, named Maple",
            "add 0.1 normal from Duke x Juniper, hatched 2021, named Fern",
        ],
    )
    .await;
    // Wright 1922: parent and young, full siblings 1/4; half siblings, grandparent, uncle 1/8.
    maren
        .hears(
            "how related are Duke and Juniper",
            &["Duke and Juniper are half siblings (the same mother, Nova): 12.5 %", "Unknown ancestors"],
        )
        .await;
    maren.hears("how related are Duke and Maple", &["full siblings: 25 %"]).await;
    maren.hears("how are Nova and Duke related", &["Nova is the mother of Duke: 25 %"]).await;
    maren.hears("how related are Rusty and Otto", &["not related by the records: 0 %"]).await;
    // Her grandmother twice over: 1/8 by either way.
    maren.hears("how related are Nova and Fern", &["grandmother", "25 %", "more than one way"]).await;
    maren.hears("who is Maple related to", &["Duke", "full siblings", "Rusty is the father of Maple"]).await;
    maren.hears("Duke x Juniper", &["half siblings", "inbred by 12.5 %", "unrelated mate"]).await;
    maren.hears("Duke locked with Juniper 3 nov", &["Saved", "half siblings", "unrelated mate"]).await;
}

#[tokio::test]
async fn a_sale_card_promises_what_is_known() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    six_misses(&mut maren).await;
    maren
        .hears(
            "sale card for Nova",
            &[
                "Sure: looks normal",
                "Possible: het Piebald, 3.03 % (1/33) (label 66 %)",
                "6 young without a visual with Rusty",
                "chance, not as a het",
            ],
        )
        .await;
    tells(&mut maren, &["Rusty x Nova laid 4 eggs on 20 july"]).await;
    maren.hears("hatched 1 pied and 3 normals on 18 september", &["proven"]).await;
    maren.hears("sale card for Nova", &["Proven: het Piebald (a visual hatched from her"]).await;
}

#[tokio::test]
async fn one_of_two_fathers() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 pied named Nova, hatched 2018",
            "add 1.0 het pied named Rusty, hatched 2018",
            "add 1.0 normal named Otto, hatched 2018",
            "Nova laid 5 eggs on 18 april",
        ],
    )
    .await;
    maren
        .hears(
            "Rusty or Otto fathered the Nova clutch",
            &["Rusty or Otto × Nova", "One of them fathered all", "Rusty (#2) 50 % and Otto (#3) 50 %", "even odds"],
        )
        .await;
    // Five misses at a half each weigh 1/32 against a male that gives none.
    maren.hears("hatched 5 normals on 15 june", &["5 young from Rusty or Otto × Nova"]).await;
    maren
        .hears(
            "Rusty 75% or Otto fathered the Nova clutch",
            &[
                "Rusty (#2) 75 % and Otto (#3) 25 %",
                "By the looks of the young: Rusty (#2) 8.57 % and Otto (#3) 91.4 %",
            ],
        )
        .await;
    maren
        .hears("the Nova clutch has two fathers: Rusty and Otto", &["Rusty and Otto × Nova", "Each young by either"])
        .await;
    maren.hears("Rusty 75% or Otto 50% fathered the Nova clutch", &["add up to 100 %", "Nothing was saved"]).await;
    maren.hears("undo", &["Taken back: set the possible fathers of the clutch of Nova (#1)"]).await;
}

#[tokio::test]
async fn evidence_that_cannot_be_is_refused_and_nothing_is_stored() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 66% het pied named Nova, hatched 2018",
            "add 1.0 pied named Rusty, hatched 2018",
            "add 0.1 normal from Rusty x Nova, hatched 2021, named Pip",
            "Rusty x Nova laid 5 eggs on 18 april",
        ],
    )
    .await;
    let before = maren.kept().await;
    for (said, heard) in [
        ("Nova's mother is Pip", "cannot be a parent"),
        ("Nova's mother is #1", "own"),
        ("hatched 9 normals on 15 june", "5 eggs"),
        ("hatched 1 anery and 2 normals on 15 june", "anery"),
    ] {
        let reply = maren.says(said).await;
        assert!(reply.to_lowercase().contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
        assert_eq!(maren.kept().await, before, "{said:?} changed something");
    }
}

#[tokio::test]
async fn how_common_a_gene_is_elsewhere_is_told_and_counts() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 normal named Maple, hatched 2020",
            "add 1.0 clown named Rusty, hatched 2020",
            "add 0.1 pastel named Fern, hatched 2020",
        ],
    )
    .await;
    // By default normals carry nothing.
    maren.hears("how sure is Maple het clown", &["0 as long as"]).await;
    let before = maren.kept().await;
    maren
        .hears(
            "assume 1 in 20 normals carry clown, how sure is Maple het clown",
            &["5 %", "1 in 20 (5 %) carry Clown", "nothing was changed"],
        )
        .await;
    assert_eq!(maren.kept().await, before);
    maren.hears("assume 1 in 20 normals carry clown", &["Saved", "1 in 20 (5 %) carry Clown", "undo"]).await;
    maren.hears("how sure is Maple het clown", &["5 % (1/20)", "Counted as you told"]).await;
    maren.hears("Rusty x Maple laid 3 eggs on 18 april", &["Saved"]).await;
    // 1/20 against 19/20, three misses at a half each: (1/20 · 1/8) : 19/20 = 1/153.
    maren.hears("hatched 3 normals on 15 june", &["Maple (#1) het Clown: 5 % → 0.65 %"]).await;
    maren.hears("how sure is Fern het clown", &["5 % (1/20)"]).await;
    maren.hears("list my girls", &["Maple", "Fern"]).await;
    maren.hears("assume no normals carry clown", &["Before: 1 in 20 (5 %)"]).await;
    maren.hears("how sure is Fern het clown", &["0 as long as"]).await;
    maren.hears("undo", &["Taken back: set the carriers of Clown"]).await;
    maren.hears("how sure is Fern het clown", &["5 % (1/20)"]).await;
    for (said, heard) in [
        ("assume 1 in 20 normals carry pastel", "shows with one copy"),
        ("assume 1 in 20 normals carry clown and pied", "One gene at a time"),
        ("assume 1 in 20 normals carry clown", "stands so already"),
    ] {
        maren.hears(said, &[heard]).await;
    }
}

#[tokio::test]
async fn an_animal_nobody_has_is_not_what_was_told_before() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["add 0.1 66% het pied named Nova, hatched 2021"]).await;
    maren.hears("she's a 66% het pied, bred to a visual, 8 normals", &["0.78 %"]).await;
    for said in ["how sure is Pumpkin het pied", "is Pumpkin still het pied", "sale card for Pumpkin"] {
        maren.hears(said, &["no animal called \"Pumpkin\""]).await;
    }
    maren.hears("how related are Nova and Pumpkin", &["no animal called \"Pumpkin\""]).await;
    // The talk about the other goes on.
    maren.hears("she's a 66% het pied, bred to a visual, 8 normals", &["0.78 %"]).await;
    maren.hears("how sure is Pumpkin", &["no animal called \"Pumpkin\""]).await;
    maren.hears("and 2 more normals", &["10 normal-looking"]).await;
}

#[tokio::test]
async fn two_possible_hets_never_settle_it_by_misses() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren
        .hears(
            "66 x 66, nine eggs, no visuals, where does that leave both of them",
            &["66.7 % before, 43.4 % now", "hang together"],
        )
        .await;
    // The limit of 2/3 and 2/3: 2/3 · 1/3 : 5/9.
    maren
        .hears(
            "how many more eggs to be 95 % sure",
            &["both stay above 40 %", "One visual proves both", "a het shows it in 5 eggs"],
        )
        .await;
}

#[tokio::test]
async fn what_the_records_refuse() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 66% het pied named Nova, hatched 2018",
            "add 0.1 pied named Juno, hatched 2018",
            "add 1.0 pied named Rusty, hatched 2018",
            "add 1.0 normal named Otto, hatched 2018",
            "add 0.1 normal from Rusty x Nova, hatched 2021, named Pip",
            "Rusty locked with Nova 3 december 2025",
        ],
    )
    .await;
    let before = maren.kept().await;
    for (said, heard) in [
        // Two dams, two sires, and parents of the wrong sex.
        ("Nova x Juno laid 6 eggs on 18 april", "is female"),
        ("Juno or Nova fathered the Nova clutch", "A clutch has one mother"),
        ("add 0.1 normal from Nova x Juno, hatched 2021, named Fig", "is female"),
        ("Rusty x Otto laid 6 eggs on 18 april", "is male and lays no eggs"),
        ("add 0.1 clown from Rusty x Otto named Fig", "is male"),
        ("Pip's father is Juno", "Juno is female"),
        ("Pip's mother is Rusty", "Rusty is male"),
        // Laid before they were paired.
        ("Rusty x Nova laid 6 eggs on 1 november 2025", "laid before they were paired"),
        ("Rusty x Nova laid 6 eggs on 1 november 2025", "3 December 2025"),
        // An animal as its own ancestor, and its own parent.
        ("Nova's mother is Pip", "cannot be a parent"),
        ("Nova's mother is Nova", "own ancestor"),
    ] {
        let reply = maren.says(said).await;
        assert!(reply.contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
        assert_eq!(maren.kept().await, before, "{said:?} changed something");
    }
    // Together again after the laying is no contradiction.
    maren.hears("Rusty x Nova laid 6 eggs on 18 april", &["Saved"]).await;
    maren.hears("Rusty locked with Nova on 1 november 2026", &["Saved"]).await;
}

#[tokio::test]
async fn a_male_of_unknown_parents_shows_his_side_by_his_young() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 1.0 banana named Otto, hatched 2020",
            "add 0.1 normal named Juno, hatched 2020",
            "add 1.0 banana male maker named Duke, hatched 2020",
            "Otto x Juno laid 6 eggs on 18 april",
        ],
    )
    .await;
    maren.hears("is Otto a male maker", &["a male maker: 50 %", "female maker: 50 %"]).await;
    maren.hears("is Duke a male maker", &["Duke is a male maker, as you told"]).await;
    maren.hears("is Juno a male maker", &["no Banana"]).await;
    maren.hears("hatched 3.0 bananas and 0.3 normals on 15 june", &["6 young"]).await;
    // Crossovers in 5 of 100 (a keepers' figure): 0.95^6 : 0.05^6, six eggs that all went his way.
    maren.hears("is Otto a male maker", &["a male maker: over 99.9 %", "3.0 with Banana, 0.3 without"]).await;
    maren.hears("which maker is he", &["male maker"]).await;
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("hatched 2.1 bananas and 1.2 normals on 15 june", &["6 young"]).await;
    // Four his way and two across: 0.95^4 · 0.05^2 against 0.95^2 · 0.05^4 is 361 : 1.
    maren.hears("is Otto a male maker", &["a male maker: 99.7 %"]).await;
}

#[tokio::test]
async fn how_a_chance_moved_is_told_clutch_by_clutch_and_drawn() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(
        &mut maren,
        &[
            "add 0.1 66% het pied named Nova, hatched 2019",
            "add 1.0 pied named Rusty, hatched 2020",
            "Rusty x Nova laid 2 eggs on 18 april 2022",
            "hatched 1.1 normals on 15 june 2022",
            "Rusty x Nova laid 3 eggs on 2 may 2024",
            "hatched 1.2 normals on 3 july 2024",
        ],
    )
    .await;
    // 2/3 : 1/3 before; each miss by a visual halves the first: 2/3 · 1/4 : 1/3 = 1 : 2, then 2/3 · 1/32 : 1/3 = 1 : 16.
    let course = [
        "to begin with: 66.7 % (2/3)",
        "15 June 2022: 2 young with Rusty, none visual: 33.3 % (1/3)",
        "3 July 2024: 3 young with Rusty, none visual: 5.88 % (1/17)",
    ];
    for said in [
        "draw Nova's odds over time",
        "show how Nova's chance moved",
        "how did Nova's chance of pied change with each clutch",
        "Nova's het pied odds, clutch by clutch",
    ] {
        maren.hears(said, &course).await;
    }
    maren.hears("is Nova het", &["5.88 % (1/17)"]).await;
    tells(&mut maren, &["add 0.1 normal from Rusty x Nova, hatched 3 july 2024, named Pip"]).await;
    // A family shows what is believed now, not what the label said once: Pip, of no recorded clutch, is one miss more, and
    // 2/3 · 1/64 : 1/3 = 1 : 32.
    let family = maren.draws("draw the family tree of Pip").await;
    assert!(family.contains("Nova: 3.03 % (1/33) het Piebald"), "{family}");
    maren.says("undo").await;
    maren.hears("is Nova het", &["5.88 % (1/17)"]).await;
    maren.hears("draw it", &["Here it is as a picture"]).await;
    let alt = maren.takes_file().and_then(|file| file.alt).expect("a picture with words");
    for told in ["to begin with: 66.67 %", "15 June 2022: 2 young with Rusty, none visual: 33.33 %", "5.88 %"] {
        assert!(alt.contains(told), "{told} is not in\n{alt}");
    }
    // One visual settles it, whatever came before.
    tells(&mut maren, &["Rusty x Nova laid 1 egg on 1 may 2025", "hatched 1.0 pied on 1 july 2025"]).await;
    maren.hears("draw Nova's odds over time", &["1 July 2025: 1 young with Rusty, 1 visual: 100 %"]).await;
}

#[tokio::test]
async fn an_animal_without_clutches_has_no_course_and_what_would_settle_it_is_still_answered() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    tells(&mut maren, &["add 0.1 66% het pied named Nova, hatched 2019"]).await;
    maren.hears("draw Nova's odds over time", &["Nothing that hatched has moved it"]).await;
}
