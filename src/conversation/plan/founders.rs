//! Whom a project can start from, and whom it could buy in later: kinds of animals, not animals on sale.

use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::sure;
use crate::reading::records::goals::Part;
use crate::reading::requests::{Animal, Carried, SexSaid, Target};
use crate::species::{GeneId, Species};

/// An animal of certain genes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::conversation) struct Kind {
    pub(in crate::conversation) genes: Vec<(GeneId, u8)>,
    pub(in crate::conversation) sex: Sex,
    /// What a kept animal is called.
    pub(in crate::conversation) name: Option<String>,
    /// Seasons until it can be paired.
    pub(in crate::conversation) ready: u32,
}

/// An animal that can be bought.
#[derive(Debug, Clone)]
pub(in crate::conversation) struct Priced {
    pub(in crate::conversation) kind: Kind,
    /// Its price, in hundredths.
    pub(in crate::conversation) cents: i64,
}

impl Kind {
    /// Whether it plays such a part in a project of two recessives.
    pub(in crate::conversation) fn plays(&self, part: Part) -> bool {
        match part {
            Part::VisualHet => self.genes.iter().any(|gene| gene.1 == 2) && self.genes.iter().any(|gene| gene.1 == 1),
            Part::DoubleHet => self.genes.len() == 2 && self.genes.iter().all(|gene| gene.1 == 1),
        }
    }

    fn new(genes: &[(GeneId, u8)], sex: Sex) -> Self {
        Self { genes: genes.to_vec(), sex, name: None, ready: 0 }
    }

    /// Whether two are of the same genes and sex.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        self.sex == other.sex && self.genes == other.genes
    }

    /// Its name, else its genes.
    pub(in crate::conversation) fn words(&self, species: &Species) -> String {
        self.name.clone().unwrap_or_else(|| crate::conversation::labels::animal(species, &self.animal(species)))
    }

    /// As an animal of a reading, for its name.
    pub(super) fn animal(&self, species: &Species) -> Animal {
        let sex = if self.sex == Sex::Male { SexSaid::Male } else { SexSaid::Female };
        let carried = |(gene, copies): &(GeneId, u8)| Carried { gene: *gene, copies: *copies, chance: sure() };
        let mut genes: Vec<Carried> = self.genes.iter().map(carried).collect();
        genes.sort_by(|a, b| species.gene(a.gene).entry.id.cmp(&species.gene(b.gene).entry.id));
        Animal { sex, genes, ..Animal::default() }
    }
}

const SEXES: [Sex; 2] = [Sex::Male, Sex::Female];

/// Recessives and visible genes of a goal.
fn parts(species: &Species, goal: &Target) -> (Vec<GeneId>, Vec<GeneId>) {
    goal.genes.iter().map(|g| g.0).partition(|g| species.gene(*g).is_recessive())
}

/// What can be had at the start: a visual of each recessive, alone or with one visible gene, and each visible gene alone.
pub(super) fn from_scratch(species: &Species, goal: &Target) -> Vec<Kind> {
    let (recessives, visible) = parts(species, goal);
    let mut kinds = Vec::new();
    for sex in SEXES {
        for gene in &recessives {
            kinds.push(Kind::new(&[(*gene, 2)], sex));
            for shown in &visible {
                // Two alleles of one locus are a pair of their own, not a visible gene on top.
                if species.gene(*gene).locus != species.gene(*shown).locus {
                    kinds.push(Kind::new(&[(*gene, 2), (*shown, 1)], sex));
                }
            }
        }
        for shown in &visible {
            kinds.push(Kind::new(&[(*shown, 1)], sex));
        }
    }
    kinds
}

/// What could be bought to enter at a later phase: a visual that is het for another recessive of the goal, and double hets.
pub(in crate::conversation) fn to_buy(species: &Species, goal: &Target) -> Vec<Kind> {
    let (recessives, _) = parts(species, goal);
    let mut kinds = Vec::new();
    for (i, a) in recessives.iter().enumerate() {
        for b in &recessives[i + 1..] {
            for sex in SEXES {
                kinds.push(Kind::new(&[(*a, 2), (*b, 1)], sex));
                kinds.push(Kind::new(&[(*b, 2), (*a, 1)], sex));
                kinds.push(Kind::new(&[(*a, 1), (*b, 1)], sex));
            }
        }
    }
    kinds
}
