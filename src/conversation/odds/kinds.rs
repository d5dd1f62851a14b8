//! The kinds of young of a cross, by look, each with its name and what it carries.

use crate::engine::inheritance::clutch::Wanted;
use crate::engine::inheritance::cross::{Factor, Offspring};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{LocusId, Look, Sex};
use crate::engine::inheritance::outcomes::LookOutcome;
use crate::engine::odds::{Odds, sure};

use super::super::labels::{self, Named};
use crate::species::Species;

/// The genotypes that a look leaves at one locus, with their chances given the look.
pub(super) type At = (LocusId, Vec<(Genotype, Odds)>);

/// One kind of young.
pub(super) struct Kind {
    /// Its sex, where a sex-linked gene is in play.
    pub(super) sex: Option<Sex>,
    /// Its share of all eggs.
    pub(super) share: Odds,
    /// What shows and what is carried, by locus.
    pub(super) parts: Vec<(LocusId, Vec<Named>)>,
    /// Its genotypes at every locus in play.
    pub(super) told: Vec<At>,
}

impl Kind {
    /// Whether nothing shows.
    pub(super) fn is_normal(&self) -> bool {
        !self.parts.iter().flat_map(|p| &p.1).any(|named| named.0.shows())
    }

    /// Its name, without what stands at the loci in `common`.
    pub(super) fn name(&self, common: &[LocusId]) -> String {
        let own = self.parts.iter().filter(|(id, _)| !common.contains(id)).flat_map(|p| p.1.clone());
        let own: Vec<Named> = own.collect();
        // "normal-looking" would be wrong beside common genes that show.
        let bare = self.parts.iter().any(|(id, p)| common.contains(id) && p.iter().any(|named| named.0.shows()));
        let name = labels::name(own, bare);
        let name = if name.is_empty() { "nothing more".to_owned() } else { name };
        format!("{}{name}", mark(self.sex))
    }

    /// What shows, without what is carried.
    pub(super) fn look(&self) -> String {
        let shown = self.parts.iter().flat_map(|p| p.1.clone()).filter(|named| named.0.shows());
        format!("{}{}", mark(self.sex), labels::name(shown.collect(), false))
    }

    /// What is carried unseen, in words.
    pub(super) fn carried(&self) -> Vec<String> {
        let mut hets: Vec<Named> =
            self.parts.iter().flat_map(|p| p.1.clone()).filter(|named| !named.0.shows()).collect();
        hets.sort();
        hets.into_iter().map(|named| named.1).collect()
    }

    /// This kind as a wish.
    pub(super) fn wanted(&self) -> Wanted {
        let mut wanted = Wanted::any();
        for (locus, genotypes) in &self.told {
            wanted = wanted.with(*locus, genotypes.iter().map(|g| g.0));
        }
        match self.sex {
            Some(sex) => wanted.of_sex(sex),
            None => wanted,
        }
    }
}

fn mark(sex: Option<Sex>) -> &'static str {
    match sex {
        Some(Sex::Male) => "♂ ",
        Some(Sex::Female) => "♀ ",
        None => "",
    }
}

/// Every kind of young by look, the most likely first, lazily.
pub(super) fn kinds<'a>(species: &'a Species, young: &'a Offspring) -> impl Iterator<Item = Kind> + 'a {
    young.looks().map(move |row| {
        let told = told(young, &row);
        let parts = told.iter().map(|(locus, at)| (*locus, labels::at_locus(species, *locus, at))).collect();
        Kind { sex: row.sex, share: row.probability, parts, told }
    })
}

/// The genotypes of a kind of young at every locus in play, also where the look alone tells them.
fn told(young: &Offspring, row: &LookOutcome) -> Vec<At> {
    let given = |id: LocusId| row.genotypes.iter().find(|(locus, _)| *locus == id).map(|(_, g)| g.to_vec());
    let alone = |id: LocusId, look: Look| {
        let factor = young.factor(id)?;
        let sexed = |sex: Option<Sex>| row.sex.is_none() || sex.is_none() || sex == row.sex;
        let cell = factor.cells().iter().find(|c| sexed(c.sex) && factor.locus().look_of(c.genotype) == look)?;
        Some(vec![(cell.genotype, sure())])
    };
    row.looks.iter().filter_map(|(id, look)| Some((*id, given(*id).or_else(|| alone(*id, *look))?))).collect()
}

/// Loci at which all young are alike, if they are so many that naming them on every line would hide the rest.
pub(super) fn common(young: &Offspring) -> Vec<LocusId> {
    let alike = young.factors().iter().filter(|f| f.looks().len() == 1).map(Factor::id);
    let alike: Vec<LocusId> = alike.collect();
    if alike.len() >= 3 && alike.len() < young.factors().len() { alike } else { Vec::new() }
}
