//! An animal before the other parent is known.

use crate::engine::odds::{Odds, none, sure};
use crate::reading::requests::{Animal, Assumed, Carried, Choice, Question, SexSaid, Unclear};
use crate::species::{GeneId, Species};

/// How sure a het is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::reading) enum Chance {
    /// Stated as a fact.
    Sure,
    /// A stated share.
    Part(Odds),
    /// "possible", without a number.
    Open,
}

/// One gene of the draft.
#[derive(Debug, Clone)]
pub(super) struct Gene {
    pub(in crate::reading) id: GeneId,
    pub(in crate::reading) copies: u8,
    pub(in crate::reading) chance: Chance,
    /// The copies were said ("super", "homo"), not taken from the bare name.
    pub(in crate::reading) firm: bool,
    /// The word it came from.
    pub(in crate::reading) word: String,
    /// Came out of a combination or pair name.
    pub(in crate::reading) coined: bool,
}

/// An animal before the other parent is known.
#[derive(Debug, Clone, Default)]
pub(in crate::reading) struct Draft {
    pub(in crate::reading) animal: Animal,
    pub(super) genes: Vec<Gene>,
    /// A het word without a gene: takes the recessives of the other side.
    pub(in crate::reading) open_het: Option<Chance>,
    /// "het both": one copy of every recessive of the other side.
    pub(in crate::reading) het_all: Option<Chance>,
    /// "visual" without a gene.
    pub(in crate::reading) open_visual: bool,
    /// "a super", of a wish: two copies of what both parents show.
    pub(in crate::reading) open_super: bool,
    /// "same": a copy of the other animal.
    pub(in crate::reading) same: bool,
    /// "normal" was said, or nothing but a sex.
    pub(in crate::reading) normal: bool,
    /// Males, females and unsexed as counted.
    pub(in crate::reading) counts: Option<(u16, u16, u16)>,
    /// A pair or trio of such animals: they are both parents.
    pub(in crate::reading) pair: bool,
    /// Only its forebears were told so far.
    pub(in crate::reading) foretold: bool,
    /// Young of the animal before it: "his daughter".
    pub(in crate::reading) child: bool,
    /// Double, triple, … het: so many genes must be named.
    pub(in crate::reading) het_count: Option<(usize, String)>,
    pub(in crate::reading) governed: Vec<GeneId>,
    pub(in crate::reading) questions: Vec<Question>,
    pub(in crate::reading) assumed: Vec<Assumed>,
    pub(in crate::reading) unread: Vec<String>,
}

impl Draft {
    /// An animal of which only its forebears were told so far.
    pub(in crate::reading) fn foretold() -> Self {
        Self { foretold: true, ..Self::default() }
    }

    /// Recessives named on this animal, with any number of copies.
    pub(in crate::reading) fn recessives(&self, species: &Species) -> Vec<GeneId> {
        self.genes.iter().map(|g| g.id).filter(|g| species.gene(*g).is_recessive()).collect()
    }

    /// Whether it leans on the other animal.
    pub(in crate::reading) fn says_open(&self) -> bool {
        self.open_het.is_some() || self.het_all.is_some() || self.open_visual || self.same
    }

    /// Whether a gene, a look or an open word stands in it.
    pub(in crate::reading) fn has_genes(&self) -> bool {
        !self.genes.is_empty() || self.says_open() || self.open_super || !self.animal.looks.is_empty()
    }

    /// Genes and copies, certain or not.
    pub(in crate::reading) fn named(&self) -> Vec<(GeneId, u8)> {
        self.genes.iter().map(|g| (g.id, g.copies)).collect()
    }

    /// One copy of `gene`, with this chance, if the animal says nothing of it yet.
    pub(in crate::reading) fn carry(&mut self, gene: GeneId, copies: u8, chance: Chance) {
        if !self.genes.iter().any(|g| g.id == gene) {
            self.genes.push(Gene { id: gene, copies, chance, firm: true, word: String::new(), coined: false });
        }
    }

    /// The same for each of several genes.
    pub(in crate::reading) fn carry_each(&mut self, genes: &[GeneId], copies: u8, chance: &Chance) {
        for gene in genes {
            self.carry(*gene, copies, chance.clone());
        }
    }

    /// The number of hets that "dh" promised and nobody has named yet.
    pub(in crate::reading) fn promised_hets(&self) -> Option<(usize, &str)> {
        self.het_count.as_ref().map(|(n, w)| (*n, w.as_str()))
    }

    /// "pastel, poss super, both parents single": a visible young of two single copies has two copies in one case of three.
    pub(in crate::reading) fn settle_super(&mut self, two: impl Fn(GeneId) -> Option<Odds>) {
        for gene in self.open_supers() {
            let Some(two) = two(gene) else { continue };
            self.questions.retain(|q| open_super(q) != Some(gene));
            for (copies, share) in [(1, sure() - &two), (2, two)] {
                if share == none() {
                    continue;
                }
                let chance = if share >= sure() { Chance::Sure } else { Chance::Part(share) };
                self.genes.push(Gene { id: gene, copies, chance, firm: true, word: String::new(), coined: false });
            }
        }
    }

    /// Genes of which one or two copies may be there.
    pub(super) fn open_supers(&self) -> Vec<GeneId> {
        self.questions.iter().filter_map(open_super).collect()
    }

    /// Another animal with the same genes, which asks and says nothing of its own.
    pub(in crate::reading) fn alike(&self) -> Self {
        Self { questions: Vec::new(), assumed: Vec::new(), unread: Vec::new(), ..self.clone() }
    }

    /// Takes over what a further sentence tells of the same animal.
    pub(in crate::reading) fn hear_more(&mut self, more: Self, species: &Species) {
        if self.animal.sex == SexSaid::Unknown {
            self.animal.sex = more.animal.sex;
        }
        self.animal.name = self.animal.name.take().or(more.animal.name.clone());
        if self.animal.said.is_empty() {
            self.animal.said.clone_from(&more.animal.said);
        }
        self.animal.weight_g = self.animal.weight_g.or(more.animal.weight_g);
        self.animal.age_months = self.animal.age_months.or(more.animal.age_months);
        self.animal.side = self.animal.side.or(more.animal.side);
        self.normal |= more.normal;
        // "her mom was a snow so she's het for both": both are named already.
        if more.het_all.is_some() && self.recessives(species).len() < 2 {
            self.het_all = more.het_all;
        }
        self.open_het = self.open_het.take().or(more.open_het);
        self.open_visual |= more.open_visual;
        for gene in more.genes {
            self.carry(gene.id, gene.copies, gene.chance);
        }
        self.questions.extend(more.questions);
        self.assumed.extend(more.assumed);
        self.unread.extend(more.unread);
    }

    /// Takes the genes of another animal ("same").
    pub(in crate::reading) fn copy_genes(&mut self, other: &Self) {
        self.genes.clone_from(&other.genes);
    }

    /// The finished animal: genes sorted by id, chances exact. Genes whose chance is still open are left to the question.
    pub(in crate::reading) fn into_animal(self, species: &Species) -> Animal {
        let mut animal = self.animal;
        for gene in self.genes {
            let chance = match gene.chance {
                Chance::Sure => sure(),
                Chance::Part(p) => p,
                Chance::Open => continue,
            };
            animal.genes.push(Carried { gene: gene.id, copies: gene.copies, chance });
        }
        animal.genes.sort_by(|a, b| {
            species.gene(a.gene).entry.id.cmp(&species.gene(b.gene).entry.id).then(a.copies.cmp(&b.copies))
        });
        animal
    }
}

/// The gene that a "possible super" asks about.
fn open_super(question: &Question) -> Option<GeneId> {
    match (question.kind, question.readings.first()) {
        (Unclear::SuperChance, Some(Choice::Genes(_, genes))) => genes.first().map(|g| g.0),
        _ => None,
    }
}
