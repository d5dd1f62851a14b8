//! Items to a pairing: who is paired with whom, what is wanted of the young, how many eggs.
//!
//! In: the [`Item`]s of a message and its species. Out: [`Found`]. The grammar, an example a line:
//!   "1.0 clown x 0.1 het clown"            a cross word stands between two animals
//!   "put my pied with the banana"          a small word does, when nothing stronger stands there and breeding is meant
//!   "1.0 pastel\n0.1 clown"                two sex marks open two animals
//!   "odds on a clown from het x het"       a wish stands after "odds on", "chance of", "to get"
//!   "clown x her, her mom was a pied"      a relative's genes become chances of the animal before
//!   "normal from a clown x het pied clutch" so do both parents'
//!   "clown x het vs het x het"             two pairings to compare
//! Not here: the genes of one animal (`animals`).

mod amounts; // eggs, clutches, certainty and what is asked, taken out first
mod everyday; // which plain words are genes here
mod finish; // parents that lean on one another, sexes, the second pairing
mod forebears; // what an animal carries, given its parents
mod parents; // which stretch is a parent, a forebear or a wish
mod stretches; // items cut where one thing ends
mod wish; // what is wanted of the young

use super::animals::Draft;
use super::matching::Item;
use super::requests::{Animal, Assumed, Pairing, Question};
use super::words::Text;
use super::{Context, Reader};
use crate::species::{GeneId, Species};
use amounts::amounts;
use everyday::promote;
use parents::build;
use stretches::{has_strong_cross, stretches};

/// What was found of a pairing.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) pairing: Pairing,
    pub(super) compare: Option<Pairing>,
    pub(super) questions: Vec<Question>,
    pub(super) assumed: Vec<Assumed>,
    pub(super) unread: Vec<String>,
    /// A cross word stood between two animals.
    pub(super) crossed: bool,
    /// Odds, outcomes or the like were asked for.
    pub(super) asked: bool,
    /// The recessives under discussion before this message.
    pub(super) about: Vec<GeneId>,
    /// Genes that were named anywhere.
    pub(super) named: Vec<GeneId>,
}

impl Found {
    /// Takes over what an animal leaves to ask, to say and to name; the animal itself is given back.
    fn hear(&mut self, mut draft: Draft, species: &Species) -> Animal {
        self.questions.append(&mut draft.questions);
        self.assumed.append(&mut draft.assumed);
        self.unread.append(&mut draft.unread);
        draft.into_animal(species)
    }
}

/// Finds the pairing of a message.
pub(super) fn find(reader: &Reader, species: &Species, text: &Text, items: &[Item], context: Context<'_>) -> Found {
    let (items, asked) = amounts(text, items);
    let items = if context.edits { items } else { promote(text, &items) };
    let strong = has_strong_cross(&items);
    let stretches = stretches(&items, strong, text);
    let mut found = Found {
        asked: asked.odds || asked.question && asked.breed || asked.how_many || asked.at_least_one,
        crossed: strong,
        about: context.genes.to_vec(),
        ..Found::default()
    };
    found.pairing.aspect = asked.aspect;
    build(reader, species, text, &stretches, &asked, strong, &mut found);
    let pairing = &mut found.pairing;
    pairing.clutch_size = asked.eggs;
    pairing.clutches = asked.clutches;
    pairing.certainty.clone_from(&asked.certainty);
    pairing.shown = asked.shown;
    if let Some(other) = &mut found.compare {
        other.clutch_size = asked.eggs;
        other.target.clone_from(&found.pairing.target);
    }
    found
}
