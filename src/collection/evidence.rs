//! What a keeper's records say together: the engine's records of a herd, and what follows from them for every animal.
//!
//! In: one species, a [`Herd`], the loci that matter. Out: [`Evidence`], from which chances and clashes are asked.
//! Nothing that follows is ever stored: the herd keeps what was told, so that a clutch counts once, and taking it back
//! takes back all that it moved.
//! An animal without a known parent is a founder with its keeper's word. A parent whose genes nobody told carries at
//! most what its young here show. Start at [`Evidence::of`].

use std::collections::HashMap;

use super::animal::{Animal, AnimalId, Basis, Belief, ClutchId, Parent, Sex};
use super::events::{Clutch, Young};
use super::genes;
use super::herd::Herd;
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::genotype::{self, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, GeneticsError, LocusId, Look, Sex as EngineSex};
use crate::engine::odds::{Odds, none, odds, sure, to_f64};
use crate::engine::pedigree::clash::{Clash, clash};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::engine::pedigree::evidence::{EvidenceError, Posterior, weigh};
use crate::engine::pedigree::kinship::{self, KinshipError};
use crate::engine::pedigree::outlook::{Together, together};
use crate::engine::pedigree::records::{self, Records, Seen};
use crate::species::genetics::Sits;
use crate::species::{GeneId, Species};

/// Rounded chances are kept to so many parts.
const PARTS: i64 = 1_000_000_000;

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
    let genes = animals.chain(young).filter_map(|b| species.gene_by_id(&b.gene));
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

    fn build(&mut self, outside: Outside<'_>) {
        let herd = self.herd;
        for id in self.members.clone() {
            let Some(animal) = herd.animal(id) else { continue };
            self.records.animals.push(records::Animal { sex: engine_sex(animal.sex), ..records::Animal::default() });
        }
        let mut elsewhere: HashMap<(AnimalId, String), Member> = HashMap::new();
        let mut named_in: HashMap<ClutchId, Vec<usize>> = HashMap::new();
        for at in 0..self.members.len() {
            let Some(animal) = herd.animal(self.members[at]) else { continue };
            let clutch = animal.clutch_id.and_then(|id| herd.clutch(id)).filter(|c| is_from(animal, c));
            let founder = self.is_founder(animal, outside);
            let own = self.genome(&animal.genes);
            if founder {
                self.records.animals[at].beliefs = own;
                continue;
            }
            self.records.animals[at].seen = self.seen(&own);
            if let Some(clutch) = clutch {
                named_in.entry(clutch.id).or_default().push(at);
            } else {
                let (sire, dam) = self.couple(animal.sire(), animal.dam(), &[&animal.genes], outside, &mut elsewhere);
                self.records.animals[at].sires = sire.map(|s| (s, sure())).into_iter().collect();
                self.records.animals[at].dam = dam;
            }
            self.keep_word(at, animal);
        }
        for clutch in herd.clutches.iter().filter(|c| is_of(self.species, herd, c)) {
            let named = named_in.remove(&clutch.id).unwrap_or_default();
            self.brood(clutch, &named, outside, &mut elsewhere);
        }
    }

    /// Whether the keeper's word is all there is of an animal's genes. A share that was told of a young of one unknown
    /// parent holds what is known of that parent, so it stands, too.
    fn is_founder(&self, animal: &Animal, outside: Outside<'_>) -> bool {
        let known = |parent: Parent<'_>| match parent {
            Parent::Kept(id) => self.places.contains_key(&id),
            _ => false,
        };
        let several = animal.clutch_id.and_then(|id| self.herd.clutch(id)).is_some_and(|c| c.sires.is_some());
        let told = |parent: Parent<'_>| match parent {
            Parent::Outside(words) => outside(words).is_some(),
            other => known(other),
        };
        if !known(animal.sire()) && !known(animal.dam()) {
            return true;
        }
        let shared = animal.genes.iter().any(|b| b.chance < sure() && b.basis != Basis::Inferred && self.is_here(b));
        shared && !((several || told(animal.sire())) && told(animal.dam()))
    }

    fn is_here(&self, belief: &Belief) -> bool {
        self.species.gene_by_id(&belief.gene).is_some_and(|g| self.at(g).is_some())
    }

    /// Both parents as members; those elsewhere are added. `young` are the genes that a parent without known genes may
    /// have given.
    fn couple(
        &mut self,
        sire: Parent<'_>,
        dam: Parent<'_>,
        young: &[&[Belief]],
        outside: Outside<'_>,
        elsewhere: &mut HashMap<(AnimalId, String), Member>,
    ) -> (Option<Member>, Option<Member>) {
        let mut one = |parent: Parent<'_>, other: Parent<'_>, sex: EngineSex| -> Option<Member> {
            let words = match parent {
                Parent::Kept(id) if self.places.contains_key(&id) => return self.member(id),
                Parent::Outside(words) => words,
                _ => "",
            };
            // "a clown from the show", named for two litters of one animal, is one animal.
            let key = match other {
                Parent::Kept(id) if !words.is_empty() => Some((id, words.trim().to_lowercase())),
                _ => None,
            };
            if let Some(known) = key.as_ref().and_then(|k| elsewhere.get(k)) {
                return Some(*known);
            }
            let beliefs = match outside(words).filter(|_| !words.is_empty()) {
                Some(told) => self.genome(&told),
                None => self.open(young),
            };
            let member = Member(self.records.animals.len());
            self.records.animals.push(records::Animal { sex: Some(sex), beliefs, ..records::Animal::default() });
            if let Some(key) = key {
                elsewhere.insert(key, member);
            }
            Some(member)
        };
        let father = one(sire, dam, EngineSex::Male);
        (father, one(dam, sire, EngineSex::Female))
    }

    /// A parent of whom nothing is told: where its young show or carry something, it may have had any copies of it.
    fn open(&self, young: &[&[Belief]]) -> Genome {
        let mut genome = Genome::wild();
        for (at, locus) in self.genetics.loci().iter().enumerate() {
            let id = place(at);
            let mut alleles: Vec<AlleleId> = young
                .iter()
                .flat_map(|genes| genes.iter())
                .filter_map(|b| self.species.gene_by_id(&b.gene).and_then(|g| self.at(g)))
                .filter(|(here, _)| *here == id)
                .map(|(_, allele)| allele)
                .collect();
            if alleles.is_empty() || locus.sex_link().is_some() {
                continue;
            }
            alleles.push(AlleleId::WILD);
            alleles.sort_unstable();
            alleles.dedup();
            let pairs =
                alleles.iter().enumerate().flat_map(|(i, a)| alleles[i..].iter().map(|b| Genotype::pair(*a, *b)));
            let alive: Vec<Genotype> = pairs.filter(|g| !locus.is_lethal(*g)).collect();
            let share = odds(1, i64::try_from(alive.len()).unwrap_or(1).max(1));
            if let Ok(belief) = genotype::Belief::mix(alive.into_iter().map(|g| (g, share.clone()))) {
                genome.set(id, belief);
            }
        }
        genome
    }

    fn brood(
        &mut self,
        clutch: &Clutch,
        named: &[usize],
        outside: Outside<'_>,
        elsewhere: &mut HashMap<(AnimalId, String), Member>,
    ) {
        if named.is_empty() && clutch.n_young() == 0 {
            return;
        }
        let herd = self.herd;
        let mut left: Vec<Young> = clutch.young.clone();
        // Named young are counted in the clutch, too.
        let names: Vec<&Animal> = named.iter().filter_map(|at| herd.animal(self.members[*at])).collect();
        for animal in &names {
            let own = self.seen(&self.genome(&animal.genes));
            let alike = left.iter_mut().find(|y| y.n() > 0 && self.seen(&self.genome(&y.genes)) == own);
            if let Some(kind) = alike {
                take_one(kind, animal.sex);
            }
        }
        let genes: Vec<&[Belief]> =
            clutch.young.iter().map(|y| &*y.genes).chain(names.iter().map(|a| &*a.genes)).collect();
        let (sire, dam) = self.couple(clutch.sire(), clutch.dam(), &genes, outside, elsewhere);
        let mut sires: records::Sires = sire.map(|s| (s, sure())).into_iter().collect();
        if let Some(several) = &clutch.sires {
            // One that is not here any more leaves his share to a male of whom nothing is told, added above.
            let kept: Vec<_> = several.of.iter().filter_map(|s| Some((self.member(s.id)?, s.chance.clone()))).collect();
            let gone = sure() - kept.iter().map(|s| &s.1).sum::<Odds>();
            sires.iter_mut().for_each(|s| s.1 = gone.clone());
            sires.retain(|s| s.1 > none());
            sires.extend(kept);
            if several.mixed {
                return self.by_either(clutch.id, &left, named, &sires, dam);
            }
        }
        let mut young = Vec::new();
        let mut kinds = Vec::new();
        for (at, kind) in left.iter().enumerate() {
            let seen = self.seen(&self.genome(&kind.genes));
            let counts: Vec<(Option<EngineSex>, u32)> = if self.linked {
                let of = |n: u8| u32::from(n);
                vec![
                    (Some(EngineSex::Male), of(kind.males)),
                    (Some(EngineSex::Female), of(kind.females)),
                    (None, of(kind.unsexed)),
                ]
            } else {
                vec![(None, kind.n())]
            };
            for (sex, count) in counts.into_iter().filter(|c| c.1 > 0) {
                young.push(records::Young { seen: seen.clone(), sex, count });
                kinds.push(at);
            }
        }
        self.records.clutches.push(records::Clutch {
            sires,
            dam,
            named: named.iter().map(|at| Member(*at)).collect(),
            young,
        });
        self.clutches.push(Some(clutch.id));
        self.kinds.push(kinds);
    }

    /// Young of which each has its own father: each is an animal of its own.
    fn by_either(
        &mut self,
        clutch: ClutchId,
        left: &[Young],
        named: &[usize],
        sires: &records::Sires,
        dam: Option<Member>,
    ) {
        for at in named {
            self.records.animals[*at].sires.clone_from(sires);
            self.records.animals[*at].dam = dam;
        }
        for kind in left {
            let seen = self.seen(&self.genome(&kind.genes));
            for _ in 0..kind.n() {
                self.unnamed.insert(self.records.animals.len(), clutch);
                let young =
                    records::Animal { sires: sires.clone(), dam, seen: seen.clone(), ..records::Animal::default() };
                self.records.animals.push(young);
            }
        }
    }

    /// Where in the posterior's list of fathers a clutch with one of several stands.
    fn place_of_sires(&self, clutch: ClutchId) -> Option<usize> {
        let several = |sires: &records::Sires| sires.iter().filter(|s| s.1 > none()).count() > 1;
        let animals = self.records.animals.iter().filter(|a| several(&a.sires)).count();
        let at = self.clutches.iter().position(|c| *c == Some(clutch))?;
        let before = self.records.clutches.get(..at)?.iter().filter(|c| several(&c.sires)).count();
        several(&self.records.clutches.get(at)?.sires).then_some(animals + before)
    }

    /// A sure copy that the keeper says of a young of known parents. The engine takes no beliefs of such animals, so the
    /// word stands as what would prove it: one visual young with a visual mate.
    fn keep_word(&mut self, at: usize, animal: &Animal) {
        let is_sire = self.herd.animals.iter().any(|a| a.sire_id == Some(animal.id))
            || self.herd.clutches.iter().any(|c| c.sire_id == Some(animal.id));
        for belief in animal.genes.iter().filter(|b| b.copies == 1 && b.chance == sure() && b.basis != Basis::Inferred)
        {
            let Some(gene) = self.species.gene_by_id(&belief.gene) else { continue };
            let Some((locus, allele)) = self.at(gene).filter(|_| self.species.gene(gene).is_recessive()) else {
                continue;
            };
            let Some(here) = self.genetics.locus(locus) else { continue };
            let visual = Genotype::pair(allele, allele);
            if here.is_lethal(visual) || here.sex_link().is_some() {
                continue;
            }
            let look: Seen = [(locus, vec![here.look_of(visual)])].into();
            let mate = Member(self.records.animals.len());
            let male = animal.sex == Sex::Male || animal.sex == Sex::Unknown && is_sire;
            self.records.animals.push(records::Animal {
                sex: Some(if male { EngineSex::Female } else { EngineSex::Male }),
                beliefs: Genome::wild().with(locus, genotype::Belief::sure(visual)),
                ..records::Animal::default()
            });
            let (sire, dam) = if male { (Member(at), mate) } else { (mate, Member(at)) };
            self.words.insert(self.records.clutches.len(), animal.id);
            self.records.clutches.push(records::Clutch {
                sires: vec![(sire, sure())],
                dam: Some(dam),
                named: Vec::new(),
                young: vec![records::Young { seen: look, sex: None, count: 1 }],
            });
            self.clutches.push(None);
            self.kinds.push(Vec::new());
        }
    }

    /// Beliefs at the loci of these records.
    fn genome(&self, beliefs: &[Belief]) -> Genome {
        let sits = if self.linked { genes::sits(beliefs) } else { Sits::Anywhere };
        let whole = genes::genome_sitting(self.species, beliefs, sits);
        let mut genome = Genome::wild();
        for (at, id) in self.loci.iter().enumerate() {
            if let Some(belief) = whole.get(*id) {
                genome.set(place(at), belief.clone());
            }
        }
        genome
    }

    /// What an animal of this genome looks like at every locus of these records.
    fn seen(&self, genome: &Genome) -> Seen {
        let looks = |(at, locus): (usize, &crate::engine::inheritance::locus::Locus)| {
            let id = place(at);
            let wild = Genotype::pair(AlleleId::WILD, AlleleId::WILD);
            let mut looks: Vec<Look> = match genome.get(id) {
                Some(belief) => belief.genotypes().map(|(g, _)| locus.look_of(g)).collect(),
                None => vec![locus.look_of(wild)],
            };
            looks.dedup();
            (id, looks)
        };
        self.genetics.loci().iter().enumerate().map(looks).collect()
    }
}

impl Weighed<'_, '_> {
    /// The chance that an animal has at least one copy of a gene; `None` for one that is not in these records.
    #[must_use]
    pub fn carries(&self, animal: AnimalId, gene: GeneId) -> Option<Odds> {
        let (locus, allele) = self.evidence.at(gene)?;
        let member = self.evidence.member(animal)?;
        (!self.posterior.of(member, locus).is_empty()).then(|| fraction(&self.posterior.carries(member, locus, allele)))
    }

    /// The largest standard error of an animal's chances at a gene, where cases had to be drawn.
    #[must_use]
    pub fn standard_error(&self, animal: AnimalId, gene: GeneId) -> Option<f64> {
        let (locus, _) = self.evidence.at(gene)?;
        self.posterior.standard_error(self.evidence.member(animal)?, locus)
    }

    /// Who fathered a clutch, by all that is recorded; nothing where it was never in doubt, or each young has its own.
    #[must_use]
    pub fn sires(&self, clutch: ClutchId) -> Vec<(AnimalId, Odds)> {
        let place = self.evidence.place_of_sires(clutch).and_then(|at| self.posterior.sires().get(at));
        let kept = |(member, p): &(Member, Figure)| Some((*self.evidence.members.get(member.0)?, fraction(p)));
        place.map_or_else(Vec::new, |sires| sires.iter().filter_map(kept).collect())
    }

    /// What is believed of an animal now: its own beliefs, with those that the records say more of replaced.
    #[must_use]
    pub fn beliefs(&self, animal: &Animal) -> Vec<Belief> {
        let evidence = self.evidence;
        let Some(member) = evidence.member(animal.id) else { return animal.genes.clone() };
        let mut all = animal.genes.clone();
        for (at, id) in evidence.loci.iter().enumerate() {
            let of_locus = evidence.genes_at(place(at));
            let chances = self.posterior.of(member, place(at)).iter().map(|(g, p)| (*g, fraction(p)));
            let Some(belief) = whole(chances.collect()) else { continue };
            let here = |b: &Belief| evidence.species.gene_by_id(&b.gene).is_some_and(|g| of_locus.contains(&g));
            let told: Vec<Belief> = animal.genes.iter().filter(|b| here(b)).cloned().collect();
            let found = genes::kept(evidence.species, *id, &belief, Basis::Inferred);
            let same =
                |a: &Belief, b: &Belief| a.gene == b.gene && a.copies == b.copies && is_same(&a.chance, &b.chance);
            if told.len() == found.len() && told.iter().all(|t| found.iter().any(|f| same(t, f))) {
                continue;
            }
            all.retain(|b| !here(b));
            // What the records make sure of a share was proven by them.
            all.extend(found.into_iter().map(|mut f| {
                let open = told.iter().any(|t| t.gene == f.gene && t.chance < sure());
                if f.chance == sure() {
                    f.basis = if open { Basis::Proven } else { Basis::Inferred };
                }
                f
            }));
        }
        all
    }
}

/// A herd as it is believed to be now: every animal's beliefs with what hatched in mind. Where records contradict each
/// other, or are too entangled, they stay as told.
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

/// Chances as one belief. Rounded ones are set to sum to 1.
fn whole(chances: Vec<(Genotype, Odds)>) -> Option<genotype::Belief> {
    let sum: Odds = chances.iter().map(|c| &c.1).sum();
    let chances = chances.into_iter().filter(|c| c.1 > none());
    genotype::Belief::mix(chances.map(|(g, p)| (g, p / &sum))).ok()
}

/// A figure as a fraction; floating-point ones to nine decimals, but never none of something.
fn fraction(figure: &Figure) -> Odds {
    match figure {
        Figure::Exact(p) => p.clone(),
        #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // within 0 and a billion
        Figure::Rounded(x) if *x > 0.0 => odds(((x * PARTS as f64).round() as i64).max(1), PARTS),
        Figure::Rounded(_) => none(),
    }
}

fn place(at: usize) -> LocusId {
    LocusId(u16::try_from(at).unwrap_or(u16::MAX))
}

fn engine_sex(sex: Sex) -> Option<EngineSex> {
    match sex {
        Sex::Male => Some(EngineSex::Male),
        Sex::Female => Some(EngineSex::Female),
        Sex::Unknown => None,
    }
}

/// Whether an animal's parents are those of the clutch it names: a corrected parent leaves the clutch.
fn is_from(animal: &Animal, clutch: &Clutch) -> bool {
    (animal.sire_id, animal.dam_id) == (clutch.sire_id, clutch.dam_id)
}

fn take_one(kind: &mut Young, sex: Sex) {
    let first = match sex {
        Sex::Male => &mut kind.males,
        Sex::Female => &mut kind.females,
        Sex::Unknown => &mut kind.unsexed,
    };
    if *first > 0 {
        *first -= 1;
        return;
    }
    // Sexed later, or not as it was counted.
    if let Some(any) = [&mut kind.unsexed, &mut kind.males, &mut kind.females].into_iter().find(|n| **n > 0) {
        *any -= 1;
    }
}

/// Sex-linked genes are followed on their chromosomes only where it is told for every animal on which they sit.
fn tells_chromosomes(species: &Species, herd: &Herd) -> bool {
    let linked = |b: &&Belief| species.gene_by_id(&b.gene).is_some_and(|g| species.gene(g).entry.sex_linked.is_some());
    let mut carriers = herd
        .animals
        .iter()
        .filter(|a| a.species == species.key())
        .flat_map(|a| a.genes.iter().filter(linked).map(|b| (a.sex, b)).collect::<Vec<_>>());
    let mut any = false;
    let all = carriers.all(|(sex, b)| {
        any = true;
        sex != Sex::Unknown && (b.copies == 2 || b.side.is_some() || sex == Sex::Female)
    });
    any && all && matches!(species.file().meta.sex_system, crate::species::entries::SexSystemName::Xy)
}
