//! A member asks odds in a chat: what they type, what they read.

use std::sync::OnceLock;

use hatchward::conversation::Talk;
use hatchward::reading::Reader;
use hatchward::species::Catalogue;
use proptest::prelude::*;

/// The program as members meet it.
pub(crate) struct Chat {
    pub(crate) catalogue: Catalogue,
    pub(crate) reader: Reader,
}

impl Chat {
    /// The dictionaries are made once for all cases.
    pub(crate) fn new() -> &'static Self {
        static CHAT: OnceLock<Chat> = OnceLock::new();
        CHAT.get_or_init(Self::make)
    }

    fn make() -> Self {
        let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
        let reader = Reader::new(&catalogue).expect("the word files are valid");
        Self { catalogue, reader }
    }

    /// The replies to these messages of one talk; silence is empty.
    pub(crate) fn says(&self, messages: &[&str]) -> Vec<String> {
        let mut talk = Talk::new(&self.catalogue, &self.reader, None);
        messages.iter().map(|m| talk.turn(m).map(|r| r.text()).unwrap_or_default()).collect()
    }
}

#[track_caller]
fn hears(messages: &[&str], in_last: &[&str]) {
    let replies = Chat::new().says(messages);
    let last = replies.last().cloned().unwrap_or_default();
    for words in in_last {
        assert!(last.contains(words), "{messages:?} should be answered with {words:?}, but was:\n{last}");
    }
}

#[test]
fn the_three_phases_of_a_double_recessive_have_the_odds_keepers_know() {
    // Common practice, no source: 1/16, then 1/8 with a visual that is het for the other, 1/4 with two of them.
    hears(&["odds on a clown pied from dh clown pied x dh clown pied"], &["1/16 per egg (6.25 %)"]);
    hears(&["clown het pied x dh clown pied, odds on a clown pied?"], &["1/8 per egg"]);
    hears(&["clown het pied x pied het clown, odds on a clown pied?"], &["1/4 per egg"]);
}

#[test]
fn normal_looking_young_of_two_hets_are_labelled_66() {
    hears(&["het clown x het clown"], &["3/4  75 %  normal-looking, 66 % het Clown", "1/4  25 %  Clown"]);
}

#[test]
fn a_possible_het_parent_is_mixed_before_the_eggs() {
    // Computed: two thirds of 1 - (1/2)^6.
    hears(&["66% het clown x clown, odds of at least one clown in 6 eggs"], &["1/3 per egg", "65.6 %"]);
}

#[test]
fn questions_are_answered_by_place_name_or_share() {
    hears(&["axanthic pied x normal", "vpi"], &["Axanthic (VPI)", "het Axanthic (VPI)"]);
    hears(&["axanthic pied x normal", "the second"], &["Axanthic (TSK)"]);
    hears(&["poss het clown x clown", "66%"], &["66 % het Clown"]);
    hears(&["poss het clown x clown", "100%"], &["1/2  50 %  Clown"]);
}

#[test]
fn a_wish_for_one_sex_is_half_the_wish() {
    // Computed: half of one half; 1 - (3/4)^6 in six eggs.
    hears(&["odds on a male clown from het clown x clown, 6 eggs"], &["♂ Clown: 1/4 per egg (25 %)", "82.2 %"]);
    hears(&["odds on a female amel from het amel x amel corn"], &["1/4 per egg"]);
    hears(&["odds on a female eclipse from het eclipse x eclipse, leopard gecko"], &["Sex is set by temperature"]);
}

#[test]
fn two_pairings_are_compared_in_the_members_words() {
    let asked = [
        "compare clown x het clown with het clown x het clown, odds on a clown",
        "compare clown x het clown and het clown x het clown, odds on a clown",
        "clown x het clown vs het clown x het clown, odds on a clown",
    ];
    for said in asked {
        // Common practice: one half from a visual and a het, a quarter from two hets.
        hears(&[said], &["1/2", "1/4"]);
    }
}

#[test]
fn a_pair_is_one_of_each_sex() {
    // Computed: 1 - 2 (3/4)^8 + (1/2)^8 for shares of 1/4 each.
    let wishes = [
        "chance of at least one male and one female clown from het clown x clown in 8 eggs",
        "odds of a clown pair from het clown x clown in 8 eggs",
        "odds on a pair of clowns from het clown x clown, 8 eggs",
    ];
    for wish in wishes {
        hears(&[wish], &["Clown: 1/2 per egg (50 %)", "At least one male and one female in 8 eggs: 80.4 %"]);
    }
    // Computed: 1 - 2 (3/4)^n + (1/2)^n is 0.44 for four eggs and 0.56 for five, and so on.
    hears(
        &["how many eggs for a pair of clowns from het clown x clown"],
        &["Eggs to see at least one of each sex: 5 for 50 %, 11 for 90 %, 13 for 95 %, 19 for 99 %."],
    );
}

#[test]
fn a_possible_super_is_mixed_over_one_and_two_copies() {
    // Computed: it hands pastel on with 2/3 · 1/2 + 1/3 = 2/3, so 2/3 · 1/2 of the young are supers.
    hears(&["poss super pastel x pastel", "33%"], &["66 % Pastel, 33 % Super Pastel", "1/3  33.3 %  Super Pastel"]);
    hears(&["poss super pastel x pastel", "the second"], &["Super Pastel × Pastel", "1/2  50 %  Super Pastel"]);
}

#[test]
fn cautions_come_first_also_for_the_second_of_two_pairings() {
    let asked = "clown x het clown vs spider clown x het clown, which is better odds";
    let reply = Chat::new().says(&[asked]).pop().unwrap_or_default();
    assert!(reply.starts_with("Caution: Spider: wobble"), "{reply}");
    assert_eq!(reply.matches("Caution: Spider: wobble").count(), 1, "{reply}");
}

#[test]
fn a_name_of_several_species_asks_which_and_goes_on() {
    hears(&["snow x snow"], &["Which species is this?", "Corn snake"]);
    hears(&["snow x snow", "corn snake"], &["Corn snake: Amel, Anery × Amel, Anery"]);
    hears(&["snow x snow", "the second"], &["Corn snake: Amel, Anery × Amel, Anery"]);
    hears(&["clown x pied", "tremper x bell"], &["Caution: Tremper Albino with Bell Albino", "Leopard gecko"]);
}

#[test]
fn eggs_needed_for_a_certainty() {
    // Computed: the least n with 1 - (3/4)^n of at least 0.9 is 9.
    hears(&["how many eggs for 90% sure of a clown from het clown x het clown"], &["9 for 90 %"]);
}

#[test]
fn what_ifs_edit_the_last_request() {
    let first = "1.0 pastel enchi het clown x 0.1 clown, 7 eggs?";
    hears(&[first, "and with 9 eggs?"], &["9 eggs"]);
    hears(&[first, "swap them"], &["♂ Clown × ♀ Enchi, Pastel, het Clown"]);
    hears(&[first, "without the enchi"], &["♂ Pastel, het Clown × ♀ Clown"]);
    hears(&[first, "and with 9 eggs?", "the first one again"], &["7 eggs"]);
}

#[test]
fn the_wobble_is_said_first_in_every_answer_with_spider() {
    for messages in [&["spider x normal"][..], &["bumblebee x pastel", "and with 6 eggs?"]] {
        let last = Chat::new().says(messages).pop().unwrap_or_default();
        assert!(last.starts_with("Caution: Spider: wobble"), "{messages:?}:\n{last}");
    }
}

#[test]
fn a_banana_male_of_unknown_parents_shows_both_cases() {
    hears(&["banana male x normal female"], &["from his mother", "from his father", "19/40"]);
}

#[test]
fn small_talk_stays_unanswered() {
    for said in
        ["that pairing is fire", "this guy is a clown", "pin this message", "lol", "🐍🐍", "", "banana bread anyone"]
    {
        assert_eq!(Chat::new().says(&[said]), [""], "{said:?}");
    }
}

#[test]
fn a_female_too_light_or_young_is_said_first() {
    // Common practice, no source: females from 1300 g and two and a half years.
    hears(&["0.1 pastel 900g x 1.0 clown"], &["Caution: 900 g is light for a first clutch"]);
    hears(
        &["my girl is het pied and weighs 900g, can i put her with a pied male?"],
        &["Caution: 900 g is light for a first clutch"],
    );
    hears(&["0.1 pastel 14 months old x 1.0 clown"], &["Caution: 14 months is young for a first clutch"]);
}

#[test]
fn what_the_bot_cannot_do_names_who_can() {
    hears(&["how much baytril for my female?"], &["vet"]);
    hears(&["she is wheezing, what should I do?"], &["reptile vet"]);
}

proptest! {
    #[test]
    fn any_text_is_read_without_a_panic(said in "\\PC{0,400}") {
        let chat = Chat::new();
        chat.says(&[&said, &said]);
    }

    #[test]
    fn any_words_of_the_trade_are_read_without_a_panic(words in proptest::collection::vec(prop_oneof!["het", "x", "clown", "super", "dh", "66%", "poss", "1.0", "0.1", "pied", "axanthic", "snow", "bel", "from", "odds on", "7 eggs", "her mom was", "visual", "both", "and", "to", ",", "\n", "vs", "line", "2x", "killer", "1.1", "normal", "mojave", "lesser", "banana", "mm"], 0..24)) {
        let chat = Chat::new();
        let said = words.join(" ");
        chat.says(&[&said, "the first", "swap"]);
    }
}

#[test]
fn a_follow_up_edits_the_last_request() {
    let asked = "1.0 albino het clown x 0.1 pastel clown, 7 eggs?";
    let cases: &[(&[&str], &str)] = &[
        (&["without the pastel"], "× ♀ Clown, 7 eggs"),
        (&["make her het pied too"], "♀ Pastel, Clown, het Piebald"),
        (&["what if he was also enchi"], "♂ Enchi, Albino, het Clown"),
        (&["what if she was a visual"], "♀ Pastel, Albino, Clown"),
        (&["make him a normal"], "♂ normal-looking ×"),
        (&["swap them"], "♂ Pastel, Clown × ♀ Albino, het Clown"),
        (&["same but het x het"], "♂ het Albino, het Clown × ♀ Pastel, het Albino, het Clown"),
        (&["same but het x het", "the first one again"], "♂ Albino, het Clown × ♀ Pastel, Clown, 7 eggs"),
        (&["use a pied girl instead"], "× ♀ Piebald"),
        (&["add mojave", "the second"], "♀ Mojave, Pastel, Clown"),
        (&["and with 9 eggs?"], "9 eggs"),
        (&["and a pastel clown?"], "Pastel, Clown: 1/4 per egg"),
    ];
    for (edits, heard) in cases {
        let talk: Vec<&str> = [asked].iter().chain(edits.iter()).copied().collect();
        let last = Chat::new().says(&talk).pop().unwrap_or_default();
        assert!(last.contains(heard), "{edits:?} should be answered with {heard:?}, but was:\n{last}");
    }
}

#[test]
fn praise_of_a_pairing_is_no_wish() {
    for praise in ["that pairing is fire lol", "that pairing is fire", "this pairing sounds fire"] {
        let heard = Chat::new().says(&["het clown x clown", praise]);
        assert_eq!(heard[1], "", "{praise:?} was answered");
    }
}

#[test]
fn talk_after_a_question_is_no_edit() {
    for said in ["lol thats fire", "nice one", "thanks!", "my dog ate it"] {
        let last = Chat::new().says(&["pied x het pied", said]).pop().unwrap_or_default();
        assert_eq!(last, "", "{said:?} changes nothing");
    }
}

#[test]
fn an_open_question_is_answered_in_the_members_own_words() {
    hears(&["1.0 clown het pied, odds?", "a pied female"], &["♂ Clown, het Piebald × ♀ Piebald"]);
    hears(&["1.0 clown het pied, odds?", "a normal female"], &["× ♀ normal-looking"]);
    hears(&["my pied female x clown female", "the first is the male"], &["♂ Piebald × ♀ Clown"]);
}

#[test]
fn a_possible_het_is_weighed_without_any_saved_animal() {
    // Source: Bayes 1763, the rule; the numbers follow from two thirds and halves.
    hears(&["she's 66% het clown, bred to a visual clown, 8 normals"], &["66.7 % before, 0.78 % (1/129) now"]);
    hears(
        &["she's 66, bred to a visual, 8 normals", "what if the next 4 are normal too"],
        &["12 normal-looking young"],
    );
    hears(
        &["one pied hatched from my 66% girl and the pied male, is she het for sure?"],
        &["Proven: she is het Piebald"],
    );
    hears(&["how many eggs to prove a 50% het clown to a visual"], &["4 for 90 %, 5 for 95 %, 7 for 99 %"]);
    hears(&["66 x 66, nine eggs, no visuals, where does that leave both of them"], &["43.4 % now", "hang together"]);
    hears(&["12 eggs no albinos from a poss het, can I say she isn't het", "66%", "a visual"], &["12 normal-looking"]);
    hears(&["she's 50% het clown, bred to a normal, 5 normals"], &["nothing is proven"]);
}

#[test]
fn a_goal_becomes_a_plan_with_its_seasons_and_what_buying_in_saves() {
    let way = "fastest way to a clown pied";
    // Common practice, no source: double hets first, then 1/16; buying a visual het for the other saves years.
    hears(&[way], &["from scratch", "Season 1: \u{2642} Piebald \u{d7} \u{2640} Clown", "1/16 per egg: the goal"]);
    hears(&[way], &["Played out: half of such projects", "\u{2640} Clown, het Piebald saves"]);
    hears(&["plan a super spider"], &["Caution: Spider", "I plan no project towards"]);
    hears(&["goal: mojave lesser butter"], &["No animal can have all of"]);
    hears(
        &["how do i get from a 1.0 pastel het clown and 0.1 clown to a killer clown"],
        &["from \u{2642} Pastel, het Clown"],
    );
}

#[test]
fn a_short_question_is_about_the_last_pairing() {
    let asked = "pastel het clown x clown, 6 eggs";
    hears(&[asked, "is it safe?"], &["Nothing is known to me against this pairing"]);
    hears(&[asked, "square it"], &["Down the side what the first hands on"]);
    hears(&[asked, "what's the best?"], &["The most in one young: Pastel, Clown"]);
    hears(&[asked, "het percents?"], &["normal-looking, 1/4 (25 %): het Clown."]);
}

#[test]
fn the_steps_multiply_to_what_was_said() {
    let share =
        |text: &str| hatchward::engine::odds::parse(text.trim()).unwrap_or_else(|| panic!("{text:?} is a share"));
    for asked in [
        "pastel het clown x clown",
        "odds on a clown from champagne het clown x champagne het clown",
        "odds on a male clown pied from dh clown pied x clown het pied",
        "odds on a male banana clown from mm banana het clown x clown",
        "odds on a normal from champagne het clown x champagne",
        "champagne het clown x champagne het clown",
        "poss super pastel clown x pastel het clown",
        "odds on a lesser mojave from lesser x mojave",
    ] {
        let last = Chat::new().says(&[asked, "33%", "how did you get that?"]).pop().unwrap_or_default();
        let line = last
            .lines()
            .find(|l| l.starts_with("So ") || l.starts_with("Genes are independent"))
            .unwrap_or_else(|| panic!("{asked}:\n{last}"));
        let steps = last.lines().filter(|l| l.starts_with("  ") && !l.contains("all young"));
        let product = steps
            .map(|l| share(l.rsplit([':', '=']).next().unwrap_or_default().split(',').next().unwrap_or_default()))
            .fold(share("1"), |a, b| a * b);
        let said = line.split_once(" (").map_or(line, |(before, _)| before);
        let said = share(said.rsplit([':', '=']).next().unwrap_or_default());
        assert_eq!(product, said, "{asked}:\n{last}");
    }
}
