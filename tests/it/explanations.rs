//! Explanations: every topic is fit to be pinned, every gene has a card, everyday questions find them, and a community's
//! own words are taken or refused with the draft given back.

use std::collections::BTreeSet;
use std::path::Path;

use hatchward::conversation::Talk;
use hatchward::explanations::own::aliases::{Against, Clash};
use hatchward::explanations::own::draft::{Draft, MOST_TEXT, Part, Rules, Wrong};
use hatchward::explanations::own::file::{export, import};
use hatchward::explanations::own::history::{By, MOST_KEPT};
use hatchward::explanations::own::{MOST_ALIASES, Own};
use hatchward::explanations::show::{MOST_CHARACTERS, MOST_WITH_EXAMPLE, mark};
use hatchward::explanations::things::name;
use hatchward::explanations::topic::{COMMON_PRACTICE, Figure, Topic};
use hatchward::explanations::{BUILTIN, Explanations, Spoken, builtin};
use hatchward::reading::{Context, Reader};
use hatchward::reply::{Kind, Reply};
use hatchward::species::show::{self, Entry};
use hatchward::species::{Catalogue, GeneId, SpeciesId};
use proptest::prelude::*;

use crate::member::Chat;

fn english() -> &'static Spoken {
    builtin().expect("the explanations that come with the program are valid").spoken("en")
}

fn talk() -> Talk<'static> {
    let chat = Chat::new();
    Talk::new(&chat.catalogue, &chat.reader, None)
}

fn explained(question: &str) -> Reply {
    talk().explain(question)
}

fn against() -> Against<'static> {
    let chat = Chat::new();
    Against { catalogue: &chat.catalogue, reader: &chat.reader, spoken: english() }
}

fn card(key: &str, of: &str) -> Reply {
    let (talk, id) = (talk(), species(key));
    let entry = show::find(&Chat::new().catalogue, of).into_iter().find(|e| e.0 == id).expect("a name").1;
    talk.desk().expect("explanations").card(Chat::new().catalogue.get(id), entry)
}

fn species(key: &str) -> SpeciesId {
    Chat::new().catalogue.by_name(key).expect("a species of the program")
}

// ---- Topics

#[test]
fn every_file_of_the_folder_is_compiled_in() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("config/explanations");
    let mut there = BTreeSet::new();
    for language in std::fs::read_dir(&folder).expect("the folder is there").flatten() {
        let Ok(files) = std::fs::read_dir(language.path()) else { continue };
        for file in files.flatten() {
            let (language, file) = (language.file_name(), file.file_name());
            there.insert(format!("{}/{}", language.to_string_lossy(), file.to_string_lossy()));
        }
    }
    let listed: BTreeSet<String> = BUILTIN.iter().map(|f| f.0.to_owned()).collect();
    assert_eq!(there, listed);
}

#[test]
fn the_explanations_are_valid_and_there_are_many() {
    if let Err(error) = builtin() {
        panic!("{error}");
    }
    assert!(english().topics().count() >= 42);
}

#[test]
fn every_topic_fits_and_its_example_recomputes() {
    let no_figure = &english().language.phrases.no_figure;
    for topic in english().topics() {
        let reply = explained(&topic.title);
        assert_eq!(reply.understood, topic.title, "the title of {} leads to it", topic.id);
        let text = reply.text();
        assert!(!text.contains(['{', '}']), "{}: a figure is left open:\n{text}", topic.id);
        assert!(!text.contains(no_figure.as_str()), "{}: a figure cannot be worked out:\n{text}", topic.id);
        assert!(reply.length() <= MOST_WITH_EXAMPLE, "{}: {} characters\n{text}", topic.id, reply.length());
        assert!(!text.contains(" …"), "{}: something is cut:\n{text}", topic.id);
        let computed = !reply.rows.is_empty()
            || reply.answer.iter().any(|line| ["per egg", "not possible"].iter().any(|odds| line.contains(odds)));
        assert!(computed, "{}: the example gives no odds:\n{text}", topic.id);
        assert!(reply.unread.is_empty(), "{}: {:?} is not read", topic.id, reply.unread);
    }
}

#[test]
fn a_topic_without_its_example_is_short_enough_for_a_phone() {
    let talk = talk();
    let desk = talk.desk().expect("explanations");
    let lengths = english().topics().map(|topic| (&topic.id, desk.text(topic).length()));
    let long: Vec<_> = lengths.filter(|(_, length)| *length > MOST_CHARACTERS).collect();
    assert!(long.is_empty(), "longer than {MOST_CHARACTERS}: {long:?}");
}

#[test]
fn an_example_is_read_without_anything_taken_for_granted_but_its_species() {
    let chat = Chat::new();
    for topic in english().topics() {
        let place = chat.catalogue.by_name(&topic.species);
        assert!(place.is_some(), "{}: no species is called {}", topic.id, topic.species);
        let asks = topic.figures.values().filter_map(|f| if let Figure::Chance(ask) = f { Some(ask) } else { None });
        for ask in asks.chain([&topic.example.ask]) {
            let read = chat.reader.read(&chat.catalogue, ask, Context { species: place, ..Context::default() });
            assert!(read.questions.is_empty() && read.unread.is_empty(), "{}: {ask}: {read:?}", topic.id);
        }
    }
}

/// Every figure of every text, as shown. The right-hand sides are known: Mendel 1866 for the shares, arithmetic for
/// clutches (1 - (1 - p)^n, mixed over the parents), Wright 1922 for inbreeding.
#[test]
fn figures_are_those_that_are_known() {
    for (topic, figures) in [
        ("het", &["1/4 (25 %) per egg"][..]),
        ("fifty_percent_het", &["chance of 1/4 (25 %)"]),
        ("double_het", &["1/16 (6.25 %)"]),
        ("triple_het", &["1/16 (6.25 %)", "1/64 (1.56 %)", "1/4 (25 %) per egg"]),
        ("project_phases", &["1/16 (6.25 %) per egg", "gives 1/8 (12.5 %)", "gives 1/4 (25 %)"]),
        ("visible_first", &["1/16 (6.25 %)", "1/32 (3.13 %)"]),
        ("proving_out", &["chance of 63/64 (98.4 %)", "it is 82.2 %"]),
        ("per_egg", &["82.2 %", "36.5 %"]),
        ("buy_or_raise", &["21/32 (65.6 %)", "63/64 (98.4 %)"]),
        (
            "inbreeding",
            &["siblings it is 1/4 (25 %)", "young 1/4 (25 %)", "give 1/8 (12.5 %)", "cousins 1/16 (6.25 %)"],
        ),
        ("female_weight", &["1,300 to 1,800 g", "2.5 to 4 years", "30 to 45 %"]),
        ("quarantine", &["90 to 180 days"]),
        ("male_makers", &["19/40 (47.5 %)"]),
        ("sex_linked", &["1/4 (25 %) per egg"]),
    ] {
        let title = &english().topic(topic).expect("a topic of the program").title;
        let text = explained(title).text();
        for figure in figures {
            assert!(text.contains(figure), "{topic}: {figure:?} should stand in\n{text}");
        }
    }
}

#[test]
fn a_changed_catalogue_changes_the_figures() {
    let text = include_str!("../../config/species/ball_python.toml");
    let changed = text.replace("recombination = 0.05", "recombination = 0.1");
    assert_ne!(text, changed);
    let files = [("ball_python.toml".to_owned(), changed)];
    let catalogue = Catalogue::from_files(&files).expect("still valid");
    let reader = Reader::new(&catalogue).expect("the words are valid");
    let mut talk = Talk::new(&catalogue, &reader, None);
    // (1 - r) / 2 with r = 0.1; computed.
    assert!(talk.explain("male makers").text().contains("9/20 (45 %)"));
    // Corn snakes are gone: what cannot be worked out is said to be so.
    let weight = talk.explain("how heavy should a female be").text();
    assert!(weight.contains("cannot be worked out"), "{weight}");
}

#[test]
fn claims_without_a_publication_say_so_to_the_reader() {
    for topic in english().topics() {
        let about_the_bot = ["how_to_ask", "limits"].contains(&topic.id.as_str());
        assert_eq!(topic.claims.is_empty(), about_the_bot, "{} claims facts without a source", topic.id);
        let text = explained(&topic.title).text();
        if topic.claims.iter().any(|c| c.source == COMMON_PRACTICE) {
            assert!(text.contains("common practice, nothing published"), "{}:\n{text}", topic.id);
        }
        for claim in topic.claims.iter().filter(|c| c.source != COMMON_PRACTICE) {
            assert!(text.contains(&claim.source), "{}: {} is not shown", topic.id, claim.source);
        }
    }
}

/// Bounds of our own, no source: a sentence has at most 28 words, those of a topic 16 on average.
#[test]
fn every_topic_reads_easily_has_a_question_that_finds_it_and_links_that_exist() {
    for topic in english().topics() {
        let text = topic.paragraphs.join(" ");
        let sentences: Vec<usize> = text
            .split_inclusive(['.', '!', '?'])
            .map(|s| s.split_whitespace().filter(|w| w.chars().any(char::is_alphanumeric)).count())
            .filter(|n| *n > 0)
            .collect();
        let longest = sentences.iter().max().copied().unwrap_or_default();
        assert!(longest <= 28, "{}: a sentence of {longest} words", topic.id);
        let mean = sentences.iter().sum::<usize>() / sentences.len().max(1);
        assert!(mean <= 16, "{}: sentences of {mean} words on average", topic.id);
        assert!(!topic.aliases.is_empty(), "{}: no question leads to it", topic.id);
        for alias in &topic.aliases {
            let found = english().find(alias);
            assert_eq!(found.first().map(|f| f.0.id.as_str()), Some(topic.id.as_str()), "{alias:?}");
        }
        for link in &topic.see_also {
            assert!(english().topic(link).is_some(), "{} leads to {link:?}, which is not there", topic.id);
        }
    }
}

#[test]
fn topics_on_harm_say_it_first() {
    for topic in
        ["wobble", "lemon_frost", "lost_young", "harmful_supers", "desert_females", "egg_binding", "quarantine"]
    {
        let title = &english().topic(topic).expect("a topic of the program").title;
        assert!(explained(title).text().starts_with("Caution: "), "{topic}");
    }
}

// ---- Mistakes in a topic's file

const HEAD: &str = "+++\ntitle = \"Test\"\naliases = [\"testing\"]\nsee_also = []\n\n[example]\ntells = \"Two animals.\"\n\
                    ask = \"het clown x clown\"\n\n[[claim]]\nsays = \"x\"\nsource = \"Mendel 1866, Verh.\"\n+++\n";

fn body(with: &str) -> String {
    format!("{with} {}", "These are ten plain words that stand in a row. ".repeat(9))
}

fn faults(text: &str) -> String {
    let found = Topic::read("en/test.md", "en", text).expect_err("a mistake is there");
    hatchward::species::check::list(&found)
}

#[test]
fn a_bad_topic_is_named_with_its_line() {
    assert!(Topic::read("en/test.md", "en", &format!("{HEAD}{}", body("All is well."))).is_ok());
    for (text, said) in [
        ("no head".to_owned(), "en/test.md:1: file: begins with a line +++"),
        (HEAD.replace("see_also", "sea_also") + &body(""), "en/test.md:4: head: unknown field"),
        (HEAD.replace("[\"testing\"]", "[]") + &body(""), "en/test.md:3: aliases: needs at least one"),
        (HEAD.replace("see_also = []", "see_also = [\"test\"]") + &body(""), "en/test.md:4: see_also"),
        (HEAD.replace("Mendel 1866, Verh.", "somebody") + &body(""), "en/test.md:10: source: \"somebody\" is to be"),
        (
            HEAD.replace("[[claim]]\nsays = \"x\"\nsource = \"Mendel 1866, Verh.\"\n", "") + &body(""),
            "claim: none is given",
        ),
        (format!("{HEAD}\n{}", body("It is 25 % then.")), ""),
        (format!("{HEAD}\n{}", body("It is 1/4 then.")), "en/test.md:15: text: \"1/4\" is a number typed by hand"),
        (format!("{HEAD}{}", body("It is {share} then.")), "en/test.md:14: text: {share} has no recipe"),
        (format!("{HEAD}{}", body("It is *bold* then.")), "en/test.md:14: text: \"*\" is mark-up"),
        (format!("{HEAD}Too short."), "en/test.md:14: text: has 2 words"),
        (format!("{HEAD}{}", "and so on ".repeat(40)), "a sentence has 120 words"),
        (
            HEAD.replace("[[claim]]", "[numbers]\nx = \"kin: uncles\"\n\n[[claim]]") + &body("{x}"),
            "en/test.md:11: numbers: \"kin: uncles\" is no kinship",
        ),
    ] {
        if said.is_empty() {
            assert!(Topic::read("en/test.md", "en", &text).is_ok(), "labels of the trade are words");
        } else {
            let list = faults(&text);
            assert!(list.contains(said), "{said:?} should be said, but was:\n{list}");
        }
    }
}

#[test]
fn links_that_lead_nowhere_and_questions_claimed_twice_are_found() {
    let words = ("en/words.toml", include_str!("../../config/explanations/en/words.toml"));
    let one = format!("{}{}", HEAD.replace("see_also = []", "see_also = [\"nothing\"]"), body(""));
    let two = format!("{}{}", HEAD.replace("\"Test\"", "\"Another\""), body(""));
    let error = Explanations::from_files(&[words, ("en/one.md", &one), ("en/two.md", &two)]).expect_err("two mistakes");
    let list = error.to_string();
    assert!(list.contains("en/one.md: see_also: there is no topic \"nothing\""), "{list}");
    assert!(
        list.contains("en/two.md: aliases: \"testing\" has the words of a question that leads to \"one\""),
        "{list}"
    );
    let missing = Explanations::from_files(&[("de/one.md", &two)]).expect_err("no words").to_string();
    assert!(missing.contains("no words.toml"), "{missing}");
    assert!(missing.contains("no English words"), "{missing}");
}

// ---- Languages

#[test]
fn another_language_is_a_folder_and_falls_back_topic_by_topic() {
    let words = include_str!("../../config/explanations/en/words.toml");
    // Common practice of the language, no source: German writes a comma in decimals and no plural s.
    let german = words
        .replace("language = \"en\"", "language = \"de\"")
        .replace(
            "days = { one = \"{n} day\", other = \"{n} days\" }",
            "days = { one = \"{n} Tag\", other = \"{n} Tage\" }",
        )
        .replace(
            "years = { one = \"{n} year\", other = \"{n} years\" }",
            "years = { one = \"{n} Jahr\", other = \"{n} Jahre\" }",
        )
        .replace("range = \"{low} to {high}\"", "range = \"{low} bis {high}\"");
    let topic = HEAD
        .replace("\"Test\"", "\"Doppelt het\"")
        .replace("[\"testing\"]", "[\"doppelt het erklärt\"]")
        .replace("[[claim]]", "[numbers]\nboth = \"odds on a clown pied from dh clown pied x dh clown pied\"\nage = \"care: ball_python.female_first_age\"\n\n[[claim]]")
        + &body("Beide zeigen sich mit {both} je Ei. Die Mutter ist {age} alt.");
    let mut files = BUILTIN.to_vec();
    files.extend([("de/words.toml", german.as_str()), ("de/double_het.md", &topic)]);
    let all = Explanations::from_files(&files).expect("a second language is valid");
    let spoken = all.spoken("de-AT");
    assert_eq!(spoken.language.code(), "de");
    assert_eq!(all.spoken("fr").language.code(), "en");
    let chat = Chat::new();
    let mut talk = Talk::new(&chat.catalogue, &chat.reader, None).speaking(spoken);
    let reply = talk.explain("doppelt het erklärt").text();
    assert!(reply.contains("1/16 (6,25 %) je Ei") && reply.contains("2,5 bis 4 Jahre"), "{reply}");
    assert!(talk.explain("what is a slug").text().starts_with("Slugs: eggs that are not fertile"), "falls back");
    assert_eq!(spoken.language.count(1.0, "days"), "1 Tag");
    assert_eq!(all.spoken("en").language.count(1.0, "days"), "1 day");
    assert_eq!(all.spoken("en").language.count(1.5, "days"), "1.5 days");
}

// ---- Everyday questions

struct Asked {
    question: &'static str,
    /// Titles of topics or cards, one of which is shown or offered.
    wanted: Vec<String>,
    /// Whether a member in a talk means something else first, and only `explain` leads here.
    only_explain: bool,
}

fn questions() -> Vec<Asked> {
    let lines = include_str!("explanations/questions.tsv").lines();
    lines
        .map(|line| {
            let (question, wanted) = line.split_once('\t').expect("question, tab, topics");
            let only_explain = question.starts_with('!');
            let title = |id: &str| english().topic(id).map_or_else(|| id.to_owned(), |t| t.title.clone());
            let wanted = wanted.split('|').map(|w| title(w.trim())).collect();
            Asked { question: question.trim_start_matches('!'), wanted, only_explain }
        })
        .collect()
}

fn found(reply: &Reply, wanted: &[String]) -> bool {
    let offered = reply.choices.len() <= 5;
    wanted.iter().any(|w| reply.understood == *w || offered && reply.choices.iter().any(|c| c.contains(w.as_str())))
}

#[test]
fn everyday_questions_find_their_topic() {
    let all = questions();
    assert!(all.len() >= 150, "{} questions", all.len());
    let missed: Vec<String> = all
        .iter()
        .filter_map(|asked| {
            let reply = explained(asked.question);
            (!found(&reply, &asked.wanted))
                .then(|| format!("{} -> {}{:?}", asked.question, reply.understood, reply.choices))
        })
        .collect();
    assert!(missed.is_empty(), "{} of {}:\n{}", missed.len(), all.len(), missed.join("\n"));
}

#[test]
fn a_member_who_asks_in_the_chat_gets_the_same() {
    let missed: Vec<String> = questions()
        .iter()
        .filter(|asked| !asked.only_explain)
        .filter_map(|asked| {
            let reply = talk().turn(asked.question).unwrap_or_default();
            (!found(&reply, &asked.wanted)).then(|| format!("{} -> {}", asked.question, reply.text()))
        })
        .collect();
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

#[test]
fn talk_that_asks_nothing_is_not_explained() {
    let lines = [
        include_str!("../corpus/other_utterances.jsonl"),
        include_str!("../corpus/second_hand_utterances.jsonl"),
        include_str!("../corpus/third_hand_utterances.jsonl"),
    ];
    let mut n = 0;
    for line in lines.iter().flat_map(|l| l.lines()).filter(|l| l.contains("\"small_talk\"")) {
        let labelled: serde_json::Value = serde_json::from_str(line).expect("a labelled message");
        let said = labelled["text"].as_str().expect("a text");
        // What is taken for a question outside the job is refused; nothing is explained.
        let reply = talk().turn(said).filter(|r| r.kind != Kind::Refusal);
        assert_eq!(reply.map(|r| r.text()), None, "{said:?}");
        n += 1;
    }
    assert!(n > 50, "{n} messages of small talk");
}

#[test]
fn when_two_fit_both_are_offered_and_either_is_taken() {
    let mut talk = talk();
    let reply = talk.turn("explain ghost").expect("a question back");
    assert!(reply.choices.len() >= 3, "{}", reply.text());
    let second = talk.turn("the second").expect("the second is shown");
    assert!(reply.choices[1].ends_with(second.understood.split(" (").next().unwrap_or("?")), "{}", second.text());
    assert_eq!(talk.turn("the second"), None, "an offer holds for one answer");
    talk.turn("explain ghost");
    assert!(talk.turn("corn snake").is_some_and(|r| r.understood == "Ghost (Corn snake)"));
    // The place's species settles it.
    let chat = Chat::new();
    let mut corn = Talk::new(&chat.catalogue, &chat.reader, Some(species("corn_snake")));
    assert!(corn.turn("explain ghost").is_some_and(|r| r.understood == "Ghost (Corn snake)"));
}

#[test]
fn an_explanation_leaves_the_pairing_under_discussion_alone() {
    let mut talk = talk();
    talk.turn("1.0 pastel het clown x 0.1 clown, 7 eggs?");
    assert!(talk.turn("what does 66 het mean").is_some_and(|r| r.understood.starts_with("Possible het")));
    assert!(talk.turn("is spider bad").is_some_and(|r| r.understood == "Wobble genes"));
    assert!(talk.turn("and with 9 eggs?").is_some_and(|r| r.understood.contains("9 eggs")));
    // Within a pairing "why no pieds" is about that pairing.
    talk.turn("pied x normal, 6 eggs");
    let why = talk.turn("why no pieds").map(|r| r.text()).unwrap_or_default();
    assert!(why.contains("Piebald: not possible from this pairing"), "{why}");
}

#[test]
fn nothing_that_fits_is_said_with_what_there_is() {
    let reply = explained("zzyzx blorp");
    assert!(reply.answer[0].starts_with("I have no explanation") && reply.choices.len() >= 3, "{}", reply.text());
    assert!(explained("").choices.len() >= 3);
}

// ---- Cards

#[test]
fn every_entry_of_every_catalogue_has_a_card_that_fits() {
    let talk = talk();
    let desk = talk.desk().expect("explanations");
    let mut n = 0;
    for species in desk.catalogue.species() {
        let file = species.file();
        let genes = (0..).take(species.genes().len()).map(|g| Entry::Gene(GeneId(g)));
        let combos = (0..file.combo.len()).map(Entry::Combo);
        for entry in genes.chain(combos).chain((0..file.allele_pair.len()).map(Entry::Pair)) {
            let card = desk.card(species, entry);
            let text = card.text();
            assert_eq!(card.understood, format!("{} ({})", name(species, entry), species.name()), "{text}");
            assert!(card.length() <= MOST_WITH_EXAMPLE, "{} characters\n{text}", card.length());
            assert!(!text.contains(" …") && !text.contains(['{', '}']), "{text}");
            assert!(text.contains("How this is known: "), "{text}");
            n += 1;
        }
    }
    assert!(n > 400, "{n} cards");
}

#[test]
fn a_card_says_harm_first_with_grade_and_source() {
    let text = card("ball_python", "spider").text();
    assert!(text.starts_with("Caution: Spider: wobble"), "{text}");
    assert!(text.contains("(published: Starck JM et al. 2022, PLoS ONE 17: e0262788)"), "{text}");
    assert!(text.contains("do not pair Spider with Champagne"), "{text}");
    let cinnamon = explained("cinnamon").text();
    assert!(cinnamon.starts_with("Caution: Cinnamon (two copies): duckbill"), "{cinnamon}");
    assert!(cinnamon.contains("keepers report, nothing published"), "{cinnamon}");
    let frost = card("leopard_gecko", "lemon frost").text();
    assert!(frost.starts_with("Caution: "), "{frost}");
}

#[test]
fn examples_of_cards_go_against_no_caution() {
    // Desert goes through males; a lemon frost is not bred at all; a caramel albino is not made.
    let desert = card("ball_python", "desert").text();
    assert!(desert.contains("♂ Desert × ♀ normal-looking"), "{desert}");
    let frost = card("leopard_gecko", "lemon frost");
    assert!(frost.rows.is_empty(), "{}", frost.text());
    let caramel = card("ball_python", "caramel albino").text();
    assert!(caramel.contains("het Caramel Albino × normal-looking"), "{caramel}");
    let eight_ball = card("ball_python", "eight ball");
    assert!(eight_ball.rows.is_empty(), "{}", eight_ball.text());
}

#[test]
fn two_genes_are_set_side_by_side() {
    insta::assert_snapshot!(explained("whats the difference between pastel and clown").text(), @r#"
    Pastel and Clown (Ball python)
    Pastel: Incomplete dominant: one copy shows (Pastel), and two copies look different (Super Pastel). Line names (lemon, citrus and so on) are the same gene.
    Clown: Recessive: it shows with two copies. One copy is carried unseen (het).
    Pastel and Clown are separate genes. An animal can have both, and they are handed on independently.
    One of each as parents:
    Ball python: Pastel × Clown
      1/2  50 %  normal-looking, het Clown
      1/2  50 %  Pastel, het Clown
    How this is known: published: Garcia-Elfring A et al. 2025, Pigment Cell and Melanoma Research 38: e13215.
    "#);
    let alleles = explained("difference between lesser and mojave").text();
    assert!(alleles.contains("two versions of one place"), "{alleles}");
    let lines = explained("difference between vpi and tsk axanthic").text();
    assert!(lines.contains("not"), "{lines}");
}

#[test]
fn a_combination_is_taken_apart() {
    insta::assert_snapshot!(explained("what genes are in a raptor").text(), @r#"
    RAPTOR (Leopard gecko)
    RAPTOR is one animal with visual Eclipse and visual Tremper Albino. It is not a gene of its own: each part is handed on by itself.
    Eclipse and Tremper Albino: Recessive: it shows with two copies. One copy is carried unseen (het).
    The first animals were also patternless stripe, line bred; many sold as raptor are not.
    Bred to a normal:
    Leopard gecko: Eclipse, Tremper Albino × normal-looking
      all  100 %  normal-looking, het Eclipse, het Tremper Albino
    How this is known: trade knowledge, nothing published.
    "#);
}

// ---- A community's own words

const BY: By = By { author: 7, at_unix_s: 1_700_000_000 };

fn draft(text: &str) -> Draft {
    Draft { text: text.to_owned(), ..Draft::default() }
}

#[test]
fn a_draft_that_tricks_calls_hides_or_leads_away_is_given_back_whole() {
    let long = "a".repeat(MOST_TEXT + 1);
    for (text, fault) in [
        ("", "nothing is written"),
        (" \n \u{a0}", "nothing is written"),
        (long.as_str(), "4001 characters, 4000 are allowed; take out 1"),
        ("hello @everyone", "\"@everyone\" could call people"),
        ("hello @here and ＠everyone", "could call people"),
        ("ask <@123456>", "\"<@123456>\" could call people"),
        ("ask <@&99> in <#12>", "could call people"),
        ("see </odds:1> <t:1700000000>", "could call people"),
        ("mail me@example", "could call people"),
        ("a `code` fence", "mark-up"),
        ("```\ncode", "mark-up"),
        ("# Heading", "mark-up"),
        ("> quoted", "mark-up"),
        ("||hidden||", "mark-up"),
        ("[click](here)", "mark-up"),
        ("-# small", "mark-up"),
        ("ze\u{200b}ro", "unseen sign (U+200B) after \"ze\""),
        ("turn \u{202e}round", "unseen sign (U+202E)"),
        ("soft\u{ad}hyphen", "unseen sign (U+00AD)"),
        ("tag\u{e0041}", "unseen sign (U+E0041)"),
        ("blank\u{3164}letter", "unseen sign (U+3164)"),
        ("z\u{300}\u{301}\u{302}\u{303}", "accents"),
        ("go to https://example.org now", "is a link"),
        ("go to example.com", "is a link"),
        ("www.example.test", "is a link"),
        ("about {share} of them", "{share} is no figure of this topic"),
    ] {
        let typed = draft(text);
        let refused = typed.clone().check(Rules::default(), []).expect_err(text);
        assert_eq!(refused.draft, typed, "nothing typed is lost");
        assert!(refused.to_string().contains(fault), "{text:?}: {fault:?} should be said, but was: {refused}");
    }
    // Where the place allows links, plain https ones alone.
    let links = Rules { links: true };
    assert!(draft("see https://example.org/page").check(links, []).is_ok());
    assert!(draft("see http://example.org").check(links, []).is_err());
    assert!(draft("[see](https://example.org)").check(links, []).is_err());
    let place = draft("first\nsecond @here").check(Rules::default(), []).expect_err("a call");
    assert!(matches!(&place.faults[..], [(Part::Line(2), Wrong::Call(_))]), "{place:?}");
}

#[test]
fn honest_drafts_are_taken() {
    for text in [
        "A het carries *one* copy.\n- it looks normal\n- it hands the gene on",
        "Ein Het trägt eine Kopie. ¿Qué es? 66 % het, 1/4, 1:3, 1.0 x 0.1 🐍👩\u{200d}🔬",
        "Ask the others, e.g. on Friday at 8 p.m. It costs 3.50.",
        "C'est une copie; naïve façade.",
    ] {
        let wording = draft(text).check(Rules::default(), []).unwrap_or_else(|refused| panic!("{text:?}: {refused}"));
        assert_eq!(wording.draft().text, text);
    }
    let titled = Draft { title: Some("Our hets".into()), questions: vec!["our hets".into()], text: "One copy.".into() };
    assert!(titled.check(Rules::default(), []).is_ok());
    let bad = Draft { title: Some("x".repeat(61)), questions: vec![String::new()], text: "One copy.".into() };
    assert_eq!(bad.check(Rules::default(), []).expect_err("two faults").faults.len(), 2);
}

#[test]
fn an_override_changes_the_words_and_never_the_figures() {
    let topic = english().topic("double_het").expect("a topic of the program");
    let figures = || topic.figures.keys().map(String::as_str);
    let wording = draft("In our group a DH hits both with {both}.").check(Rules::default(), figures()).expect("fine");
    let mut own = Own::default();
    assert_eq!(own.write("double_het", wording, BY), Ok(1));
    let chat = Chat::new();
    let shown =
        |own: &Own| Talk::new(&chat.catalogue, &chat.reader, None).with_own(own).explain("what is a double het");
    let reply = shown(&own);
    assert!(reply.text().contains("In our group a DH hits both with 1/16 (6.25 %)."), "{}", reply.text());
    assert!(reply.rows.iter().any(|r| r.fraction == "1/16"), "the example is still worked out");
    let before = mark(&reply);
    // Versions: a second one, back to the first, and back to ours.
    let second = draft("Shorter.").check(Rules::default(), figures()).expect("fine");
    assert_eq!(own.write("double_het", second, BY), Ok(2));
    assert_ne!(mark(&shown(&own)), before);
    assert_eq!(own.revert("double_het", 1, BY), Ok(3));
    assert_eq!(mark(&shown(&own)), before, "the same words have the same mark, so a post is not edited");
    assert_eq!(own.withdraw("double_het", BY), Ok(4));
    assert!(shown(&own).text().contains("does not") || shown(&own).text().contains("do not wait for each other"));
    let history = own.history("double_het").expect("four versions");
    assert_eq!(history.versions().iter().map(|v| v.number).collect::<Vec<_>>(), [1, 2, 3, 4]);
    assert!(own.revert("double_het", 9, BY).is_err() && own.revert("het", 1, BY).is_err());
}

#[test]
fn old_versions_are_let_go_of_and_numbers_go_on() {
    let mut own = Own::default();
    for n in 1..=MOST_KEPT + 5 {
        let wording = draft(&format!("Version {n}.")).check(Rules::default(), []).expect("fine");
        assert_eq!(own.write("het", wording, BY).map(|v| v as usize), Ok(n));
    }
    let kept = own.history("het").expect("versions").versions();
    assert_eq!((kept.len(), kept[0].number), (MOST_KEPT, 6));
}

#[test]
fn a_topic_of_ones_own_is_found_by_its_questions() {
    let rules = Draft {
        title: Some("Rules of our table".into()),
        questions: vec!["table rules".into(), "what are the rules of the table".into()],
        text: "Be kind.\nName the line.".into(),
    };
    let mut own = Own::default();
    own.write("table_rules", rules.check(Rules::default(), []).expect("fine"), BY).expect("room");
    let chat = Chat::new();
    let mut talk = Talk::new(&chat.catalogue, &chat.reader, None).with_own(&own);
    let reply = talk.explain("what are the table rules");
    assert_eq!((reply.understood.as_str(), reply.answer.len()), ("Rules of our table", 2));
}

#[test]
fn short_names_are_checked_against_everything_they_may_mean() {
    let check = |word: &str, means: &str| against().check(word, means, species("ball_python"));
    assert!(check("sunny", "desert ghost").is_err(), "an everyday word");
    assert!(check("zorka", "pastel desert ghost").is_ok());
    assert!(check("project Q", "het clown").is_ok());
    let clash = |word: &str| check(word, "desert ghost").expect_err(word);
    assert!(matches!(clash("DG")[..], [Clash::Name { .. }]), "{:?}", clash("DG"));
    assert!(matches!(clash("snow")[0], Clash::Name { .. }), "of another species as well");
    assert!(matches!(clash("corn snake")[0], Clash::Species(_)), "{:?}", clash("corn snake"));
    assert!(matches!(clash("het")[..], [Clash::Steers(_), ..]), "{:?}", clash("het"));
    assert!(matches!(clash("window")[..], [Clash::Everyday(_)]));
    assert!(clash("nidovirus").iter().any(|c| matches!(c, Clash::Topic { .. })), "{:?}", clash("nidovirus"));
    assert!(matches!(clash("x")[..], [Clash::Empty, ..]));
    assert!(clash("a/b").contains(&Clash::Sign('/')));
    assert!(clash("1450").contains(&Clash::Number("1450".into())));
    assert!(clash(&"z".repeat(40)).contains(&Clash::TooLong));
    assert!(clash("zo\u{200b}rka").contains(&Clash::Sign('\u{200b}')));
    for means in ["", "no such gene", "axanthic", "clown x pied", "what is het", "normal", "66 het"] {
        let found = check("zorka", means).expect_err(means);
        assert!(matches!(found[..], [Clash::NotRead(..)]), "{means:?}: {found:?}");
    }
}

#[test]
fn a_short_name_is_spelled_out_and_said_aloud() {
    let mut own = Own::default();
    for (word, means) in [("zorka", "pastel desert ghost"), ("project Q", "het clown")] {
        own.add_alias(against().check(word, means, species("ball_python")).expect("free")).expect("room");
    }
    let chat = Chat::new();
    let mut talk = Talk::new(&chat.catalogue, &chat.reader, None).with_own(&own);
    let reply = talk.turn("1.0 Zorka x 0.1 project-q, 6 eggs?").expect("odds");
    assert_eq!(reply.understood, "Ball python: ♂ Pastel, Desert Ghost × ♀ het Clown, 6 eggs");
    assert!(reply.text().contains("\"zorka\" stands for pastel desert ghost here"), "{}", reply.text());
    let plain = Talk::new(&chat.catalogue, &chat.reader, None).turn("1.0 pastel desert ghost x 0.1 het clown, 6 eggs?");
    assert_eq!(plain.expect("odds").rows, reply.rows, "the mathematics is the same");
    assert_eq!(own.spelled_out("zorkas are not project").1.len(), 0, "whole words only");
    assert!(own.remove_alias("ZORKA") && !own.remove_alias("zorka"));
}

#[test]
fn a_place_has_room_for_so_many_short_names() {
    let mut own = Own::default();
    let consonants = "bcdfghklmn".chars().collect::<Vec<_>>();
    for n in 0..MOST_ALIASES {
        let word: String = [n / 100, n / 10 % 10, n % 10].iter().map(|d| consonants[*d]).collect();
        let alias = against().check(&format!("zq{word}"), "clown", species("ball_python")).expect("free");
        own.add_alias(alias).expect("room");
    }
    let more = against().check("zorka", "clown", species("ball_python")).expect("free");
    assert!(own.add_alias(more).expect_err("full").to_string().contains("200 short names already"));
}

fn written() -> Own {
    let mut own = Own::default();
    let topic = english().topic("het").expect("a topic of the program");
    let text = "Our \"het\" is {both}.\nA second line \\ with 'signs' = [x].";
    let wording = Draft { title: Some("Our het".into()), questions: vec!["our het".into()], text: text.into() };
    own.write("het", wording.check(Rules::default(), topic.figures.keys().map(String::as_str)).expect("fine"), BY)
        .expect("room");
    own.withdraw("het", By { author: u64::MAX, at_unix_s: -1 }).expect("it is there");
    own.add_alias(against().check("zorka", "pastel desert ghost", species("ball_python")).expect("free"))
        .expect("room");
    own
}

#[test]
fn what_goes_out_comes_in_again() {
    let own = written();
    let file = export(&own);
    let back = import("words.toml", &file, Rules::default(), against());
    assert!(back.refused.is_empty(), "{:?}\n{file}", back.refused);
    assert_eq!(back.own, own);
    assert_eq!(export(&back.own), file);
    assert_eq!(import("empty.toml", &export(&Own::default()), Rules::default(), against()).own, Own::default());
}

#[test]
fn a_damaged_file_gives_what_is_good_and_names_the_rest_by_line() {
    let good = export(&written());
    let file = good.clone()
        + "\n[[topic]]\nid = \"visual\"\nversion = 1\nauthor = \"5\"\nat_unix_s = 0\ntext = \"hello @everyone\"\n"
        + "\n[[topic]]\nid = \"No Id!\"\nversion = 1\nauthor = \"5\"\nat_unix_s = 0\ntext = \"fine\"\n"
        + "\n[[topic]]\nid = \"slugs\"\nversion = 1\nauthor = \"me\"\nat_unix_s = 0\ntext = \"fine\"\n";
    let read = import("words.toml", &file, Rules::default(), against());
    assert_eq!(read.own, written(), "the good part comes in");
    let first = 1 + good.lines().count();
    let said: Vec<String> = read.refused.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert!(
        said[0].starts_with(&format!("words.toml:{}: topic: visual: line 1: \"@everyone\"", first + 1)),
        "{said:?}"
    );
    assert!(said[1].contains("is no id") && said[2].contains("is no author's id"), "{said:?}");
    for broken in ["", "hatchward_words = 2", "hatchward_words = 1\nx = 3", "\u{0}", "[[alias]]"] {
        let read = import("words.toml", broken, Rules::default(), against());
        assert_eq!((read.own, read.refused.len()), (Own::default(), 1), "{broken:?}");
    }
}

proptest! {
    #[test]
    fn any_text_is_checked_and_what_is_taken_is_clean(text in "\\PC{0,120}", links: bool) {
        match draft(&text).check(Rules { links }, []) {
            Ok(wording) => {
                let kept = wording.draft().text;
                prop_assert!(!kept.trim().is_empty());
                prop_assert!(!kept.contains("@everyone") && !kept.contains('`') && !kept.contains("||"));
            }
            Err(refused) => {
                prop_assert_eq!(&refused.draft.text, &text);
                prop_assert!(!refused.to_string().is_empty());
            }
        }
    }

    #[test]
    fn any_question_is_answered_without_a_panic(question in "\\PC{0,120}") {
        prop_assert!(explained(&question).length() <= 2_000);
    }

    #[test]
    fn any_file_is_read_without_a_panic(text in "\\PC{0,300}") {
        let _ = import("words.toml", &text, Rules::default(), against());
        let _ = Topic::read("en/x.md", "en", &text);
    }
}

// ---- What a place says in any case, and words that are taken over

#[test]
fn cautions_that_are_always_said_go_out_and_come_in_and_change_no_odds() {
    let chat = Chat::new();
    let mut own = Own::default();
    own.say_always("ball_python", "woma").expect("room");
    own.say_always("leopard_gecko", "enigma").expect("room");
    let text = export(&own);
    let back = import("words.toml", &text, Rules::default(), against());
    assert_eq!((&back.own, &back.refused), (&own, &vec![]), "{text}");
    let wrong = import(
        "words.toml",
        "hatchward_words = 1\n\n[[caution]]\ngene = \"griffin\"\nspecies = \"ball_python\"\n",
        Rules::default(),
        against(),
    );
    assert_eq!(wrong.refused.len(), 1);
    assert_eq!(wrong.refused[0].line, Some(3), "{}", wrong.refused[0]);
    let said = "spider champagne het clown x woma super pastel het clown, ball python";
    let (mut plain, mut with) = (talk(), Talk::new(&chat.catalogue, &chat.reader, None).with_own(&own));
    let (plain, with) = (plain.turn(said).expect("odds"), with.turn(said).expect("odds"));
    assert_eq!((&plain.understood, &plain.rows), (&with.understood, &with.rows), "the odds are the same");
    let first: Vec<&String> = with.cautions.iter().take_while(|line| line.contains("Woma")).collect();
    assert!(first.len() == 3 && first.iter().all(|line| !line.starts_with("also")), "{:?}", with.cautions);
    assert!(plain.cautions.iter().all(|line| with.cautions.contains(line)), "nothing is left out for it");
    // Of genes that are not in play nothing is said.
    assert!(!with.text().contains("Enigma"));
    assert!(own.say_as_usual("ball_python", "woma") && !own.say_as_usual("ball_python", "woma"));
}

#[test]
fn what_is_taken_over_is_written_by_who_takes_it_and_the_rest_stays() {
    let by = |author: u64| By { author, at_unix_s: 1 };
    let wording = |text: &str| {
        Draft { text: text.to_owned(), ..Draft::default() }.check(Rules::default(), []).expect("a fine text")
    };
    let mut theirs = Own::default();
    theirs.write("het", wording("A hidden carrier."), by(1)).expect("room");
    theirs.write("visual", wording("It shows."), by(1)).expect("room");
    theirs.write("slugs", wording("Not fertile."), by(1)).expect("room");
    theirs.withdraw("slugs", by(1)).expect("it was written");
    let mut own = Own::default();
    own.write("het", wording("Our own words."), by(2)).expect("room");
    own.write("visual", wording("It shows."), by(2)).expect("room");
    own.write("quarantine", wording("Keep it apart."), by(2)).expect("room");
    let taken = own.take_over(&theirs, by(7)).expect("room");
    assert_eq!((taken.topics, taken.same), (vec!["het".to_owned()], 1));
    let last = own.history("het").expect("it is there").versions().last().expect("a version").by.author;
    assert_eq!(last, 7, "whoever a file names, it was taken over by who did it");
    assert!(own.wording("quarantine").is_some() && own.wording("slugs").is_none());
    assert!(own.take_over(&theirs, by(7)).expect("room").is_empty(), "a second time nothing changes");
}
