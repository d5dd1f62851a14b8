//! A keeper talks of their animals: what is saved, said, asked and refused, over the database inside the program.

use std::fmt::Write as _;
use std::sync::Arc;

use hatchward::collection::herd::Herd;
use hatchward::collection::store::{Place, Who};
use hatchward::conversation::desk::{Desk, Shelf};
use hatchward::reading::Reader;
use hatchward::species::Catalogue;
use jiff::civil::{Date, date};

/// The day of all these talks.
const TODAY: Date = date(2026, 11, 25);

/// A town with one database, where people talk.
pub(crate) struct Town {
    pub(crate) catalogue: Catalogue,
    pub(crate) reader: Reader,
    pub(crate) shelf: Arc<Shelf>,
}

/// One person's talk.
pub(crate) struct Breeder<'a> {
    desk: Desk<'a>,
    who: Who,
    shelf: Arc<Shelf>,
    messages: u32,
}

impl Town {
    pub(crate) fn at(place: Place) -> Self {
        let catalogue = Catalogue::builtin().expect("the catalogue is sound");
        let reader = Reader::new(&catalogue).expect("the words are sound");
        Self { catalogue, reader, shelf: Arc::new(Shelf::new(place)) }
    }

    pub(crate) fn new() -> Self {
        Self::at(Place::Memory)
    }

    pub(crate) fn breeder(&self, name: &str) -> Breeder<'_> {
        let species = self.catalogue.by_name("ball python");
        let desk = Desk::new(&self.catalogue, &self.reader, species, Some(Arc::clone(&self.shelf)));
        let who = Who { platform: "terminal", user: name.to_owned() };
        Breeder { desk, who, shelf: Arc::clone(&self.shelf), messages: 0 }
    }

    /// Somebody in a place without a species of its own.
    pub(crate) fn breeder_anywhere(&self, name: &str) -> Breeder<'_> {
        let desk = Desk::new(&self.catalogue, &self.reader, None, Some(Arc::clone(&self.shelf)));
        Breeder { desk, ..self.breeder(name) }
    }
}

impl Breeder<'_> {
    /// Says something and hears the reply; nothing is silence.
    pub(crate) async fn says(&mut self, said: &str) -> String {
        self.messages += 1;
        let once = format!("{}-{}", self.who.user, self.messages);
        self.says_once(said, &once).await
    }

    pub(crate) async fn says_once(&mut self, said: &str, once: &str) -> String {
        self.desk.turn(&self.who, Some(once), TODAY, said).await.map(|r| r.text()).unwrap_or_default()
    }

    /// Asks for a picture and hears the words beside it.
    pub(crate) async fn draws(&mut self, said: &str) -> String {
        self.says(said).await;
        self.desk.take_file().and_then(|file| file.alt).unwrap_or_default()
    }

    /// Hands a file in and hears what it would change.
    pub(crate) async fn receives(&mut self, bytes: &[u8]) -> String {
        self.desk.receive(&self.who, TODAY, bytes).await.text()
    }

    /// The file that the last reply handed over.
    pub(crate) fn takes_file(&mut self) -> Option<hatchward::conversation::File> {
        self.desk.take_file()
    }

    /// Says something and must hear these parts.
    #[track_caller]
    pub(crate) fn hears<'s>(&'s mut self, said: &'s str, parts: &'s [&'s str]) -> impl Future<Output = ()> + 's {
        let place = std::panic::Location::caller();
        async move {
            let heard = self.says(said).await;
            for part in parts {
                assert!(heard.contains(part), "{place}: {said:?} was answered without {part:?}:\n{heard}");
            }
        }
    }

    pub(crate) async fn herd(&self) -> Herd {
        let store = self.shelf.store().await.expect("it opens");
        match store.keeper(&self.who).await.expect("an answer") {
            Some(keeper) => store.herd(keeper).await.expect("a herd"),
            None => Herd::empty(),
        }
    }

    /// Everything that is kept, a line an animal: for comparing before and after.
    pub(crate) async fn kept(&self) -> String {
        let herd = self.herd().await;
        let mut out = String::new();
        for animal in &herd.animals {
            let _ = writeln!(out, "{animal:?}");
        }
        let _ = write!(
            out,
            "{:?}{:?}{:?}{:?}{:?}{:?}",
            herd.weights, herd.meals, herd.signs, herd.meetings, herd.clutches, herd.goals
        );
        out
    }
}

#[tokio::test]
async fn a_breeder_tells_once_what_they_own() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren
        .hears(
            "add a 2022 female pastel het clown, 1400g, named Juno",
            &["Saved Juno (#1), ball python: ♀ Pastel, het Clown, hatched 2022, 1,400 g.", "undo"],
        )
        .await;
    maren.hears("add 1.0 clown het pied named Duke, hatched 2021, 900g", &["Duke (#2)", "♂ Clown, het Piebald"]).await;
    maren
        .hears(
            "Juno",
            &[
                "Juno (#1), ball python",
                "♀ Pastel, het Clown",
                "hatched 2022 (4 years old)",
                "1,400 g on 25 November 2026",
            ],
        )
        .await;
    maren.hears("odds on a clown if I put Duke on Juno", &["Duke × Juno", "Clown: 1/2 per egg (50 %)"]).await;
    maren.hears("and in 7 eggs?", &["At least one in 7 eggs: 99.2 %"]).await;
    maren.hears("Duke x Juno", &["♂ Clown, het Piebald × ♀ Pastel, het Clown"]).await;
    maren.hears("list my girls", &["1 female:", "Juno (#1) ♀ Pastel, het Clown, 2022, 1,400 g"]).await;
    maren.hears("who carries clown", &["2 animals that carry Clown", "Juno", "Duke"]).await;
    maren.hears("females over 1500 g", &["No females of 1,500 g or more."]).await;
}

#[tokio::test]
async fn weights_and_whom_a_pronoun_means() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add a female pastel named Biscuit").await;
    maren.says("add a male clown named Rusty").await;
    maren.hears("Biscuit 1634", &["Saved Biscuit (#1): 1,634 g."]).await;
    maren.hears("she's 1.65 kg now", &["Biscuit (#1): 1,650 g (+16 g since the last time)"]).await;
    maren
        .hears("weights: Biscuit 1700, Rusty 810", &["Saved 2 weights", "Biscuit (#1): 1,700 g", "Rusty (#2): 810 g"])
        .await;
    maren.hears("he weighs 820 g", &["Rusty (#2): 820 g"]).await;
    maren.hears("Biscuit 1.4", &["is that 1.4 kg?"]).await;
    maren.hears("yes", &["Biscuit (#1): 1,400 g"]).await;
    maren.hears("Biscuit 1,634 g on 3/4", &["two ways", "3 April 2026", "4 March 2026"]).await;
    maren.hears("the april one", &["1,634 g on 3 April 2026"]).await;
    maren.hears("Biscuit 400000 g", &["no weight", "Nothing was saved"]).await;
    maren.hears("Biscuit -5 g", &["Nothing was saved"]).await;
    maren.hears("Buscuit 1500", &["Do you mean Biscuit (#1)"]).await;
    maren.hears("yes", &["Biscuit (#1): 1,500 g"]).await;
}

#[tokio::test]
async fn two_of_one_name_are_told_apart_by_their_codes() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add a female pastel named Biscuit").await;
    maren.hears("add a male clown named Biscuit", &["(#2)", "You have another Biscuit (#1)"]).await;
    maren.hears("Biscuit 900", &["Which \"Biscuit\"?", "1. Biscuit (#1)", "2. Biscuit (#2)"]).await;
    maren.hears("the second", &["Saved Biscuit (#2): 900 g"]).await;
    maren.hears("#1 1500 g", &["Saved Biscuit (#1): 1,500 g"]).await;
    maren.hears("rename #2 to Pepper", &["Biscuit is now called Pepper (#2)"]).await;
    maren.hears("Biscuit", &["♀ Pastel"]).await;
}

#[tokio::test]
async fn a_name_that_is_a_gene_is_the_animal_where_an_animal_is_expected() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 clown named Banana").await;
    maren.says("add 1.0 het clown named Otto").await;
    maren.hears("Banana 1500", &["Saved Banana (#1): 1,500 g"]).await;
    maren.hears("banana x clown", &["Banana"]).await;
    maren.hears("who carries banana", &["No animals that carry Banana"]).await;
    maren.hears("Otto x Banana", &["Otto × Banana", "♂ het Clown × ♀ Clown"]).await;
    maren.hears("rename Banana to Olive", &["now called Olive"]).await;
}

#[tokio::test]
async fn a_season_with_locks_signs_a_clutch_and_young() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 pastel 66% het clown named Nova, hatched 2021").await;
    maren.says("add 1.0 clown named Rusty, hatched 2022").await;
    maren.hears("Rusty locked with Nova 3 Dec", &["Rusty × Nova locked, 3 December 2025"]).await;
    maren.hears("follicles 18mm for Nova on 20 january", &["follicles 18 mm, 20 January 2026"]).await;
    maren.hears("Nova ovulated 1 march", &["ovulation, 1 March 2026", "common default"]).await;
    maren.hears("pre lay shed was on 19 march for her", &["pre-lay shed, 19 March 2026"]).await;
    maren
        .hears(
            "Nova laid 7 and 1 slug on 18 april",
            &["7 eggs and 1 slug, 18 April 2026", "Father: Rusty (#2)", "I took Rusty as the father"],
        )
        .await;
    maren
        .hears(
            "hatched 1.2 clowns and 2.1 normals on 15 june",
            &["6 young", "Nova (#1) is proven het Clown", "1.2 Clown"],
        )
        .await;
    let herd = maren.herd().await;
    assert_eq!(herd.clutches[0].n_young(), 6);
    maren.hears("Nova", &["het Clown", "proven", "Rusty × Nova, laid 18 April 2026, 7 eggs and 1 slug, 6 young"]).await;
    maren
        .hears(
            "keep the 0.1 clown from the Nova clutch as Pip",
            &["Pip (#3)", "♀ Clown", "hatched 15 June 2026", "from Rusty × Nova"],
        )
        .await;
    maren.hears("keep a male from the Nova clutch named Fig", &["Fig (#4)", "♂ het Clown"]).await;
    maren.hears("undo", &["Taken back: added Fig (#4)"]).await;
    maren.hears("undo", &["Taken back: added Pip (#3)"]).await;
    maren.hears("undo", &["Taken back: recorded what hatched"]).await;
    maren.hears("Nova", &["66 % het Clown"]).await;
}

#[tokio::test]
async fn young_have_what_their_parents_leave_them() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 1.0 het clown named Duke, hatched 2020").await;
    maren.says("add 0.1 pastel het clown named Juno, hatched 2020").await;
    // Mendel 1866: of the normal-looking two in three carry.
    maren
        .hears(
            "add a female pastel from Duke x Juno, hatched 2024, named Maple",
            &["♀ Pastel, 66 % het Clown", "from Duke × Juno"],
        )
        .await;
    maren.hears("add a male clown from Duke x Juno, hatched 2024, named Fern", &["♂ Clown"]).await;
    maren
        .hears(
            "add a male pied from Duke x Juno, hatched 2024, named Moss",
            &["cannot give Piebald", "Nothing was saved"],
        )
        .await;
    maren.hears("add 0.1 super pastel from Duke x Juno named Moss", &["cannot give Super Pastel"]).await;
    assert_eq!(maren.herd().await.animals.len(), 4);
}

#[tokio::test]
async fn one_is_changed_at_once_and_many_are_shown_first() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears(
        "add these:\n0.1 clown named Ash\n0.1 pied named Birch\n1.0 het clown named Cedar\n1.0 pastel named Elm, hatched 2020",
        &["I read 4 animals", "Ash (#1)", "Type \"save\""],
    )
    .await;
    assert!(maren.herd().await.animals.is_empty());
    maren.hears("save", &["Saved 4 animals"]).await;
    assert_eq!(maren.herd().await.animals.len(), 4);
    maren.hears("Ash is for sale", &["Ash (#1) is for sale now"]).await;
    maren.hears("delete her", &["Removed Ash (#1)"]).await;
    maren.hears("undo", &["Taken back: removed Ash (#1)"]).await;
    let before = maren.kept().await;
    maren.hears("remove all males", &["This is about 2 animals", "Cedar", "Elm", "Type \"remove\""]).await;
    maren.hears("what do I have", &["4 animals"]).await;
    assert_eq!(maren.kept().await, before);
    maren.hears("remove all males", &["This is about 2 animals"]).await;
    maren.hears("remove", &["Removed 2 animals"]).await;
    assert_eq!(maren.herd().await.animals.len(), 2);
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("undo", &["Taken back: set Ash (#1) to for sale"]).await;
    maren.hears("undo", &["Taken back: added 4 animals"]).await;
    assert!(maren.herd().await.animals.is_empty());
    maren.hears("undo", &["nothing to take back"]).await;
}

#[tokio::test]
async fn corrections_are_said_in_full() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 66% het pied named Nala, hatched 2021").await;
    maren.hears("mark Nala proven het pied", &["het Piebald", "Before: ♀ 66 % het Piebald"]).await;
    maren.hears("Nala is a male", &["♂ het Piebald"]).await;
    maren.hears("correct Nala: female, het clown too", &["♀ het Clown, het Piebald"]).await;
    maren.hears("Nala is not het clown", &["♀ het Piebald"]).await;
    maren.hears("Nala hatched 2020", &["hatched 2020"]).await;
    maren.hears("Nala's father is Duke", &["from Duke × ?"]).await;
    maren.hears("note for Nala: shy eater, likes warm rats", &["The note was added"]).await;
    maren.hears("tag Nala holdback", &["Tags: holdback"]).await;
    maren.hears("paid 350 eur for Nala", &["paid 350 EUR"]).await;
    maren.hears("Nala hatched 2029", &["still to come", "Nothing was saved"]).await;
    maren.hears("Nala", &["Notes: shy eater", "Tags: holdback", "proven"]).await;
}

#[tokio::test]
async fn a_what_if_never_writes() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 pastel named Maple").await;
    maren.says("add 1.0 clown named Duke").await;
    let before = maren.kept().await;
    maren
        .hears("what if Maple was also het clown", &["Maple would be ♀ Pastel, het Clown", "nothing was changed"])
        .await;
    maren
        .hears(
            "what if Maple was het clown, what do I get from Duke x Maple",
            &["Duke × Maple", "1/4", "nothing was changed"],
        )
        .await;
    assert_eq!(maren.kept().await, before);
    maren.hears("Duke x Maple", &["♂ Clown × ♀ Pastel"]).await;
}

#[tokio::test]
async fn every_pairing_that_can_make_it() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "add 1.0 albino het clown named Atlas",
        "add 1.0 clown named Bruno",
        "add 0.1 dh albino clown named Cora",
        "add 0.1 clown het albino named Dora",
        "add 0.1 pastel named Etta",
    ] {
        maren.hears(said, &["Saved"]).await;
    }
    maren
        .hears(
            "all pairings that can make an albino clown",
            &["2 pairings can make it", "1/4", "Atlas (#1) × Dora (#4)", "1/8", "Atlas (#1) × Cora (#3)"],
        )
        .await;
    maren.hears("which pairings can make a pied", &["No pairing", "Nobody here carries Piebald"]).await;
}

#[tokio::test]
async fn what_cannot_be_is_refused_with_the_value_and_the_rule() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 clown named Juno, hatched 2020").await;
    maren.says("add 1.0 pastel named Duke, hatched 2021").await;
    maren.says("add 0.1 pastel from Duke x Juno named Odd").await;
    let before = maren.kept().await;
    let long = "n".repeat(500);
    for (said, heard) in [
        ("add 0.1 clown hatched 2031 named Fern", "still to come"),
        ("add 0.1 clown hatched 31 february 2024 named Fern", "no such day"),
        (&*format!("add 0.1 clown named {long}"), "500 characters long, a name has at most 80"),
        ("Duke laid 6 eggs", "is male and lays no eggs"),
        ("Juno laid -3 eggs", "-3 eggs"),
        ("add 0.1 clown named Tiny, hatched november 2026, 4 kg", "a hatchling of this species has at most about"),
        ("add 0.1 lesser mojave butter named Fern", "room for two"),
        ("add 0.1 pastel from Duke x Juno, hatched 2019, named Old", "cannot be a parent"),
        ("Juno's mother is Odd", "own ancestor"),
        ("Juno's father is Duke", "hatched 2021"),
        ("Juno laid 7 eggs on 3 may 2027", "still to come"),
    ] {
        let reply = maren.says(said).await;
        assert!(reply.contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
        assert_eq!(maren.kept().await, before, "{said:?} changed something");
    }
}

#[tokio::test]
async fn the_rest_of_a_list_is_kept() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren
        .hears(
            "add:\n0.1 clown named Ash\n0.1 clown named Birch, hatched 2031\n1.0 pied named Cedar\n1.0 pastel named Elm\n0.1 het clown named Fir",
            &["I read 4 animals", "Line 3 was left out", "still to come"],
        )
        .await;
    maren.hears("save", &["Saved 4 animals"]).await;
}

#[tokio::test]
async fn forget_me_erases_everything_after_the_word() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 clown named Juno").await;
    maren.says("Juno 1500").await;
    maren.hears("forget me", &["erases 1 animal and 1 weight", "Type \"erase everything\"", "export"]).await;
    maren.hears("no", &["nothing was changed"]).await;
    maren.hears("forget me", &["erases"]).await;
    maren.hears("erase everything", &["Everything is erased"]).await;
    maren.hears("list my girls", &["collection is empty"]).await;
    maren.hears("undo", &["nothing to take back"]).await;
}

#[tokio::test]
async fn two_keepers_share_nothing_in_talk() {
    let town = Town::new();
    let (mut maren, mut tove) = (town.breeder("Maren"), town.breeder("Tove"));
    maren.says("add 0.1 clown named Juno").await;
    tove.says("add 1.0 pied named Duke").await;
    for said in [
        "Juno",
        "Juno 1500",
        "delete Juno",
        "rename Juno to Mine",
        "Juno is a male",
        "Duke x Juno",
        "list everything I have",
        "who carries clown",
        "what changed",
    ] {
        let heard = tove.says(said).await;
        assert!(
            !heard.contains("#1), ball python: ♀") && !heard.contains("♀ Clown"),
            "{said:?} told of another's animal: {heard}"
        );
    }
    maren.hears("Juno", &["♀ Clown"]).await;
}

#[tokio::test]
async fn a_message_that_comes_twice_is_saved_once() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 clown named Juno").await;
    maren.says_once("Juno 1500", "m7").await;
    let heard = maren.says_once("Juno 1500", "m7").await;
    assert!(heard.contains("saved before"), "{heard}");
    assert_eq!(maren.herd().await.weights.len(), 1);
}

#[tokio::test]
async fn talk_that_is_no_record_keeps_nothing() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "hello there",
        "lol",
        "that pairing is fire",
        "1.0 clown x 0.1 het clown",
        "what is a het?",
        "FS 1.0 clown 300 obo",
    ] {
        maren.says(said).await;
    }
    assert!(maren.herd().await.is_empty());
}

#[tokio::test]
async fn two_described_animals_are_odds_whatever_was_spoken_of_before() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.hears("tremper x het tremper leopard gecko", &["Leopard gecko"]).await;
    maren.hears("clown male bred to a pied female", &["Ball python: ♂ Clown × ♀ Piebald"]).await;
    maren.hears("add a female pastel clown named Opal", &["Saved Opal"]).await;
    maren.hears("tremper x het tremper leopard gecko", &["Leopard gecko"]).await;
    maren.hears("het clown male bred to a pied female", &["Ball python: ♂ het Clown × ♀ Piebald"]).await;
}

#[tokio::test]
async fn a_card_to_pass_on_leaves_out_what_is_the_keepers_own() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 0.1 clown het pied named Juno, hatched 2020, 1500g, 350 eur, from the barn sale").await;
    maren.says("note for Juno: bites").await;
    maren.says("Juno refused again").await;
    let heard = maren.says("share Juno's card").await;
    for part in ["Juno, ball python", "♀ Clown, het Piebald", "hatched 2020", "1,500 g", "nothing was sent to anybody"]
    {
        assert!(heard.contains(part), "{part} is missing:\n{heard}");
    }
    for part in ["#1", "350", "barn", "bites", "refused food"] {
        assert!(!heard.contains(part), "{part} was told:\n{heard}");
    }
    maren.hears("share her", &["Juno, ball python"]).await;
    maren.hears("share Pumpkin", &["no animal called \"Pumpkin\""]).await;
    assert_eq!(maren.herd().await.animals.len(), 1);
}

#[tokio::test]
async fn young_whose_look_is_not_told_say_nothing_until_it_is() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "add 0.1 66% het clown named Nova, hatched 2020",
        "add 1.0 clown named Rusty, hatched 2020",
        "Rusty x Nova laid 6 eggs on 18 april",
    ] {
        maren.hears(said, &["Saved"]).await;
    }
    maren.hears("hatched 6 babies on 15 june, looks not known yet", &["6 young", "look not told yet"]).await;
    maren.hears("how sure is Nova het clown", &["66.7 %", "Nothing that hatched says more"]).await;
    maren
        .hears(
            "keep a female from the Nova clutch named Pip",
            &["66 % het Clown, 33 % Clown", "look of Pip is not told yet"],
        )
        .await;
    maren.hears("Pip looks normal", &["♀ het Clown"]).await;
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("Pip is a clown", &["♀ Clown"]).await;
    maren.hears("Pip's look is not told yet", &["33 % Clown"]).await;
    maren.hears("hatched 2 clowns and 4 normals from Nova", &["6 young", "proven het Clown"]).await;
    let herd = maren.herd().await;
    assert_eq!((herd.clutches[0].n_young(), herd.clutches[0].n_told()), (6, 6));
    maren.hears("how sure is Nova het clown", &["Proven"]).await;
}

#[tokio::test]
async fn short_words_about_the_animal_last_spoken_of() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    maren.says("add 1.0 clown named Duke, hatched spring 2021, bought from the barn for 450 eur in 2022").await;
    let herd = maren.herd().await;
    assert!(herd.weights.is_empty(), "a year is no weight: {:?}", herd.weights);
    let duke = &herd.animals[0];
    assert_eq!(duke.origin.as_deref(), Some("the barn"));
    assert_eq!((duke.price_cents, duke.notes.as_deref()), (Some(45_000), Some("acquired 2022")));
    maren.says("add 0.1 pied named Nala").await;
    for (said, heard) in [
        ("follicles 18mm", "Nala (#2): follicles 18 mm"),
        ("off feed", "Nala (#2) refused food"),
        ("she's fasting", "Nala (#2) refused food"),
        ("pre lay shed yesterday", "Nala (#2): pre-lay shed, 24 November 2026"),
        ("call #2 Rex", "Nala is now called Rex (#2)"),
        ("call her Nala", "Rex is now called Nala (#2)"),
        ("Duke locked with Brunhild 3 Dec", "Brunhild is none of your animals"),
        ("what if Brunhild was het pied", "no animal called \"Brunhild\""),
        ("odds on a clown if I put Duke on Brunhild", "no animal called \"Brunhild\""),
        ("who was sold", "No sold animals"),
        ("Nalla", "Nala (#2), ball python"),
    ] {
        let reply = maren.says(said).await;
        assert!(reply.contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
    }
    let before = maren.kept().await;
    for said in ["call me later", "building", "pos", "fed everyone today"] {
        maren.says(said).await;
        assert_eq!(maren.kept().await, before, "{said:?} changed something");
    }
}

#[tokio::test]
async fn the_father_is_told_after_the_laying() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in ["add 0.1 het clown named Nova", "add 1.0 clown named Rusty", "add 1.0 normal named Otto"] {
        maren.says(said).await;
    }
    maren.hears("Nova laid 5 eggs on 18 april", &["The father is not known", "fathered the Nova clutch"]).await;
    maren.says("hatched 4 normals on 15 june").await;
    maren.hears("keep a female from the Nova clutch named Pip", &["from ? × Nova"]).await;
    maren.hears("Rusty fathered the Nova clutch", &["the father is Rusty (#2)", "undo"]).await;
    maren.hears("Pip", &["♀ het Clown", "Parents: Rusty × Nova"]).await;
    maren.hears("the father is Otto", &["the father is Otto (#3)"]).await;
    maren.hears("Pip", &["♀ 50 % het Clown", "Parents: Otto × Nova"]).await;
    maren.hears("undo", &["Taken back"]).await;
    maren.hears("Rusty and Otto fathered the Nova clutch", &["Each young by either"]).await;
    maren.hears("Rusty or Nova fathered the Nova clutch", &["the father is Rusty"]).await;
    // Of an animal, not of a clutch.
    maren.hears("Rusty's father is Otto", &["from Otto × ?"]).await;
}

#[tokio::test]
async fn animals_are_read_in_their_own_species_wherever_the_talk_was() {
    let town = Town::new();
    let mut maren = town.breeder_anywhere("Maren");
    for animal in [
        "ball python: 0.1 pastel het clown named Juno",
        "ball python: 1.0 clown named Duke",
        "corn snake: 1.0 amel named Kiwi",
    ] {
        assert!(maren.says(&format!("add a {animal}")).await.starts_with("Saved"), "{animal}");
    }
    for talk in
        ["", "leopard gecko: het tremper albino x tremper albino", "boa: motley x motley", "ball python: pied x pied"]
    {
        maren.says(talk).await;
        let odds = maren.says("odds if I put Duke on Juno").await;
        assert!(
            odds.contains("Duke × Juno") && odds.contains("Ball python: ") && odds.contains("Clown"),
            "{talk}: {odds}"
        );
        // One that is not there, and one of another species: asked about, and never mixed up.
        for question in ["odds if I put Duke on Nobody", "odds if I put Kiwi on Juno", "odds if I put Juno on Kiwi"] {
            let answer = maren.says(question).await;
            assert!(!answer.contains('%'), "{talk}: {question}: {answer}");
            assert_eq!(answer.contains("different species"), question.contains("Kiwi"), "{answer}");
        }
    }
}

#[tokio::test]
async fn the_second_of_two_devices_is_told_what_the_first_changed() {
    let town = Town::new();
    let (mut phone, mut laptop) = (town.breeder("Maren"), town.breeder("Maren"));
    for said in ["add 1.0 clown named Cedar", "add 1.0 pied named Elm"] {
        phone.says_once(said, said).await;
    }
    phone.says_once("remove all males", "p1").await;
    let heard = laptop.says_once("rename Cedar to Oak", "l1").await;
    assert!(heard.contains("now called Oak"), "{heard}");
    let heard = phone.says_once("remove", "p2").await;
    for part in ["changed meanwhile", "nothing was saved", "Oak (#1), ball python: ♂ Clown"] {
        assert!(heard.contains(part), "{part} is missing:\n{heard}");
    }
    assert_eq!(phone.herd().await.animals.len(), 2);
    // Once it was gone there as well, it is gone.
    phone.says_once("remove all males", "p3").await;
    laptop.says_once("delete Oak", "l2").await;
    let heard = phone.says_once("remove", "p4").await;
    assert!(heard.contains("changed meanwhile") && heard.contains("gone"), "{heard}");
    assert_eq!(phone.herd().await.animals.len(), 1);
}

#[tokio::test]
async fn a_family_is_told_and_drawn_and_so_are_weights() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "add 1.0 clown named Rusty, hatched 2018",
        "add 0.1 pied named Nova, hatched 2018",
        "add a 2021 male het clown het pied named Duke, from Rusty x Nova",
        "add a 2021 female het clown het pied named Olive, from Rusty x Nova",
        "add a 2024 female clown named Pip, from Duke x Olive",
    ] {
        maren.hears(said, &["Saved"]).await;
    }
    maren
        .hears(
            "family tree of Pip",
            &[
                "The family of Pip (#5)",
                "Parents and further back:",
                "Duke (#3): ♂ het Clown, het Piebald",
                "Nova (#2): ♀ Piebald (again)",
                "inbred by 25 %",
            ],
        )
        .await;
    maren.hears("family tree of Pip", &["Say \"draw it\" for a picture."]).await;
    let drawn = maren.draws("draw it").await;
    assert!(drawn.contains("Olive"), "the family is drawn, with words: {drawn}");
    // What is drawn with the answer is not offered under it.
    let heard = maren.says("draw the family tree of Pip").await;
    assert!(heard.contains("The family of Pip") && !heard.contains("draw it"), "{heard}");
    maren.hears("Rusty's family", &["Young:", "    Pip (#5): ♀ Clown"]).await;
    for said in ["Nova 1500 g on 3 march 2026", "Nova 1610 g on 3 june 2026"] {
        maren.hears(said, &["Saved"]).await;
    }
    maren.hears("Nova", &["1,610 g"]).await;
    let drawn = maren.draws("as a picture please").await;
    assert!(drawn.contains("1610 g"), "a year of weights is drawn: {drawn}");
    assert!(drawn.contains("November to February (northern rooms, taken for granted)"), "{drawn}");
    maren.hears("I keep in Sydney", &["Sydney"]).await;
    maren.hears("Nova", &["1,610 g"]).await;
    let drawn = maren.draws("as a picture please").await;
    assert!(drawn.contains("May to August (southern rooms)"), "{drawn}");
    assert_eq!(maren.draws("goal: clown pied").await, "");
    assert_eq!(maren.draws("draw it").await, "", "what was answered last has no picture");
}

#[tokio::test]
async fn groups_of_a_year_and_pairs_of_two() {
    let town = Town::new();
    let mut maren = town.breeder("Maren");
    for said in [
        "add 0.1 het clown hatched 2022 named Ash",
        "add 0.1 het clown hatched 2022 named Birch",
        "add 0.1 het pied hatched 2021 named Cora",
        "add 0.1 pastel hatched 2022 named Dora",
        "add 1.0 clown hatched 2020 named Duke",
    ] {
        maren.hears(said, &["Saved"]).await;
    }
    for said in ["list the 22 het girls", "the '22 het girls"] {
        let heard = maren.says(said).await;
        assert!(
            heard.contains("2 females with a het") && heard.contains("Ash") && heard.contains("Birch"),
            "{said}: {heard}"
        );
    }
    maren.hears("girls hatched 2022", &["3 females", "Dora"]).await;
    maren.hears("put Duke on Ash and Birch", &["A pairing has two animals"]).await;
    maren.hears("put Duke on Ash", &["Duke × Ash"]).await;
}
