//! What a keeper's records say together: the engine's records of a herd, and what follows from them for every animal.
//!
//! In: one species, a [`Herd`], the loci that matter. Out: [`Evidence`], from which chances and clashes are asked.
//! Nothing that follows is ever stored: the herd keeps what was told, so that a clutch counts once, and taking it back
//! takes back all that it moved.
//! An animal without a known parent is a founder with its keeper's word; where that says nothing of a recessive, it carries
//! it as often as animals elsewhere are told to. A parent whose genes nobody told carries at
//! most what its young here show. Start at [`Evidence::of`].

mod build; // the records made from a herd
mod founders; // what founders and parents elsewhere carry
mod history; // how a chance moved, clutch by clutch
mod weighed; // what follows for every animal

use std::collections::HashMap;

use super::animal::{Animal, AnimalId, Belief, ClutchId};
use super::events::{Clutch, Young};
use super::herd::Herd;
use crate::engine::inheritance::locus::{AlleleId, Genetics, GeneticsError, LocusId};
use crate::engine::odds::{Odds, sure, to_f64};
use crate::engine::pedigree::clash::{Clash, clash};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::engine::pedigree::evidence::{EvidenceError, Posterior, weigh};
use crate::engine::pedigree::kinship::{self, KinshipError};
use crate::engine::pedigree::outlook::{Together, together};
use crate::engine::pedigree::records::{self, Records};
use crate::species::{GeneId, Species};
use build::tells_chromosomes;

pub use history::{Point, history};

/// What words about an animal elsewhere say of its genes; nothing where they say none.
pub type Outside<'a> = &'a dyn Fn(&str) -> Option<Vec<Belief>>;

/// The engine's records of one species of a herd.
#[derive(Debug)]
pub struct Evidence<'a> {
    species: &'a Species,
    herd: &'a Herd,
    genetics: Genetics,
    /// The species' loci, in the order of these genetics.
    loci: Vec<LocusId>,
    linked: bool,
    records: Records,
    /// The animals of the herd by their place in the records; whoever follows is not kept here.
    members: Vec<AnimalId>,
    places: HashMap<AnimalId, usize>,
    /// Per clutch of the records, the herd's; those without one only hold a keeper's word.
    clutches: Vec<Option<ClutchId>>,
    /// Per kind of young of a clutch of the records, its place in the herd's clutch.
    kinds: Vec<Vec<usize>>,
    /// Young of clutches with several fathers that are not animals of the herd: whose they are.
    unnamed: HashMap<usize, ClutchId>,
    /// Whose word a clutch without one holds.
    words: HashMap<usize, AnimalId>,
}

/// What follows for every animal.
#[derive(Debug)]
pub struct Weighed<'e, 'a> {
    evidence: &'e Evidence<'a>,
    posterior: Posterior,
}

/// The loci that any record of a species in this herd speaks of.
#[must_use]
pub fn loci(species: &Species, herd: &Herd) -> Vec<LocusId> {
    let animals = herd.animals.iter().filter(|a| a.species == species.key()).flat_map(|a| &a.genes);
    let young = herd.clutches.iter().filter(|c| is_of(species, herd, c)).flat_map(|c| &c.young).flat_map(|y| &y.genes);
    let common = herd.frequencies.iter().filter(|f| f.species == species.key()).map(|f| f.gene.as_str());
    let named = animals.chain(young).map(|b| b.gene.as_str()).chain(common);
    let genes = named.filter_map(|id| species.gene_by_id(id));
    let mut loci: Vec<LocusId> = genes.filter_map(|g| species.place(g)).map(|p| p.0).collect();
    loci.sort_unstable();
    loci.dedup();
    loci
}

/// Those of [`loci`] that hold a recessive: only there something is carried unseen.
#[must_use]
pub fn recessive_loci(species: &Species, herd: &Herd) -> Vec<LocusId> {
    let recessive = |id: &LocusId| {
        let genes = species.loci().get(usize::from(id.0)).map_or(&[][..], |l| &l.genes);
        genes.iter().any(|g| species.gene(*g).is_recessive())
    };
    loci(species, herd).into_iter().filter(recessive).collect()
}

fn is_of(species: &Species, herd: &Herd, clutch: &Clutch) -> bool {
    let parents = [clutch.dam_id, clutch.sire_id];
    parents.into_iter().flatten().filter_map(|id| herd.animal(id)).any(|a| a.species == species.key())
}

impl<'a> Evidence<'a> {
    /// The records of one species of a herd at these loci; with none of them only the pedigree.
    ///
    /// # Errors
    /// [`GeneticsError`] when the catalogue's loci make no species.
    pub fn of(
        species: &'a Species,
        herd: &'a Herd,
        loci: &[LocusId],
        outside: Outside<'_>,
    ) -> Result<Self, GeneticsError> {
        let linked = tells_chromosomes(species, herd);
        let whole = species.genetics(linked)?;
        let chosen = loci.iter().filter_map(|id| whole.locus(*id).cloned()).collect();
        let genetics = Genetics::new(chosen, whole.sex().cloned())?;
        let members: Vec<AnimalId> = herd.animals.iter().filter(|a| a.species == species.key()).map(|a| a.id).collect();
        let places = members.iter().enumerate().map(|(at, id)| (*id, at)).collect();
        let mut evidence = Self {
            species,
            herd,
            genetics,
            loci: loci.to_vec(),
            linked,
            records: Records::default(),
            members,
            places,
            clutches: Vec::new(),
            kinds: Vec::new(),
            unnamed: HashMap::new(),
            words: HashMap::new(),
        };
        evidence.build(outside);
        Ok(evidence)
    }

    /// The pedigree alone, for relationships.
    ///
    /// # Errors
    /// As [`Evidence::of`].
    pub fn pedigree(species: &'a Species, herd: &'a Herd) -> Result<Self, GeneticsError> {
        Self::of(species, herd, &[], &|_| None)
    }

    /// Everybody's chances.
    ///
    /// # Errors
    /// [`EvidenceError`]: records that contradict each other, or that are too entangled.
    pub fn weigh(&self) -> Result<Weighed<'_, 'a>, EvidenceError> {
        Ok(Weighed { evidence: self, posterior: weigh(&self.genetics, &self.records)? })
    }

    /// The fewest records that cannot all be true; `None` if all can.
    #[must_use]
    pub fn clash(&self) -> Option<Clash> {
        clash(&self.genetics, &self.records).ok().flatten()
    }

    /// A male and a female of the herd at a gene's locus, with everything that is known.
    ///
    /// # Errors
    /// [`EvidenceError`], also for an animal or gene that is not in these records.
    pub fn together(&self, sire: AnimalId, dam: AnimalId, gene: GeneId) -> Result<Together, EvidenceError> {
        let not_there = |id| EvidenceError::NotThere { animal: Member(usize::MAX), locus: id };
        let (locus, _) = self.at(gene).ok_or(not_there(LocusId(u16::MAX)))?;
        let (sire, dam) = (self.member(sire).ok_or(not_there(locus))?, self.member(dam).ok_or(not_there(locus))?);
        together(&self.genetics, &self.records, sire, dam, locus)
    }

    /// The kinship of two animals of the herd: the inbreeding that their young would have.
    ///
    /// # Errors
    /// [`KinshipError`], also for an animal that is not in these records.
    pub fn kinship(&self, one: AnimalId, other: AnimalId) -> Result<Odds, KinshipError> {
        let member = |id| self.member(id).ok_or(KinshipError::Unknown { animal: Member(usize::MAX) });
        kinship::of_pair(&self.records, member(one)?, member(other)?)
    }

    /// The parents of an animal as members of the records, sire first; animals elsewhere are members, too.
    #[must_use]
    pub fn parents(&self, of: Member) -> [Option<Member>; 2] {
        let from = |sires: &records::Sires, dam: Option<Member>| {
            let sire = match &sires[..] {
                [only] => Some(only.0),
                _ => None,
            };
            [sire, dam]
        };
        if let Some(clutch) = self.records.clutches.iter().find(|c| c.named.contains(&of)) {
            return from(&clutch.sires, clutch.dam);
        }
        self.records.animals.get(of.0).map_or([None; 2], |a| from(&a.sires, a.dam))
    }

    /// The parents of a clutch of the records, sire first.
    #[must_use]
    pub fn parents_of_clutch(&self, at: usize) -> [Option<Member>; 2] {
        self.records.clutches.get(at).map_or([None; 2], |c| [c.sires.first().map(|s| s.0), c.dam])
    }

    /// The place of a herd's animal in these records.
    #[must_use]
    pub fn member(&self, id: AnimalId) -> Option<Member> {
        self.places.get(&id).map(|at| Member(*at))
    }

    /// The herd's animal at a place in the records; nobody for parents elsewhere.
    #[must_use]
    pub fn kept(&self, member: Member) -> Option<&'a Animal> {
        self.members.get(member.0).and_then(|id| self.herd.animal(*id))
    }

    /// The herd's clutch at a place in the records.
    #[must_use]
    pub fn clutch(&self, at: usize) -> Option<&'a Clutch> {
        self.clutches.get(at).copied().flatten().and_then(|id| self.herd.clutch(id))
    }

    /// The young of one kind in a clutch of the records.
    #[must_use]
    pub fn young(&self, clutch: usize, kind: usize) -> Option<&'a Young> {
        self.clutch(clutch)?.young.get(*self.kinds.get(clutch)?.get(kind)?)
    }

    /// The animal whose keeper's word a clutch of the records stands for.
    #[must_use]
    pub fn word_of(&self, clutch: usize) -> Option<&'a Animal> {
        self.words.get(&clutch).and_then(|id| self.herd.animal(*id))
    }

    /// The named young of a clutch of the records, or the animal itself.
    #[must_use]
    pub fn named(&self, place: records::Place) -> Vec<&'a Animal> {
        match place {
            records::Place::Animal(member) => self.kept(member).into_iter().collect(),
            records::Place::Clutch(at) => {
                let named = self.records.clutches.get(at).map_or(&[][..], |c| &c.named);
                named.iter().filter_map(|m| self.kept(*m)).collect()
            }
        }
    }

    /// The locus and allele of a gene in these records.
    #[must_use]
    pub fn at(&self, gene: GeneId) -> Option<(LocusId, AlleleId)> {
        let (locus, allele) = self.species.place(gene)?;
        let at = self.loci.iter().position(|id| *id == locus)?;
        Some((LocusId(u16::try_from(at).ok()?), allele))
    }

    /// The genes of a locus of these records.
    #[must_use]
    pub fn genes_at(&self, locus: LocusId) -> &'a [GeneId] {
        let id = self.loci.get(usize::from(locus.0));
        id.and_then(|id| self.species.loci().get(usize::from(id.0))).map_or(&[], |l| &l.genes)
    }
}

/// Those of some loci whose records do not contradict each other.
#[must_use]
pub fn sound(species: &Species, herd: &Herd, loci: &[LocusId], outside: Outside<'_>) -> Vec<LocusId> {
    let fits = |loci: &[LocusId]| {
        let weighed = Evidence::of(species, herd, loci, outside).map(|e| e.weigh().map(|_| ()));
        !matches!(weighed, Ok(Err(EvidenceError::Impossible)))
    };
    if fits(loci) {
        return loci.to_vec();
    }
    let alone: Vec<LocusId> = loci.iter().copied().filter(|id| fits(&[*id])).collect();
    // Loci that only contradict each other (they name different fathers) tell nothing together.
    if fits(&alone) { alone } else { Vec::new() }
}

/// A herd as it is believed to be now: every animal's beliefs with what hatched in mind. Where records of a locus
/// contradict each other, or are too entangled, they stay as told.
#[must_use]
pub fn as_believed<'a>(species: impl IntoIterator<Item = &'a Species>, herd: &Herd, outside: Outside<'_>) -> Herd {
    let mut now = herd.clone();
    for species in species {
        // Only what is carried unseen is ever in doubt.
        let loci = recessive_loci(species, herd);
        let relatives = |a: &Animal| a.sire_id.is_some() || a.dam_id.is_some();
        let any = herd.animals.iter().any(|a| a.species == species.key() && relatives(a))
            || herd.clutches.iter().any(|c| c.n_young() > 0);
        if loci.is_empty() || !any {
            continue;
        }
        let loci = sound(species, herd, &loci, outside);
        let Ok(evidence) = Evidence::of(species, herd, &loci, outside) else { continue };
        let Ok(weighed) = evidence.weigh() else { continue };
        for animal in now.animals.iter_mut().filter(|a| a.species == species.key()) {
            animal.genes = weighed.beliefs(animal);
        }
    }
    now
}

/// Whether two chances are the same but for what sums in floating point lose.
#[must_use]
pub fn is_same(a: &Odds, b: &Odds) -> bool {
    a == b || (to_f64(a) - to_f64(b)).abs() < 1e-7 && (*a == sure()) == (*b == sure())
}

fn place(at: usize) -> LocusId {
    LocusId(u16::try_from(at).unwrap_or(u16::MAX))
}
