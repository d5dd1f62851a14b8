//! Pictures: no text leaves the canvas or meets another, whatever is drawn; every picture says in words what it shows.

mod data; // what is drawn

use hatchward::reply::picture::{Belief, Curve, Curves, Drawing, Family, Picture, Relative, Theme};

use data::{ODD, all, clutch, edges, named, usual, worst};

/// The sizes of PNG that are sent: a limit of ours.
const MOST_BYTES: usize = 150 * 1024;

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
    let key = ["Dotted", "Down the side", "Across the top", "A whole edge", "Broken line", "again", "…:"];
    for (name, drawing) in edges() {
        let picture = drawing.draw(Theme::Dark);
        let alt = joined(&picture.alt);
        for text in picture.placed.iter().map(|t| joined(&t.text)) {
            // A cut text is said whole.
            let said = alt.contains(&text) || text.split(['·', '…']).all(|part| alt.contains(part.trim()));
            let is_key = key.iter().any(|k| text.starts_with(k))
                || text.contains("edge")
                || text.contains("unseen")
                || text.contains("half-filled")
                || text.contains("more kept")
                || text.contains("the picture; the words");
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
fn every_picture_is_small_enough_to_send_at_twice_the_width_of_a_phone() {
    // The other ground changes no size: it is drawn in the tests above.
    for (name, drawing) in usual().into_iter().chain(edges()) {
        let picture = drawing.draw(Theme::Dark);
        let png = picture.png().unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(&png[1..4], b"PNG", "{name}");
        assert!(png.len() <= MOST_BYTES, "{name}: {} bytes, {} high", png.len(), picture.height);
        assert!(!picture.alt.trim().is_empty(), "{name} says nothing in words");
        assert!(is_drawn(&png), "{name} is blank");
        assert_eq!(u32::from_be_bytes(png[16..20].try_into().unwrap()), 800, "{name}: twice the width of a phone");
    }
}

#[test]
fn what_is_too_long_is_cut_so_that_it_shows_and_said_whole_in_words() {
    let cut = |drawing: &Drawing| drawing.draw(Theme::Dark).placed.iter().filter(|t| t.text.contains('…')).count();
    for (name, drawing) in usual() {
        assert_eq!(cut(&drawing), 0, "{name}: nothing usual is cut");
    }
    let plan = worst().into_iter().find(|w| w.0 == "a plan").unwrap().1;
    assert!(cut(&plan) > 12, "twelve phases of long names are cut");
    let picture = plan.draw(Theme::Dark);
    let legend = picture.placed.last().unwrap();
    assert!(legend.text.starts_with('…'), "what is cut is told of: {}", legend.text);
    assert!(!picture.alt.contains('…'), "{}", picture.alt);
}

#[test]
fn a_chance_that_is_not_sure_is_not_rounded_to_sure() {
    let of = |done: Vec<u32>| {
        let plan = Curve { name: "as it is".to_owned(), done };
        let curves = Curves { title: String::new(), first_year: None, plans: vec![plan] };
        Drawing::Curves(curves).draw(Theme::Dark).alt
    };
    let alt = of(vec![4_000, 996_000, 1_000_000]);
    assert!(alt.contains("(under 1 %, over 99 %, 100 %)"), "{alt}");
}

/// Two genes make nine kinds of young.
#[test]
fn every_kind_of_a_square_has_a_mark_of_its_own() {
    let svg = usual().into_iter().find(|u| u.0 == "a square").unwrap().1.draw(Theme::Dark).svg;
    let marks: std::collections::BTreeSet<&str> =
        svg.split("url(#").skip(1).filter_map(|rest| rest.split(')').next()).collect();
    assert_eq!(marks.len(), 9, "{marks:?}");
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

#[test]
fn lines_stand_out_from_their_ground_by_the_guidelines() {
    // WCAG 2.2, success criterion 1.4.11: at least 3 to 1 for what is needed to understand a picture.
    for theme in [Theme::Dark, Theme::Light] {
        for (name, drawing) in all() {
            let svg = drawing.draw(theme).svg;
            let ground = if theme == Theme::Dark { "#1E1F22" } else { "#FFFFFF" };
            for line in svg.lines().filter(|l| l.starts_with("<polyline")) {
                let ink = line.split("stroke=\"").nth(1).unwrap().split('"').next().unwrap();
                assert!(contrast(ink, ground) >= 3.0, "{name}: {ink} on {ground} in {line}");
            }
        }
    }
}
