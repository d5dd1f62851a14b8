//! Gene catalogues: the built-in ones hold, a bad file is refused with file, line and entry, a gene is one entry.

use hatchward::species::entries::Inheritance::{self, Dominant, IncompleteDominant, Recessive};
use hatchward::species::{BUILTIN, Catalogue, CatalogueError, check};

/// A small species that keeps every rule; each case breaks one.
const MARSH: &str = include_str!("catalogue/marsh_snake.toml");

fn problems(text: &str) -> Vec<String> {
    check::check(&[("marsh_snake.toml".to_owned(), text.to_owned())]).iter().map(ToString::to_string).collect()
}

/// Replaces the first `from` by `to` and expects the problem, with the line on which `at` stands first.
#[track_caller]
fn refused(from: &str, to: &str, at: &str, expected: &str) {
    assert!(MARSH.contains(from), "{from:?} is in the file");
    let text = MARSH.replacen(from, to, 1);
    let before = text.find(at).unwrap_or_else(|| panic!("{at:?} is in the changed file"));
    let wanted = format!("marsh_snake.toml:{}: {expected}", text[..before].matches('\n').count() + 1);
    let found = problems(&text);
    assert!(found.iter().any(|p| p.starts_with(&wanted)), "{to:?} wants\n{wanted}\nbut gave\n{}", found.join("\n"));
}

/// The same with whole lines added before `before`, or at the end of the file.
#[track_caller]
fn refused_with(lines: &str, before: &str, at: &str, expected: &str) {
    refused(before, &format!("{lines}\n{before}"), at, expected);
}

#[test]
fn the_built_in_catalogues_hold() {
    let files: Vec<_> = BUILTIN.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
    assert_eq!(check::list(&check::check(&files)), "");
    let catalogue = Catalogue::builtin().expect("no mistakes");
    // Counted in the files by hand (`[[gene]]`).
    for (name, n_genes) in [("ball_python", 132), ("corn", 46), ("hognose", 28), ("leopard gecko", 39), ("boa", 30)] {
        let species = catalogue.by_name(name).expect("a species word");
        assert_eq!(catalogue.get(species).genes().len(), n_genes, "{name}");
    }
}

#[test]
fn the_small_catalogue_keeps_every_rule() {
    assert_eq!(problems(MARSH), Vec::<String>::new());
}

#[test]
fn a_wrong_shape_is_refused() {
    refused("schema = 1", "schema = ", "schema = ", "file: ");
    refused(
        "inheritance = \"dominant\"",
        "inheritance = \"domnant\"",
        "\"domnant\"",
        "gene bog: unknown variant `domnant`, expected one of `recessive`, `incomplete_dominant`, `dominant`, `polygenic`",
    );
    let unknown = "gene fen: unknown field `alias`, expected one of `id`, `name`";
    refused("aliases = [\"fenny\"]", "alias = [\"fenny\"]", "alias = [\"fenny", unknown);
    refused("look = \"nearly white\"\n", "", "[[allele_pair]]", "allele_pair quag: missing field `look`");
    refused("bare = \"ask\"", "bare = 1", "bare = 1", "family pale: invalid type: integer `1`, expected a string");
    refused("[[family]]", "[family]", "[family]", "family: must be written as [[family]]");
    refused(
        "[[family]]",
        "[[families]]",
        "[[families]]",
        "families: unknown table; allowed: [meta], [care], [[citation]]",
    );
    refused("[gene.sex_linked]", "[[gene.sex_linked]]", "[[gene.sex_linked]]", "gene fen: invalid ");
    refused("[[gene.welfare]]", "[gene.welfare]", "[gene.welfare]", "gene fen: invalid type: map, expected a sequence");
    let blank = "allele_pair quag: key 'name' is empty or has stray blanks";
    refused("name = \"Quag\"", "name = \"Quag \"", "name = \"Quag \"", blank);
    let empty = "gene fen: key 'aliases' is empty or has stray blanks";
    refused("aliases = [\"fenny\"]", "aliases = [\"\"]", "aliases = [\"\"]", empty);
    refused("schema = 1", "schema = 2", "schema = 2", "meta: schema: is 2; allowed: 1");
    let named = "meta: species: is \"marsh\", the file is named \"marsh_snake\"";
    refused("species = \"marsh_snake\"", "species = \"marsh\"", "species = ", named);
    for id in ["Quag-1", "quag__1", "1quag", "_quag", "quag_"] {
        let at = format!("id = {id:?}");
        refused("id = \"quag\"", &at, &at, &format!("allele_pair {id}: id: must be snake_case"));
    }
    let twice = "combo moonlit: id: \"moonlit\" is used twice";
    refused("id = \"dusk\"", "id = \"moonlit\"", "id = \"moonlit\"\nname = \"Dusk\"", twice);
    assert_eq!(problems(""), ["marsh_snake.toml: meta: table [meta] is missing"]);
}

#[test]
fn every_mistake_is_listed() {
    let text = MARSH.replace("confidence = \"medium\"", "confidence = \"sure\"");
    let said = "unknown variant `sure`, expected one of `high`, `medium`, `low`";
    let n_said = problems(&text).iter().filter(|p| p.contains(said)).count();
    assert_eq!(n_said, text.matches("\"sure\"").count());
    let two =
        MARSH.replace("bare_name_copies = 1", "bare_name_copies = 3").replace("usual = \"fen*2\"", "usual = \"fen\"");
    assert_eq!(problems(&two).len(), 2, "{:?}", problems(&two));
}

#[test]
fn a_source_that_does_not_exist_is_refused() {
    let allowed = "allowed: \"common practice, no source\", \"memory\" or a citation id (reed1901)";
    let wrong = format!("complex fen: 'source' names \"reed1902\"; {allowed}");
    refused("source = [\"reed1901\"]", "source = [\"reed1902\"]", "[\"reed1902\"]", &wrong);
    refused("source = [\"reed1901\"]", "source = []", "source = []", "complex fen: 'source' is empty");
    let nested = "gene fen: 'recombination_source' names \"hearsay\"";
    refused(
        "recombination_source = [\"memory\"]",
        "recombination_source = [\"hearsay\"]",
        "recombination_source",
        nested,
    );
    refused(
        "source = [\"reed1901\"]",
        "source = [\"memory\"]",
        "[[citation]]",
        "citation reed1901: is not used by any entry",
    );
    let care = "care: 'source' names \"hearsay\"";
    refused("\"eggs\", source = [\"memory\"]", "\"eggs\", source = [\"hearsay\"]", "clutch_size", care);
    let in_a_note = MARSH.replacen("source = [\"reed1901\"]", "source = [\"memory\"]\nnote = \"See reed1901.\"", 1);
    assert_eq!(problems(&in_a_note), Vec::<String>::new(), "a note uses a citation too");
}

#[test]
fn loci_and_complexes_agree() {
    let alone = "gene bog: locus: is \"heather\"; a locus with one gene carries the gene's id";
    refused("locus = \"bog\"", "locus = \"heather\"", "locus = \"heather\"", alone);
    let shared = "gene pale_north: locus: bog, pale_north share the locus \"pale_north\", so it needs a [[complex]]";
    let second = "locus = \"pale_north\"\none_copy = \"het";
    refused("locus = \"bog\"", "locus = \"pale_north\"", second, shared);
    let few = "complex moor: locus: needs at least two genes at this locus, found 0";
    refused("locus = \"fen\"\nname", "locus = \"moor\"\nname", "locus = \"moor\"", few);
    let complex = |locus: &str| {
        format!("[[complex]]\nlocus = \"{locus}\"\nname = \"New\"\nconfidence = \"low\"\nsource = [\"memory\"]")
    };
    refused_with(
        &complex("fen"),
        "[[family]]",
        "locus = \"fen\"\nname = \"New\"",
        "complex fen: locus: is listed twice",
    );
    // "bog" stays the id of a gene while another gene takes the locus of that name.
    let elsewhere =
        MARSH.replace("locus = \"bog\"", "locus = \"fen\"").replace("locus = \"pale_south\"", "locus = \"bog\"");
    let said = "gene bog: id: names a locus that it is not at";
    assert!(problems(&elsewhere).iter().any(|p| p.contains(said)), "{:?}", problems(&elsewhere));
}

#[test]
fn a_gene_agrees_with_its_inheritance() {
    let het = "gene pale_north: one_copy: is \"Pale\"; for a recessive it is \"het Pale (North)\"";
    refused("one_copy = \"het Pale (North)\"", "one_copy = \"Pale\"", "one_copy = \"Pale\"", het);
    let seen = "gene pale_north: visible_with_one_copy: must be false for a recessive";
    refused(
        "visible_with_one_copy = false",
        "visible_with_one_copy = true",
        "visible_with_one_copy = true\naliases = []\nfamily",
        seen,
    );
    for line in [
        "one_copy_aliases = [\"np\"]",
        "two_copies_aliases = [\"np\"]",
        "two_copies_look_like_one = false",
        "bare_name_copies = 2",
    ] {
        let key = line.split(' ').next().unwrap_or_default();
        let said = format!("gene pale_north: {key}: makes no sense for a recessive");
        refused_with(line, "line_tags = [\"north\"]", &format!("{line}\nline_tags"), &said);
    }
    let lethal = "[gene.homozygous_lethal]\nstatus = \"reported\"\nstage = \"young\"\nconfidence = \"low\"\nsource = [\"memory\"]\n";
    let said = "gene pale_south: homozygous_lethal: makes no sense for a recessive";
    refused_with(
        lethal,
        "\n[[gene]]\nid = \"heath\"",
        "[gene.homozygous_lethal]\nstatus = \"reported\"\nstage = \"young\"",
        said,
    );
    let hidden = "gene fen: visible_with_one_copy: must be true";
    refused("visible_with_one_copy = true", "visible_with_one_copy = false", "visible_with_one_copy = false", hidden);
    let same = "gene bog: two_copies_look_like_one: must be true for a dominant";
    refused("two_copies_look_like_one = true\n", "", "[[gene]]\nid = \"bog\"", same);
    let not = "gene mire: two_copies_look_like_one: is for dominant genes";
    refused_with("two_copies_look_like_one = false", "bare_name_copies = 1", "two_copies_look_like_one = false", not);
    let labels = "gene mire: two_copies: one_copy and two_copies need different labels";
    refused("two_copies = \"Super Mire\"", "two_copies = \"Mire\"", "two_copies = \"Mire\"", labels);
    let copies = "gene mire: bare_name_copies: is 3; allowed: 1, 2";
    refused("bare_name_copies = 1", "bare_name_copies = 3", "bare_name_copies = 3", copies);
    refused("locus = \"bog\"\n", "", "[[gene]]\nid = \"bog\"", "gene bog: key 'locus' is missing");
    let computed = "gene bog: computed: false is for polygenic looks only";
    refused_with("computed = false", "two_copies_look_like_one = true", "computed = false", computed);
    let carries = "gene bog: carries: is for polygenic looks";
    let line = "carries = [{ id = \"fen\", copies = 1 }]";
    refused_with(line, "two_copies_look_like_one = true", line, carries);
}

#[test]
fn a_polygenic_look_has_no_genetics() {
    refused(
        "computed = false\n",
        "",
        "[[gene]]\nid = \"heath\"",
        "gene heath: computed: must be false for a polygenic look",
    );
    for line in ["locus = \"heath\"", "one_copy = \"Heath\"", "seen_with = [\"bog\"]", "health_trait = true"] {
        let key = line.split(' ').next().unwrap_or_default();
        let said = format!("gene heath: {key}: is for genes; a polygenic look has no locus, no copies and no odds");
        refused_with(line, "carries = [", &format!("{line}\ncarries"), &said);
    }
    let carries = "carries = [{ id = \"pale_north\", copies = 2 }]";
    let none = "carries = [{ id = \"pale_east\", copies = 2 }]";
    refused(carries, none, none, "gene heath: carries: no computed gene \"pale_east\"");
    let many = "carries = [{ id = \"pale_north\", copies = 3 }]";
    refused(carries, many, many, "gene heath: carries: copies is 3; allowed: 1, 2");
}

#[test]
fn what_genes_say_of_others_holds() {
    let line = "not_compatible_with = [\"pale_south\"]";
    for (to, said) in [
        ("seen_with = [\"pale_east\"]", "seen_with: no gene \"pale_east\""),
        ("possible_allele_of = [\"pale_north\"]", "possible_allele_of: names itself"),
    ] {
        refused(line, to, to, &format!("gene pale_north: {said}"));
    }
    let both = format!("compatibility_unknown_with = [\"pale_south\"]\n{line}");
    refused(
        line,
        &both,
        line,
        "gene pale_north: not_compatible_with: \"pale_south\" is called both not compatible and unknown",
    );
    let own = "not_compatible_with = [\"fen\"]";
    refused_with(
        own,
        "bare_name_copies = 1",
        own,
        "gene mire: not_compatible_with: \"fen\", yet both are at locus \"fen\"",
    );
    let tags = "gene bog: line_tags: needs a 'family'";
    refused_with("line_tags = [\"old\"]", "two_copies_look_like_one = true", "line_tags = [\"old\"]", tags);
    refused(
        "family = \"pale\"",
        "family = \"pail\"",
        "family = \"pail\"",
        "gene pale_north: family: no family \"pail\"; allowed: pale",
    );
    refused(
        "bare = \"ask\"",
        "bare = \"bog\"",
        "bare = \"bog\"",
        "family pale: bare: is \"bog\"; allowed: ask, pale_north, pale_south",
    );
    refused(
        "family = \"pale\"\nline_tags = [\"north\"]\n",
        "",
        "[[family]]",
        "family pale: needs at least two member genes, found 1",
    );
    let tag = "family pale: line tag \"North\" belongs to pale_north and pale_south";
    refused("line_tags = [\"south\"]", "line_tags = [\"North\"]", "[[family]]", tag);
}

#[test]
fn sex_linkage_and_welfare_hold() {
    let range = "gene fen: sex_linked: recombination is 0.3 in the range 0.05 to 0.2";
    refused("recombination = 0.1", "recombination = 0.3", "[gene.sex_linked]", range);
    let wide = "gene fen: sex_linked: recombination is 0.1 in the range 0.05 to 0.6; it must lie in its range, and that within 0 to 0.5";
    refused("[0.05, 0.2]", "[0.05, 0.6]", "[gene.sex_linked]", wide);
    refused(
        "[0.05, 0.2]",
        "[0.05]",
        "[gene.sex_linked]",
        "gene fen: sex_linked: recombination_range must be two numbers",
    );
    refused(
        "recombination = 0.1",
        "recombination = nan",
        "[gene.sex_linked]",
        "gene fen: sex_linked: recombination is NaN",
    );
    refused(
        "sex_system = \"xy\"",
        "sex_system = \"temperature\"",
        "[gene.sex_linked]",
        "gene fen: sex_linked: in a species without sex chromosomes",
    );
    refused(
        "issue = \"small eyes\"",
        "issue = \"None known\"",
        "[[gene.welfare]]",
        "gene fen: welfare: an entry without an issue says nothing",
    );
    for other in ["bog", "fen", "moss"] {
        let to = format!("with = [{other:?}]");
        let said = format!("gene fen: welfare: 'with': {other:?} is not another allele of locus \"fen\"");
        refused("with = [\"mire\"]", &to, "[[gene.welfare]]", &said);
    }
    let one = "gene fen: welfare: 'with' goes with two_copies or any_copies";
    refused("applies_to = \"two_copies\"", "applies_to = \"one_copy\"", "[[gene.welfare]]", one);
}

#[test]
fn allele_pairs_and_warnings_hold() {
    let alleles = "alleles = [\"fen\", \"mire\"]";
    for (to, said) in [
        ("alleles = [\"fen\", \"fen\"]", "needs two different alleles"),
        ("alleles = [\"fen\"]", "needs two different alleles"),
        ("alleles = [\"fen\", \"moss\"]", "no gene \"moss\""),
        ("alleles = [\"bog\", \"fen\"]", "\"bog\" is at locus \"bog\", not \"fen\""),
        ("alleles = [\"mire\", \"fen\"]", "write the alleles in alphabetical order"),
    ] {
        refused(alleles, to, to, &format!("allele_pair quag: alleles: {said}"));
    }
    let warning = "genes = [\"bog\", \"fen\"]";
    for (to, place, said) in [
        ("genes = [\"bog\"]", "bog", "needs two genes"),
        ("genes = [\"bog\", \"moss\"]", "bog + moss", "no gene \"moss\""),
        ("genes = [\"fen\", \"fen\"]", "fen + fen", "already follows from the gene's own homozygous_lethal or welfare"),
    ] {
        refused(warning, to, to, &format!("pair_warning {place}: genes: {said}"));
    }
    let again = "[[pair_warning]]\ngenes = [\"fen\", \"bog\"]\neffect = \"harm\"\nissue = \"x\"\nconfidence = \"low\"\nsource = [\"memory\"]";
    refused_with(again, "[[combo]]", "genes = [\"fen\", \"bog\"]", "pair_warning fen + bog: genes: is listed twice");
}

#[test]
fn combinations_hold() {
    let genes = "genes = [{ id = \"fen\", copies = 1 }, { id = \"pale_north\", copies = 2 }]\nlooks = [\"heath\"]";
    for (to, said) in [
        ("genes = [{ id = \"fen\", copies = 1 }]", "a combination needs two parts (otherwise make it an alias)"),
        ("genes = [{ id = \"fen\", copies = 1 }, { id = \"moss\", copies = 2 }]", "no computed gene \"moss\""),
        ("genes = [{ id = \"fen\", copies = 1 }, { id = \"heath\", copies = 2 }]", "no computed gene \"heath\""),
        (
            "genes = [{ id = \"fen\", copies = 1 }, { one_of = \"pail\", copies = 2 }]",
            "no family \"pail\"; allowed: pale",
        ),
        (
            "genes = [{ id = \"fen\", copies = 1 }, { id = \"bog\", one_of = \"pale\", copies = 2 }]",
            "each part is { id, copies } or { one_of, copies }",
        ),
        ("genes = [{ id = \"fen\", copies = 1 }, { copies = 2 }]", "each part is { id, copies } or { one_of, copies }"),
        ("genes = [{ id = \"fen\", copies = 0 }, { id = \"bog\", copies = 1 }]", "copies is 0; allowed: 1, 2"),
        (
            "genes = [{ id = \"fen\", copies = 9223372036854775807 }, { id = \"mire\", copies = 2 }]",
            "copies is 9223372036854775807; allowed: 1, 2",
        ),
        (
            "genes = [{ id = \"fen\", copies = 2 }, { id = \"mire\", copies = 1 }]",
            "3 alleles at locus \"fen\"; an animal has two",
        ),
        (
            "genes = [{ id = \"fen\", copies = 1 }, { id = \"pale_north\", copies = 1 }]",
            "one copy of recessive \"pale_north\" does not show",
        ),
        ("genes = [{ id = \"fen\", copies = 1 }, { id = \"fen\", copies = 1 }]", "names a gene twice"),
        (
            "genes = [{ one_of = \"pale\", copies = 2 }, { id = \"bog\", copies = 1 }]",
            "has the same genes as moonlit: make it an alias",
        ),
        ("genes = [{ id = \"mire\", copies = 1 }, { id = \"fen\", copies = 1 }]", "is allele_pair quag again"),
    ] {
        refused(genes, to, &format!("{to}\nconfidence"), &format!("combo dusk: genes: {said}"));
    }
    refused(
        "looks = [\"heath\"]",
        "looks = [\"bog\"]",
        "looks = [\"bog\"]",
        "combo dusk: looks: \"bog\" is not a polygenic look",
    );
    let lists = "combo dusk: name: \"Fen Pale North\" merely lists its genes: the reader finds it by itself";
    refused("name = \"Dusk\"", "name = \"Fen Pale North\"", "name = \"Fen Pale North\"", lists);
    let pair = "[[allele_pair]]\nid = \"sump\"\nname = \"Sump\"\nlocus = \"fen\"\nalleles = [\"fen\", \"mire\"]\naliases = []\nlook = \"x\"\nconfidence = \"low\"\nsource = [\"memory\"]";
    refused_with(
        pair,
        "[[pair_warning]]",
        "alleles = [\"fen\", \"mire\"]\naliases = []",
        "allele_pair sump: alleles: has the same alleles as quag",
    );
}

#[test]
fn ambiguous_words_hold() {
    let candidates = "candidates = [\"fen*2\", \"pair:quag\", \"term:colour\"]";
    for (candidate, said) in [
        ("moss", "\"moss\" does not exist"),
        ("combo:moss", "\"combo:moss\" does not exist"),
        ("pair:quag*2", "\"pair:quag*2\": copies go with genes only"),
        ("fen*3", "\"fen*3\": write gene, gene*copies, combo:id, pair:id or term:word"),
        ("gene:fen", "\"gene:fen\": write gene, gene*copies, combo:id, pair:id or term:word"),
        ("Fen", "\"Fen\": write gene, gene*copies, combo:id, pair:id or term:word"),
    ] {
        let to = format!("candidates = [\"fen*2\", {candidate:?}]");
        refused(candidates, &to, &to, &format!("ambiguous white: candidates: {said}"));
    }
    let usual = "ambiguous white: usual: \"fen\" is not a candidate; allowed: fen*2, pair:quag, term:colour";
    refused("usual = \"fen*2\"", "usual = \"fen\"", "usual = \"fen\"", usual);
    let then = "ambiguous white: then: 'assume' needs 'usual', 'ask' must not have it";
    refused("then = \"assume\"", "then = \"ask\"", "then = \"ask\"", then);
    refused("usual = \"fen*2\"\n", "", "then = \"assume\"", then);
    refused("words = [\"white\"]", "words = []", "[[ambiguous]]", "ambiguous 1: needs words and candidates");
    refused(
        "words = [\"white\"]",
        "words = [\"white\", \"White\"]",
        "words = [\"white\"",
        "ambiguous white: words: \"White\" is listed twice",
    );
    let only = "words = [\"bog\"]\ncandidates = [\"bog\"]\nthen = \"assume\"\nusual = \"bog\"";
    let said = "ambiguous bog: words: \"bog\" has one reading only, and that is already its name";
    refused_with(&format!("[[ambiguous]]\n{only}\n"), "[care]", only, said);
}

#[test]
fn no_word_means_two_things_unless_the_file_says_which() {
    let same = "gene fen: \"Fenny\" and \"fenny\" are the same name";
    refused("aliases = [\"fenny\"]", "aliases = [\"fenny\", \"Fenny\"]", "[[gene]]\nid = \"fen\"", same);
    let plural = "gene fen: aliases: \"fens\" is only the plural of \"Fen\"";
    refused("aliases = [\"fenny\"]", "aliases = [\"fens\"]", "aliases = [\"fens\"]", plural);
    let far = "gene fen: misspellings: \"marshland\" is too far from every name";
    refused("misspellings = [\"fenn\"]", "misspellings = [\"marshland\"]", "misspellings = [\"marshland\"]", far);
    let word = "gene fen: everyday_words: \"swamp\" is none of its names";
    refused("everyday_words = [\"fen\"]", "everyday_words = [\"swamp\"]", "everyday_words = [\"swamp\"]", word);
    let small = "gene fen: aliases: write \"Fenny\" in small letters";
    refused("aliases = [\"fenny\"]", "aliases = [\"Fenny\"]", "aliases = [\"Fenny\"]", small);
    let dots = "gene fen: \"...\" has no letter or digit left when names are compared";
    refused("aliases = [\"fenny\"]", "aliases = [\"...\"]", "[[gene]]\nid = \"fen\"", dots);
    let super_ = "gene mire: two_copies_aliases: \"super-mire\" follows from the rule for 'super'";
    refused("[\"white mire\"]", "[\"super-mire\"]", "two_copies_aliases", super_);
    let het = "gene pale_south: aliases: \"het southern\" follows from the rule for 'het'";
    refused("aliases = [\"southern\"]", "aliases = [\"het southern\"]", "aliases = [\"het southern\"]", het);
    let tag = "gene pale_south: aliases: \"south line\" follows from the line tags";
    refused("aliases = [\"southern\"]", "aliases = [\"south line\"]", "aliases = [\"south line\"]", tag);
    let spelled = "gene pale_south: line_tags: its line tags also spell \"southline\", which means gene:fen";
    refused("aliases = [\"fenny\"]", "aliases = [\"south line\"]", "line_tags = [\"south\"]", spelled);
    let combo = "combo moonlit: with the line tag \"north\" it also spells \"northmoon\", which means gene:fen";
    refused("aliases = [\"fenny\"]", "aliases = [\"north moon\"]", "[[combo]]\nid = \"moonlit\"", combo);
    let two = "gene fen: the word \"moon\" means combo:moonlit, gene:fen: list it in [[ambiguous]]";
    refused("aliases = [\"fenny\"]", "aliases = [\"moon\"]", "[[gene]]\nid = \"fen\"", two);
    let left_out = "allele_pair quag: the word \"white\" means combo:dusk, pair:quag, but its [[ambiguous]] entry leaves out combo:dusk";
    let text = MARSH
        .replace("aliases = [\"quagmire\"]", "aliases = [\"white\"]")
        .replace("name = \"Dusk\"\naliases = []", "name = \"Dusk\"\naliases = [\"white\"]");
    assert!(problems(&text).iter().any(|p| p.ends_with(left_out)), "{:?}", problems(&text));
}

#[test]
fn care_numbers_hold() {
    let order = "care: clutch_size: low 3, default 2, high 9 must be in this order, from 0";
    refused("default = 5", "default = 2", "clutch_size", order);
    refused(
        "low = 3",
        "low = nan",
        "clutch_size",
        "care: clutch_size: low NaN, default 5, high 9 must be in this order",
    );
    refused(
        "high = 9",
        "high = inf",
        "clutch_size",
        "care: clutch_size: low 3, default 5, high inf must be in this order",
    );
    refused("unit = \"eggs\"", "unit = \"days\"", "clutch_size", "care: clutch_size: unit is days; allowed: eggs");
    refused(
        "unit = \"eggs\"",
        "unit = \"dozen\"",
        "clutch_size",
        "care: unknown variant `dozen`, expected one of `g`, `days`",
    );
    refused(
        "clutch_size",
        "clutch_sise",
        "clutch_sise",
        "care: unknown field `clutch_sise`, expected one of `female_first_weight`",
    );
    refused("high = 0.9", "high = 90", "hatch_share", "care: hatch_share: a share is 90; allowed: 0 to 1");
    let months = "care: pairing_months: [13]; allowed: months from 1 to 12, each once, at least one";
    refused("usual = [3]", "usual = [13]", "pairing_months", months);
    refused(
        "usual = [3]",
        "usual = [5]",
        "pairing_months",
        "care: pairing_months: a usual month is missing in 'possible'",
    );
    let row = |celsius: u8, share: f64| {
        format!("[[care.sex_by_temperature]]\ncelsius = {celsius}\nmale_share = {share}\nsource = [\"memory\"]\n")
    };
    let end = "pairing_months = { usual = [3], possible = [3, 4], source = [\"memory\"] }\n";
    let with = |rows: &str| MARSH.replacen(end, &format!("{end}\n{rows}"), 1);
    for (rows, said) in [
        (row(30, 0.5), "is for species without sex chromosomes"),
        (row(30, 0.5) + &row(28, 0.1), "write each temperature once, the coolest first"),
        (row(30, 1.5), "male_share is 1.5; allowed: 0 to 1"),
    ] {
        let found = problems(&with(&rows));
        assert!(found.iter().any(|p| p.contains(&format!("care: sex_by_temperature: {said}"))), "{found:?}");
    }
}

#[test]
fn a_species_word_belongs_to_one_file() {
    let other = MARSH.replace("species = \"marsh_snake\"", "species = \"marsh_two\"");
    let files = [("marsh_snake.toml".to_owned(), MARSH.to_owned()), ("marsh_two.toml".to_owned(), other)];
    let Err(CatalogueError::Invalid(found)) = Catalogue::from_files(&files) else { panic!("must be refused") };
    assert!(
        check::list(&found).contains("marsh_two.toml: meta: the species word \"marsh\" is taken by marsh_snake.toml")
    );
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

/// Entered from trade knowledge, not from the files. Common practice, no source.
#[test]
fn genes_are_inherited_as_the_trade_says() {
    let catalogue = Catalogue::builtin().expect("no mistakes");
    let cases: [(&str, &str, Inheritance, &str, &str); 32] = [
        ("ball python", "clown", Recessive, "het Clown", "Clown"),
        ("ball python", "piebald", Recessive, "het Piebald", "Piebald"),
        ("ball python", "albino", Recessive, "het Albino", "Albino"),
        ("ball python", "desert_ghost", Recessive, "het Desert Ghost", "Desert Ghost"),
        ("ball python", "lavender_albino", Recessive, "het Lavender Albino", "Lavender Albino"),
        ("ball python", "ultramel", Recessive, "het Ultramel", "Ultramel"),
        ("ball python", "genetic_stripe", Recessive, "het Genetic Stripe", "Genetic Stripe"),
        ("ball python", "pastel", IncompleteDominant, "Pastel", "Super Pastel"),
        ("ball python", "mojave", IncompleteDominant, "Mojave", "Super Mojave"),
        ("ball python", "lesser", IncompleteDominant, "Lesser", "Super Lesser"),
        ("ball python", "banana", IncompleteDominant, "Banana", "Super Banana"),
        ("ball python", "enchi", IncompleteDominant, "Enchi", "Super Enchi"),
        ("ball python", "yellow_belly", IncompleteDominant, "Yellow Belly", "Ivory"),
        ("ball python", "cinnamon", IncompleteDominant, "Cinnamon", "Super Cinnamon"),
        ("ball python", "pinstripe", Dominant, "Pinstripe", "Super Pinstripe"),
        ("corn", "amel", Recessive, "het Amel", "Amel"),
        ("corn", "anery", Recessive, "het Anery", "Anery"),
        ("corn", "hypo", Recessive, "het Hypo", "Hypo"),
        ("corn", "motley", Recessive, "het Motley", "Motley"),
        ("corn", "tessera", Dominant, "Tessera", "Super Tessera"),
        ("hognose", "albino", Recessive, "het Albino", "Albino"),
        ("hognose", "axanthic", Recessive, "het Axanthic", "Axanthic"),
        ("hognose", "toffeebelly", Recessive, "het Toffeebelly", "Toffeebelly"),
        ("hognose", "anaconda", IncompleteDominant, "Anaconda", "Superconda"),
        ("leopard gecko", "tremper", Recessive, "het Tremper Albino", "Tremper Albino"),
        ("leopard gecko", "blizzard", Recessive, "het Blizzard", "Blizzard"),
        ("leopard gecko", "eclipse", Recessive, "het Eclipse", "Eclipse"),
        ("leopard gecko", "mack_snow", IncompleteDominant, "Mack Snow", "Super Snow"),
        ("leopard gecko", "enigma", Dominant, "Enigma", "Super Enigma"),
        ("boa", "anery", Recessive, "het Anery", "Anery"),
        ("boa", "albino_kahl", Recessive, "het Albino (Kahl)", "Albino (Kahl)"),
        ("boa", "jungle", IncompleteDominant, "Jungle", "Super Jungle"),
    ];
    for (species, id, mode, one, two) in cases {
        let species = catalogue.get(catalogue.by_name(species).expect("a species word"));
        let gene = species.gene(species.gene_by_id(id).unwrap_or_else(|| panic!("{} has {id}", species.name())));
        assert_eq!(gene.entry.inheritance, mode, "{} {id}", species.name());
        assert_eq!(gene.label(1), one, "{} {id}", species.name());
        // Two copies of a dominant look like one; the trade has no settled label for them.
        if mode != Dominant {
            assert_eq!(gene.label(2), two, "{} {id}", species.name());
        }
    }
    // Alleles of one locus. Common practice, no source.
    for (species, a, b) in [
        ("ball python", "mojave", "lesser"),
        ("ball python", "cinnamon", "black_pastel"),
        ("ball python", "albino", "candy"),
        ("corn", "motley", "stripe"),
        ("corn", "amel", "ultra"),
    ] {
        let species = catalogue.get(catalogue.by_name(species).expect("a species word"));
        let locus = |id| species.gene(species.gene_by_id(id).unwrap_or_else(|| panic!("{id}"))).locus;
        assert_eq!(locus(a), locus(b), "{a} and {b}");
        assert!(locus(a).is_some());
    }
}

#[test]
fn a_folder_of_ones_own_is_checked_and_replaces_or_adds() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("catalogues");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a folder for the test");
    let write = |name: &str, text: &str| std::fs::write(folder.join(name), text).expect("a file for the test");
    write("marsh_snake.toml", MARSH);
    write("notes.txt", "not a catalogue");
    let catalogue = Catalogue::with_folder(&folder).expect("a good file is taken");
    assert_eq!(catalogue.species().len(), BUILTIN.len() + 1);
    assert!(catalogue.by_name("marsh snake").is_some());
    // A rule that needs more than the shape: a source that nobody cited.
    let boa = BUILTIN.iter().find(|(name, _)| *name == "boa.toml").expect("the boa").1;
    write("boa.toml", &boa.replacen("\"booth2011\"", "\"booth2012\"", 1));
    let error = Catalogue::with_folder(&folder).expect_err("the boa of the folder is broken").to_string();
    assert!(error.starts_with("boa.toml:"), "{error}");
    write("boa.toml", boa);
    assert_eq!(Catalogue::with_folder(&folder).expect("mended").species().len(), BUILTIN.len() + 1);
    let gone = Catalogue::with_folder(&folder.join("nowhere")).expect_err("there is no such folder").to_string();
    assert!(gone.contains("nowhere") && gone.contains("give a folder"), "{gone}");
}
