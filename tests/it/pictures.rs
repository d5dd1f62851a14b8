//! Pictures: no text leaves the canvas or meets another, whatever is drawn; every picture says in words what it shows.

use hatchward::reply::picture::{
    Belief, Cell, Clutch, Curve, Curves, Drawing, Factor, Family, Gamete, KindOfYoung, Luck, Mark, Pairing, Phase,
    Picture, Plan, Relative, Resting, Season, Share, Square, Theme, Weighing, Weight,
};

/// A name of forty letters, the longest that a card shows whole.
const LONG: &str = "Marzipan of the Upper Hollow Terrace IV ";
/// Names that people and files bring.
const ODD: [&str; 5] = ["🐍🥚 Toast", "שלום עולם", "z\u{300}\u{301}\u{302}\u{303}algo", "<b>&\"x\"</b>", "a\u{202e}b"];

/// The sizes of PNG that are sent: a limit of ours.
const MOST_BYTES: usize = 150 * 1024;

fn clutch(kinds: u32, eggs: u32) -> Drawing {
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
        title: "six genes".to_owned(),
        parents: ["one parent".to_owned(), "the other".to_owned()],
        down: Vec::new(),
        across: Vec::new(),
        cells: Vec::new(),
        kinds: Vec::new(),
        factors: (0..6).map(|n| Factor { name: format!("Gene {n}"), parts: parts.to_vec() }).collect(),
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
        pairings: (0..8).map(pairing).collect(),
        resting: (0..5).map(resting).collect(),
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
fn named(odd: &str) -> Vec<(&'static str, Drawing)> {
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

fn all() -> Vec<(&'static str, Drawing)> {
    let mut all = ordinary();
    all.extend(ODD.iter().flat_map(|odd| named(odd)));
    all.extend(named(&"x".repeat(40)));
    all
}

fn ordinary() -> Vec<(&'static str, Drawing)> {
    vec![
        ("60 kinds, 80 eggs", clutch(60, 80)),
        ("one kind, one egg", clutch(1, 1)),
        ("12 kinds, 7 eggs", clutch(12, 7)),
        ("two genes", square(4)),
        ("one gene", square(2)),
        ("six genes", factors()),
        ("12 phases", plan(12)),
        ("one phase", plan(1)),
        ("8 plans", curves(8, 20)),
        ("one plan", curves(1, 1)),
        ("a season", season()),
        ("nobody to pair", Drawing::Season(Season { title: "2026".to_owned(), pairings: vec![], resting: vec![] })),
        ("a large family", family(40)),
        ("no family", family(0)),
        ("20 clutches", belief(20)),
        ("no clutch", belief(0)),
        ("a year", weight()),
    ]
}

fn leaves(picture: &Picture) -> Vec<String> {
    let out = picture
        .placed
        .iter()
        .filter(|t| t.x < 0.0 || t.y < 0.0 || t.x + t.width > picture.width || t.y + t.height > picture.height);
    out.map(|t| t.text.clone()).collect()
}

fn meet(picture: &Picture) -> Vec<(String, String)> {
    // Neighbouring lines may touch; half a pixel is rounding.
    const TOUCH: f64 = 0.5;
    let mut found = Vec::new();
    for (i, a) in picture.placed.iter().enumerate() {
        for b in &picture.placed[i + 1..] {
            let across = (a.x + a.width).min(b.x + b.width) - a.x.max(b.x);
            let down = (a.y + a.height).min(b.y + b.height) - a.y.max(b.y);
            if across > TOUCH && down > TOUCH {
                found.push((a.text.clone(), b.text.clone()));
            }
        }
    }
    found
}

/// Texts that lie on a bar, an egg or a sign.
fn covered(picture: &Picture) -> Vec<(String, String)> {
    const TOUCH: f64 = 0.5;
    let mut found = Vec::new();
    for a in &picture.placed {
        for b in &picture.solid {
            let across = (a.x + a.width).min(b.x + b.width) - a.x.max(b.x);
            // What hangs below a line is seldom there.
            let down = (a.y + a.height * 0.8).min(b.y + b.height) - a.y.max(b.y);
            if across > TOUCH && down > TOUCH {
                found.push((a.text.clone(), b.text.clone()));
            }
        }
    }
    found
}

#[test]
fn no_text_leaves_the_canvas_or_meets_another() {
    for (name, drawing) in all() {
        let picture = drawing.draw(Theme::Dark);
        assert_eq!(covered(&picture), [], "{name}: texts that a shape lies on");
        assert_eq!(leaves(&picture), Vec::<String>::new(), "{name}: texts outside");
        assert_eq!(meet(&picture), [], "{name}: texts that meet");
    }
}

/// More than the ground: a palette of several colours. The chunk of the palette follows the head of the file.
fn is_drawn(png: &[u8]) -> bool {
    let at = png.windows(4).position(|four| four == b"PLTE").expect("a palette");
    let n_bytes = u32::from_be_bytes(png[at - 4..at].try_into().unwrap());
    n_bytes > 3 * 3
}

#[test]
fn odd_names_are_drawn_in_all_eight_pictures() {
    for odd in ODD.iter().copied().chain([&*"x".repeat(40)]) {
        for (name, drawing) in named(odd) {
            let picture = drawing.draw(Theme::Light);
            let png = picture.png().unwrap_or_else(|e| panic!("{name} of {odd:?}: {e}"));
            assert!(is_drawn(&png), "{name} of {odd:?} is blank");
            assert!(!picture.svg.contains("<b>"), "{name} of {odd:?} is mark-up");
        }
    }
}

/// Every text that is drawn is said in words, too: names, odds, chances. Left out are the scales of a field.
#[test]
fn the_words_beside_a_picture_say_what_it_says() {
    let joined = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let scale = |text: &str| {
        text.ends_with('%') && text.chars().all(|c| c.is_ascii_digit() || " %.".contains(c))
            || text.ends_with(" g")
            || text.chars().all(|c| c.is_ascii_digit())
            || ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"].contains(&text)
    };
    // What only tells how a picture is to be read says nothing to who hears it.
    let key = ["Dotted", "Down: what", "hands on.", "hands", "on.", "A whole edge", "Broken line", "again"];
    for (name, drawing) in ordinary() {
        let picture = drawing.draw(Theme::Dark);
        let alt = joined(&picture.alt);
        for text in picture.placed.iter().map(|t| joined(&t.text)) {
            let said = alt.contains(&text) || text.split(" · ").all(|part| alt.contains(part));
            let is_key = key.iter().any(|k| text.starts_with(k))
                || text.contains("edge")
                || text.contains("unseen")
                || text.contains("half-filled");
            assert!(
                said || scale(&text) || is_key || is_sign(&text),
                "{name}: {text:?} is not said in\n{}",
                picture.alt
            );
        }
    }
}

/// The copies in a cell: "clo pie 1/4"; the chance at the end of a line: "A 70 %".
fn is_sign(text: &str) -> bool {
    let copies = text.replace("clo", "").replace("pie", "");
    let end = text.strip_prefix(|c: char| ('A'..='H').contains(&c)).unwrap_or("x");
    copies.chars().all(|c| c.is_ascii_digit() || " +/".contains(c))
        || end.chars().all(|c| c.is_ascii_digit() || " %.".contains(c))
}

#[test]
fn plans_with_the_same_chances_are_one_line_that_names_both() {
    let curve = |name: &str, done: &[u32]| Curve { name: name.to_owned(), done: done.to_vec() };
    let picture = Drawing::Curves(Curves {
        title: "two ways".to_owned(),
        first_year: Some(2027),
        plans: vec![
            curve("as it is", &[0, 300_000, 700_000]),
            curve("with one clutch more", &[0, 300_000, 700_000]),
            curve("with a visual bought", &[400_000, 800_000, 960_000]),
        ],
    })
    .draw(Theme::Dark);
    assert_eq!(picture.svg.matches("<polyline").count(), 2, "{}", picture.svg);
    for told in [
        "A as it is; with one clutch more: half are done by 2029 (season 3) (0 %, 30 %, 70 %)",
        "B with a visual bought: half are done by 2028 (season 2) (40 %, 80 %, 96 %)",
    ] {
        assert!(picture.alt.contains(told), "{told} is not in\n{}", picture.alt);
    }
    for end in ["A 70 %", "B 96 %"] {
        assert!(picture.placed.iter().any(|t| t.text == end), "{end} does not stand at the end of its line");
    }
}

#[test]
fn a_family_is_a_tree_with_parents_between_their_own_and_each_generation_in_its_column() {
    let relative = |depth: u32, name: &str| Relative {
        depth,
        sex: String::new(),
        name: name.to_owned(),
        about: "Clown".to_owned(),
        again: false,
    };
    let picture = Drawing::Family(Family {
        name: "Rook".to_owned(),
        about: "Pastel".to_owned(),
        ancestors: vec![
            relative(1, "Sire"),
            relative(2, "SireSire"),
            relative(2, "SireDam"),
            relative(1, "Dam"),
            relative(2, "DamSire"),
            relative(2, "DamDam"),
        ],
        young: Vec::new(),
        notes: Vec::new(),
    })
    .draw(Theme::Dark);
    let at = |name: &str| picture.placed.iter().find(|t| t.text == name).map(|t| (t.x, t.y)).unwrap();
    for (parent, one, other) in [("Sire", "SireSire", "SireDam"), ("Dam", "DamSire", "DamDam")] {
        assert!(at(one).1 < at(parent).1 && at(parent).1 < at(other).1, "{parent} stands between its parents");
        assert!(at(parent).0 < at(one).0, "a generation is a column");
    }
    for (one, other) in [("Sire", "Dam"), ("SireSire", "DamDam")] {
        assert!((at(one).0 - at(other).0).abs() < 0.1, "{one} and {other} stand in one column");
    }
}

#[test]
fn every_picture_is_drawn_in_both_themes_and_small_enough_to_send() {
    for (name, drawing) in ordinary() {
        // The ground changes no size: one of each is enough in light.
        let themes = if name.contains("one") { &[Theme::Dark, Theme::Light][..] } else { &[Theme::Dark] };
        for theme in themes {
            let picture = drawing.draw(*theme);
            let png = picture.png().unwrap_or_else(|e| panic!("{name}: {e}"));
            assert_eq!(&png[1..4], b"PNG", "{name}");
            let most = if picture.height > 2_000.0 { 4 * MOST_BYTES } else { MOST_BYTES };
            assert!(png.len() <= most, "{name}: {} bytes, {} high", png.len(), picture.height);
            assert!(!picture.alt.trim().is_empty(), "{name} says nothing in words");
            assert!(is_drawn(&png), "{name} is blank");
            assert_eq!(u32::from_be_bytes(png[16..20].try_into().unwrap()), 800, "{name}: twice the width of a phone");
        }
    }
}

#[test]
fn the_words_beside_a_picture_hold_its_odds() {
    let picture = clutch(3, 7).draw(Theme::Dark);
    for told in ["7 eggs", "1/3", "33.33 %", "lost before hatching", "none: 12.5 %"] {
        assert!(picture.alt.contains(told), "{told} is not in {}", picture.alt);
    }
}

#[test]
fn odd_names_are_drawn_as_text_or_replaced_so_that_it_shows() {
    for (name, shown) in ODD.iter().zip(["□ Toast", "□", "zalgo", "<b>&\"x\"</b>", "ab"]) {
        let belief = Drawing::Belief(Belief { title: (*name).to_owned(), steps: vec![] });
        let picture = belief.draw(Theme::Light);
        let title = picture.placed[0].text.replace('\u{300}', "");
        assert!(title.contains(shown) || title.starts_with('z'), "{name:?} is drawn as {title:?}");
        assert!(picture.png().is_ok(), "{name:?} breaks the drawing");
    }
}

/// The contrast of two colours by the Web Content Accessibility Guidelines 2.2, "relative luminance" and "contrast ratio".
fn contrast(a: &str, b: &str) -> f64 {
    let luminance = |colour: &str| {
        let part = |at: usize| {
            let c = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if c <= 0.03928 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn text_stands_out_from_its_ground_by_the_guidelines() {
    // WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
    for theme in [Theme::Dark, Theme::Light] {
        for (name, drawing) in all() {
            let svg = drawing.draw(theme).svg;
            let ground = if theme == Theme::Dark { ["#1E1F22", "#2B2D31"] } else { ["#FFFFFF", "#EEF0F3"] };
            for line in svg.lines().filter(|l| l.starts_with("<text")) {
                let ink = line.split("fill=\"").nth(1).unwrap().split('"').next().unwrap();
                for ground in ground {
                    assert!(contrast(ink, ground) >= 4.5, "{name}: {ink} on {ground} in {line}");
                }
            }
        }
    }
}
