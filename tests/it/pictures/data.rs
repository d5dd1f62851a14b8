//! What pictures are drawn of: usual data, the worst that can come, and its edges. The bench draws the same.

use hatchward::reply::picture::{
    Belief, Cell, Clutch, Curve, Curves, Drawing, Factor, Family, Gamete, KindOfYoung, Luck, Mark, Pairing, Phase,
    Plan, Relative, Resting, Season, Share, Square, Weighing, Weight,
};

/// A name of forty letters, the longest that a card shows whole.
const LONG: &str = "Marzipan of the Upper Hollow Terrace IV ";
/// Names that people and files bring.
pub(crate) const ODD: [&str; 5] =
    ["🐍🥚 Toast", "שלום עולם", "z\u{300}\u{301}\u{302}\u{303}algo", "<b>&\"x\"</b>", "a\u{202e}b"];

pub(crate) fn clutch(kinds: u32, eggs: u32) -> Drawing {
    let share = 1_000_000 / kinds;
    let kinds = (0..kinds).map(|n| KindOfYoung {
        name: format!("Pastel, Enchi, het {LONG} {n}"),
        fraction: format!("1/{}", 1_000_000 / share),
        share,
    });
    Drawing::Clutch(Clutch {
        title: format!("Ball python: ♂ {LONG} × ♀ {LONG}, {eggs} eggs"),
        eggs,
        stated: true,
        unit: "egg".to_owned(),
        kinds: kinds.collect(),
        rest: Some("1/4 of the eggs are lost before hatching".to_owned()),
        luck: Some(Luck { name: LONG.to_owned(), chances: vec![1_000_000 / (eggs + 1); eggs as usize + 1] }),
    })
}

fn square(gametes: usize) -> Drawing {
    let gamete = |n: usize| Gamete {
        alleles: vec![
            if n.is_multiple_of(2) { "clo" } else { "+" }.to_owned(),
            if n < 2 { "pie" } else { "+" }.to_owned(),
        ],
        fraction: "1/4".to_owned(),
    };
    let cell = |n: usize| Cell {
        copies: vec![["clo".to_owned(), "+".to_owned()], ["pie".to_owned(), "pie".to_owned()]],
        kind: n % 9,
        shows: !n.is_multiple_of(3),
        carries: !n.is_multiple_of(2),
    };
    Drawing::Square(Square {
        title: format!("Ball python: {LONG} × {LONG}"),
        parents: ["the male".to_owned(), "the female".to_owned()],
        down: (0..gametes).map(gamete).collect(),
        across: (0..gametes).map(gamete).collect(),
        cells: (0..gametes).map(|d| (0..gametes).map(|a| cell(d * gametes + a)).collect()).collect(),
        kinds: (0..9).map(|n| (format!("Clown {LONG} {n}"), "1/16".to_owned(), 62_500)).collect(),
        factors: Vec::new(),
        signs: vec![("clo".to_owned(), "Clown".to_owned()), ("pie".to_owned(), "Piebald".to_owned())],
    })
}

fn factors() -> Drawing {
    let parts = ["visual", "het", "without"].map(|name| Share {
        name: format!("{name} {LONG}"),
        copies: Some([true, name == "visual"]),
        fraction: "1/3".to_owned(),
        share: 333_333,
    });
    Drawing::Square(Square {
        title: "as many genes as an animal may have".to_owned(),
        parents: ["one parent".to_owned(), "the other".to_owned()],
        down: Vec::new(),
        across: Vec::new(),
        cells: Vec::new(),
        kinds: Vec::new(),
        factors: (0..16).map(|n| Factor { name: format!("Gene {n}"), parts: parts.to_vec() }).collect(),
        signs: Vec::new(),
    })
}

fn plan(phases: u32) -> Drawing {
    let phase = |n: u32| Phase {
        from: 3 * n + 1,
        to: 3 * n + 2,
        pairing: format!("♂ Pastel, het Clown, het Piebald {LONG} × ♀ {LONG}"),
        keep: vec![format!("keep ♀ het {LONG}: 1/16 of its eggs, 7 clutches"); 3],
    };
    Drawing::Plan(Plan {
        title: format!("Ball python: a project towards {LONG}, from scratch"),
        start: vec![format!("♂ {LONG}"), format!("♀ {}", ODD[0])],
        phases: (0..phases).map(phase).collect(),
        purchases: vec![format!("Bought in at the start: {LONG} saves 2 seasons and about 31 eggs."); 3],
        first_year: Some(2026),
        done: (1..=3 * phases).map(|n| n * 1_000_000 / (3 * phases)).collect(),
    })
}

fn curves(plans: u32, seasons: u32) -> Drawing {
    let curve = |k: u32| Curve {
        name: format!("with a {LONG} bought {k}"),
        done: (1..=seasons).map(|s| 1_000_000 * s / (seasons + k)).collect(),
    };
    Drawing::Curves(Curves {
        title: format!("plans towards {LONG}"),
        first_year: Some(2026),
        plans: (0..plans).map(curve).collect(),
    })
}

fn season() -> Drawing {
    let pairing = |n: usize| Pairing {
        male: format!("{LONG}{}", n / 4),
        female: format!("{LONG}{n}"),
        why: format!("best chance at a double this year: 1 in 8 per egg, 61 % in a usual clutch; also proves {LONG}"),
    };
    let resting = |n: usize| Resting { name: format!("{LONG}{n}"), why: "312 g under the usual weight".to_owned() };
    Drawing::Season(Season {
        title: "Season 2026".to_owned(),
        pairings: (0..24).map(pairing).collect(),
        resting: (0..24).map(resting).collect(),
        more: vec!["And 12 more pairings that add less.".to_owned()],
    })
}

fn family(n: usize) -> Drawing {
    let relative = |n: usize| Relative {
        depth: u32::try_from(1 + n % 3).unwrap(),
        sex: "♀".to_owned(),
        name: format!("{LONG}{}", ODD[n % ODD.len()]),
        about: format!("Pastel, 66 % het {LONG}"),
        again: n % 5 == 4,
    };
    Drawing::Family(Family {
        name: LONG.to_owned(),
        about: format!("♂ Clown, het {LONG}"),
        ancestors: (0..n).map(relative).collect(),
        young: (0..n).map(relative).collect(),
        notes: vec!["Inbreeding 12.5 %: its parents are half siblings.".to_owned()],
    })
}

fn belief(steps: u32) -> Drawing {
    Drawing::Belief(Belief {
        title: format!("{LONG}: het {LONG}"),
        steps: (0..steps)
            .map(|n| (format!("clutch {n} with {LONG}: 6 young, none visual"), 666_667 / (n + 1)))
            .collect(),
    })
}

fn weight() -> Drawing {
    Drawing::Weight(Weight {
        title: format!("{LONG}: weight over the year"),
        first_month: 11,
        first_day: 25,
        days: 365,
        weighings: (0..24)
            .map(|n| Weighing { day: n * 15, grams: 1400 + (n * 37) % 300, on: format!("{n} March 2026") })
            .collect(),
        marks: (0..8).map(|n| Mark { day: n * 40, what: format!("{n} Mar: laid 7 eggs, {LONG}") }).collect(),
        breeds_at: Some(1500),
        shaded: Some((format!("paired {LONG}"), vec![(0, 90), (340, 365)])),
    })
}

/// The eight pictures with a name in every place that a name can stand in.
pub(crate) fn named(odd: &str) -> Vec<(&'static str, Drawing)> {
    let own = || odd.to_owned();
    let relative = |depth: u32| Relative { depth, sex: "♀".to_owned(), name: own(), about: own(), again: depth == 2 };
    vec![
        (
            "an odd clutch",
            Drawing::Clutch(Clutch {
                title: own(),
                eggs: 7,
                stated: true,
                unit: "egg".to_owned(),
                kinds: vec![KindOfYoung { name: own(), fraction: "1/2".to_owned(), share: 500_000 }; 2],
                rest: Some(own()),
                luck: Some(Luck { name: own(), chances: vec![125_000; 8] }),
            }),
        ),
        (
            "an odd square",
            Drawing::Square(Square {
                title: own(),
                parents: [own(), own()],
                down: Vec::new(),
                across: Vec::new(),
                cells: Vec::new(),
                kinds: Vec::new(),
                factors: vec![Factor {
                    name: own(),
                    parts: vec![Share { name: own(), copies: None, fraction: "1".to_owned(), share: 1_000_000 }],
                }],
                signs: Vec::new(),
            }),
        ),
        (
            "an odd plan",
            Drawing::Plan(Plan {
                title: own(),
                start: vec![own()],
                phases: vec![Phase { from: 1, to: 1, pairing: own(), keep: vec![own()] }],
                purchases: vec![own()],
                first_year: None,
                done: vec![500_000, 990_000],
            }),
        ),
        (
            "odd curves",
            Drawing::Curves(Curves {
                title: own(),
                first_year: None,
                plans: vec![Curve { name: own(), done: vec![250_000, 500_000] }],
            }),
        ),
        (
            "an odd season",
            Drawing::Season(Season {
                title: own(),
                pairings: vec![Pairing { male: own(), female: own(), why: own() }],
                resting: vec![Resting { name: own(), why: own() }],
                more: vec![own()],
            }),
        ),
        (
            "an odd family",
            Drawing::Family(Family {
                name: own(),
                about: own(),
                ancestors: vec![relative(1), relative(2), relative(3)],
                young: vec![relative(1), relative(2)],
                notes: vec![own()],
            }),
        ),
        ("an odd belief", Drawing::Belief(Belief { title: own(), steps: vec![(own(), 500_000), (own(), 250_000)] })),
        (
            "an odd weight",
            Drawing::Weight(Weight {
                title: own(),
                first_month: 1,
                first_day: 1,
                days: 365,
                weighings: vec![
                    Weighing { day: 0, grams: 1200, on: own() },
                    Weighing { day: 200, grams: 1500, on: own() },
                ],
                marks: vec![Mark { day: 100, what: own() }],
                breeds_at: Some(1500),
                shaded: Some((own(), vec![(0, 90)])),
            }),
        ),
    ]
}

/// The eight pictures as people mostly see them.
pub(crate) fn usual() -> Vec<(&'static str, Drawing)> {
    vec![
        ("eggs of a clutch", a_clutch()),
        ("a square", a_square()),
        ("a plan", a_plan()),
        ("plans side by side", two_plans()),
        ("a season", a_season()),
        ("a family", a_family()),
        ("a belief over time", a_belief()),
        ("a year of weights", a_year()),
    ]
}

/// The same with the most and the longest that they are made of.
pub(crate) fn worst() -> Vec<(&'static str, Drawing)> {
    vec![
        ("eggs of a clutch", clutch(60, 80)),
        ("a square", square(4)),
        ("genes one by one", factors()),
        ("a plan", plan(12)),
        ("plans side by side", curves(8, 20)),
        ("a season", season()),
        ("a family", family(40)),
        ("a belief over time", belief(20)),
        ("a year of weights", weight()),
    ]
}

/// Where data ends: the worst, one of each, and none.
pub(crate) fn edges() -> Vec<(&'static str, Drawing)> {
    let mut edges = worst();
    edges.extend([
        ("one kind, one egg", clutch(1, 1)),
        ("12 kinds, 7 eggs", clutch(12, 7)),
        ("one gene", square(2)),
        ("one phase", plan(1)),
        ("one plan", curves(1, 1)),
        (
            "nobody to pair",
            Drawing::Season(Season { title: "2026".to_owned(), pairings: vec![], resting: vec![], more: vec![] }),
        ),
        ("no family", family(0)),
        ("no clutch", belief(0)),
    ]);
    edges
}

/// Everything, with odd names as well.
pub(crate) fn all() -> Vec<(&'static str, Drawing)> {
    let mut all = usual();
    all.extend(edges());
    all.extend(ODD.iter().flat_map(|odd| named(odd)));
    all.extend(named(&"x".repeat(40)));
    all
}

fn a_clutch() -> Drawing {
    let kind = |name: &str| KindOfYoung { name: name.to_owned(), fraction: "1/4".to_owned(), share: 250_000 };
    Drawing::Clutch(Clutch {
        title: "Ball python: ♂ Pastel, het Clown × ♀ Clown, 7 eggs".to_owned(),
        eggs: 7,
        stated: true,
        unit: "egg".to_owned(),
        kinds: ["Clown", "Pastel, Clown", "Pastel, het Clown", "normal-looking, het Clown"].map(kind).to_vec(),
        rest: None,
        luck: Some(Luck {
            name: "Pastel, Clown".to_owned(),
            // The binomial of 7 eggs at a quarter.
            chances: vec![133_484, 311_462, 311_462, 173_035, 57_678, 11_536, 1_282, 61],
        }),
    })
}

/// Two double hets, as a square of sixteen.
fn a_square() -> Drawing {
    let all = [["clo", "pie"], ["clo", "+"], ["+", "pie"], ["+", "+"]];
    let gamete =
        |alleles: [&str; 2]| Gamete { alleles: alleles.map(str::to_owned).to_vec(), fraction: "1/4".to_owned() };
    let cell = |a: [&str; 2], b: [&str; 2]| {
        let copies: Vec<[String; 2]> = (0..2).map(|gene| [a[gene].to_owned(), b[gene].to_owned()]).collect();
        let full = |gene: usize| copies[gene].iter().filter(|sign| *sign != "+").count();
        let (shows, carries) = (full(0) == 2 || full(1) == 2, full(0) == 1 || full(1) == 1);
        Cell { kind: full(0).min(2) * 3 + full(1).min(2), copies, shows, carries }
    };
    let names = [
        ("normal-looking", "1/16", 62_500),
        ("normal-looking, het Piebald", "1/8", 125_000),
        ("Piebald", "1/16", 62_500),
        ("normal-looking, het Clown", "1/8", 125_000),
        ("normal-looking, het Clown, het Piebald", "1/4", 250_000),
        ("Piebald, het Clown", "1/8", 125_000),
        ("Clown", "1/16", 62_500),
        ("Clown, het Piebald", "1/8", 125_000),
        ("Clown, Piebald", "1/16", 62_500),
    ];
    Drawing::Square(Square {
        title: "Ball python: ♂ het Clown, het Piebald × ♀ het Clown, het Piebald".to_owned(),
        parents: ["the male".to_owned(), "the female".to_owned()],
        down: all.map(gamete).to_vec(),
        across: all.map(gamete).to_vec(),
        cells: all.iter().map(|a| all.iter().map(|b| cell(*a, *b)).collect()).collect(),
        kinds: names.map(|(name, fraction, share)| (name.to_owned(), fraction.to_owned(), share)).to_vec(),
        factors: Vec::new(),
        signs: vec![("clo".to_owned(), "Clown".to_owned()), ("pie".to_owned(), "Piebald".to_owned())],
    })
}

fn a_plan() -> Drawing {
    let phase = |from: u32, to: u32, pairing: &str, keep: &[&str]| Phase {
        from,
        to,
        pairing: pairing.to_owned(),
        keep: keep.iter().map(|k| (*k).to_owned()).collect(),
    };
    Drawing::Plan(Plan {
        title: "Ball python: a project towards Clown, Piebald".to_owned(),
        start: vec!["♂ Clown".to_owned(), "♀ Piebald".to_owned()],
        phases: vec![
            phase(
                1,
                1,
                "♂ Clown × ♀ Piebald",
                &[
                    "keep ♂ het Clown, het Piebald: 1/2 of its eggs, 1 clutch",
                    "keep ♀ het Clown, het Piebald: 1/2 of its eggs, 1 clutch",
                ],
            ),
            phase(
                4,
                6,
                "♂ het Clown, het Piebald × ♀ het Clown, het Piebald",
                &["the goal: 1/16 of its eggs, 3 clutches"],
            ),
        ],
        purchases: vec!["♀ Clown, het Piebald: done 2 seasons sooner, about 12 eggs fewer".to_owned()],
        first_year: Some(2026),
        done: vec![0, 0, 0, 250_000, 540_000, 720_000, 860_000, 940_000, 980_000, 995_000],
    })
}

fn two_plans() -> Drawing {
    let curve = |name: &str, done: &[u32]| Curve { name: name.to_owned(), done: done.to_vec() };
    Drawing::Curves(Curves {
        title: "Clown, Piebald from scratch".to_owned(),
        first_year: Some(2026),
        plans: vec![
            curve("as it is", &[0, 0, 0, 250_000, 540_000, 720_000, 860_000, 940_000, 980_000]),
            curve("with a ♀ Clown, het Piebald bought", &[0, 310_000, 620_000, 810_000, 920_000, 970_000]),
            curve("with one clutch a season", &[0, 0, 0, 120_000, 280_000, 430_000, 570_000, 680_000, 770_000]),
        ],
    })
}

fn a_season() -> Drawing {
    let pairing = |male: &str, female: &str, why: &str| Pairing {
        male: male.to_owned(),
        female: female.to_owned(),
        why: why.to_owned(),
    };
    Drawing::Season(Season {
        title: "Your season towards Clown, Piebald".to_owned(),
        pairings: vec![
            pairing("Rook", "Saffron", "1 in 8 per egg is a Clown, Piebald, 55 % in a usual clutch"),
            pairing("Rook", "Hazel", "makes double hets: half of the young"),
            pairing("Flint", "Nettle", "proves the 66 % het Piebald of Nettle"),
        ],
        resting: vec![Resting { name: "Pippin".to_owned(), why: "120 g too light".to_owned() }],
        more: Vec::new(),
    })
}

fn a_family() -> Drawing {
    let relative = |depth: u32, sex: &str, name: &str, about: &str| Relative {
        depth,
        sex: sex.to_owned(),
        name: name.to_owned(),
        about: about.to_owned(),
        again: false,
    };
    Drawing::Family(Family {
        name: "Rook".to_owned(),
        about: "♂ Pastel, het Clown, het Piebald".to_owned(),
        ancestors: vec![
            relative(1, "♂", "Cobble", "Pastel, het Clown"),
            relative(2, "♂", "Rusty", "Clown"),
            relative(2, "♀", "Wren", "Pastel"),
            relative(1, "♀", "Maple", "het Piebald"),
            relative(2, "♂", "Slate", "Piebald"),
        ],
        young: vec![
            relative(1, "♀", "Ember", "Pastel, Clown, 50 % het Piebald"),
            relative(1, "♂", "Flint", "het Clown"),
        ],
        notes: vec!["Its parents are not related.".to_owned()],
    })
}

fn a_belief() -> Drawing {
    let step = |what: &str, share: u32| (what.to_owned(), share);
    Drawing::Belief(Belief {
        title: "Nova: the chance of het Piebald as clutches came in".to_owned(),
        steps: vec![
            step("to begin with", 666_667),
            step("15 June 2024: 3 young with Rusty, none visual", 200_000),
            step("20 June 2025: 2 young with Rusty, none visual", 58_824),
        ],
    })
}

fn a_year() -> Drawing {
    let weighing = |(day, grams, on): (u32, u32, &str)| Weighing { day, grams, on: on.to_owned() };
    let weighings = [
        (5, 1610, "30 November 2025"),
        (70, 1720, "3 February 2026"),
        (150, 1180, "24 April 2026"),
        (220, 1390, "3 July 2026"),
        (300, 1560, "21 September 2026"),
        (360, 1640, "20 November 2026"),
    ];
    Drawing::Weight(Weight {
        title: "Saffron: weight from 25 November 2025 to 25 November 2026".to_owned(),
        first_month: 11,
        first_day: 25,
        days: 365,
        weighings: weighings.map(weighing).to_vec(),
        marks: vec![
            Mark { day: 85, what: "18 February 2026: ovulation".to_owned() },
            Mark { day: 133, what: "7 April 2026: laid 7".to_owned() },
        ],
        breeds_at: Some(1300),
        shaded: Some(("usually paired, November to February (northern rooms)".to_owned(), vec![(0, 95), (341, 365)])),
    })
}
