//! Gene catalogues: the built-in ones hold, a bad file is refused with file, line and entry, a gene is one entry.

use hatchward::species::{BUILTIN, Catalogue, check};

/// The problems of a built-in file in which the first `from` is replaced by `to`.
fn broken(from: &str, to: &str) -> Vec<String> {
    let (name, text) = BUILTIN[0];
    assert!(text.contains(from), "{from:?} is in {name}");
    let text = text.replacen(from, to, 1);
    match check::parse(name, &text) {
        Ok(file) => check::at_start(name, &text, &file).iter().map(ToString::to_string).collect(),
        Err(problem) => vec![problem.to_string()],
    }
}

#[test]
fn the_built_in_catalogues_hold() {
    let catalogue = Catalogue::builtin().expect("no mistakes");
    assert_eq!(catalogue.species().len(), 5);
}

#[test]
fn a_bad_file_is_refused_with_the_place_and_what_is_allowed() {
    let cases = [
        (
            "inheritance = \"recessive\"",
            "inheritance = \"resessive\"",
            "unknown variant `resessive`, expected one of `recessive`",
        ),
        ("misspellings = [\"mohave\"", "mispellings = [\"mohave\"", "unknown field `mispellings`, expected one of"),
        ("locus = \"enchi\"", "locus = \"pastel\"", "share the locus \"pastel\", so it needs a [[complex]]"),
        ("family = \"axanthic\"", "family = \"axantic\"", "no family \"axantic\"; allowed: axanthic"),
        ("recombination = 0.05", "recombination = 0.7", "gene banana: recombination is 0.7; allowed: 0 to 0.5"),
        (
            "{ id = \"pastel\", copies = 1 }",
            "{ id = \"pastell\", copies = 1 }",
            "combo bumblebee: no computed gene \"pastell\"",
        ),
        (
            "{ id = \"pastel\", copies = 1 }",
            "{ id = \"pastel\", copies = 3 }",
            "combo bumblebee: copies is 3; allowed: 1, 2",
        ),
        ("usual = \"desert\"", "usual = \"dessert\"", "ambiguous desert: usual is not one of the candidates"),
        (
            "source = [\"brown2022\"]",
            "source = [\"brown1922\"]",
            "gene albino: source \"brown1922\" is neither a citation id",
        ),
        (
            "low = 1300, high = 1800",
            "low = 1900, high = 1800",
            "care female_first_weight: low, default and high must rise",
        ),
        (
            "default = 1500, unit = \"g\"",
            "default = 1500, unit = \"days\"",
            "care female_first_weight: unit is \"days\"; allowed: \"g\"",
        ),
        ("schema = 1", "schema = 2", "meta: schema is 2; allowed: 1"),
    ];
    for (from, to, expected) in cases {
        let problems = broken(from, to);
        assert!(problems.iter().any(|p| p.contains(expected)), "{to:?} should give {expected:?}, gave {problems:?}");
        assert!(problems.iter().all(|p| p.starts_with("ball_python.toml")), "{problems:?}");
    }
}

#[test]
fn a_gene_is_one_entry_in_one_file() {
    let (name, text) = BUILTIN[0];
    let entry = "
[[gene]]
id = \"marrow\"
name = \"Marrow\"
inheritance = \"recessive\"
locus = \"marrow\"
one_copy = \"het Marrow\"
two_copies = \"Marrow\"
visible_with_one_copy = false
aliases = []
confidence = \"low\"
source = [\"memory\"]
";
    let catalogue = Catalogue::from_files(&[(name.to_owned(), format!("{text}{entry}"))]).expect("no mistakes");
    let species = &catalogue.species()[0];
    let gene = species.gene_by_id("marrow").expect("the new gene is known");
    assert_eq!((species.gene(gene).label(1), species.gene(gene).bare_copies()), ("het Marrow", 2));
}
