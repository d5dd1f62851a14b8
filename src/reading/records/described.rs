//! One animal described in words that are about nothing else: "0.1 pastel het clown", "visual pied girl".
//!
//! Gene words are the business of `animals`; here it is only told what the words left open.

use crate::reading::animals::{Draft, Parser};
use crate::reading::matching::{self, What};
use crate::reading::requests::{Animal, Assumed, Question, Target};
use crate::reading::vocabulary::Role;
use crate::reading::words::{self, Kind};
use crate::reading::{Reader, settle};
use crate::species::{Catalogue, GeneId, SpeciesId};

/// What was read of one animal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Described {
    /// Its species, where the words or the place settle it.
    pub species: Option<SpeciesId>,
    /// The species was worked out from the genes alone.
    pub worked_out: bool,
    /// Species that fit as well as each other, where none is settled.
    pub fitting: Vec<SpeciesId>,
    /// The animal, without genes that a question is about.
    pub animal: Animal,
    /// Males, females and unsexed, where counted.
    pub counts: Option<(u16, u16, u16)>,
    /// "normal" was said.
    pub normal: bool,
    /// What must be asked.
    pub questions: Vec<Question>,
    /// What was taken for granted.
    pub assumed: Vec<Assumed>,
    /// Words that were not understood.
    pub unread: Vec<String>,
    /// Words that are no part of a description, in the order of the text: a name may be among them.
    pub spare: Vec<Spare>,
}

/// A word that is no part of a description.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spare {
    /// As typed.
    pub word: String,
    /// Begins with a capital letter.
    pub capital: bool,
    /// An ordinary English word.
    pub english: bool,
    /// Its place among the words of the text.
    pub at: usize,
}

impl Described {
    /// Whether any gene or look was named, or asked about.
    #[must_use]
    pub fn has_genes(&self) -> bool {
        !self.animal.genes.is_empty() || !self.animal.looks.is_empty() || !self.questions.is_empty()
    }
}

impl Reader {
    /// Reads a description. `species` is that of the place, or what is known of the animal already.
    #[must_use]
    pub fn describe(&self, catalogue: &Catalogue, said: &str, species: Option<SpeciesId>) -> Described {
        let text = words::words(said);
        let settled = settle::species(self, catalogue, &text, species);
        let id = settled.species.or_else(|| settled.fitting.first().copied()).unwrap_or(SpeciesId(0));
        let of = catalogue.get(id);
        let items = matching::items(self, &text, Some(id));
        let mut out = Described {
            species: settled.species,
            worked_out: settled.worked_out,
            fitting: settled.fitting,
            ..Described::default()
        };
        for item in &items {
            let english = item.what == What::English;
            let strange = item.what == What::Unknown && text.words[item.words.start].kind == Kind::Letters;
            if english || strange {
                let word = text.typed(item.words.clone()).to_owned();
                let capital = text.words.get(item.words.start).is_some_and(|w| w.capital);
                out.spare.push(Spare { word, capital, english, at: item.words.start });
            }
        }
        let mut draft: Draft = Parser::new(self, of, &text, 0, false).read(&items);
        out.counts = draft.counts;
        out.normal = draft.normal || items.iter().any(|i| i.role() == Some(Role::Normal));
        out.questions = std::mem::take(&mut draft.questions);
        out.assumed = std::mem::take(&mut draft.assumed);
        out.unread = std::mem::take(&mut draft.unread);
        out.animal = draft.into_animal(of);
        out
    }

    /// What is wished for: "albino clown", "pastel het pied". Genes with the copies that count.
    #[must_use]
    pub fn wish(&self, catalogue: &Catalogue, said: &str, species: Option<SpeciesId>) -> (Described, Target) {
        let described = self.describe(catalogue, said, species);
        let mut target = Target { sex: described.animal.sex, ..Target::default() };
        if let Some(of) = described.species.map(|id| catalogue.get(id)) {
            for carried in &described.animal.genes {
                target.genes.push((carried.gene, carried.copies));
                if carried.copies == 1 && of.gene(carried.gene).is_recessive() {
                    target.hets.push(carried.gene);
                }
            }
        }
        (described, target)
    }

    /// Whether a word or phrase names a gene, a combination or a look of any species.
    #[must_use]
    pub fn names_gene(&self, said: &str) -> bool {
        let key = crate::species::names::joined(said);
        self.lexicon.senses(&key).is_some()
    }

    /// Genes named anywhere in a text, with copies as described.
    #[must_use]
    pub fn genes_in(&self, catalogue: &Catalogue, said: &str, species: SpeciesId) -> Vec<(GeneId, u8)> {
        self.describe(catalogue, said, Some(species)).animal.genes.iter().map(|c| (c.gene, c.copies)).collect()
    }
}
