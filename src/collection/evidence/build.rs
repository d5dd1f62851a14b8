//! The engine's records made from a herd: founders with their keeper's word, families, young that were sold, words that
//! hold of animals with known parents.

use std::collections::HashMap;

use super::{Evidence, Outside, is_of, place};
use crate::collection::animal::{Animal, AnimalId, Basis, Belief, ClutchId, Parent, Sex};
use crate::collection::events::{Clutch, Young};
use crate::collection::genes;
use crate::collection::herd::Herd;
use crate::engine::inheritance::genotype::{self, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Look, Sex as EngineSex};
use crate::engine::odds::{Odds, none, sure};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::engine::pedigree::records::{self, Seen};
use crate::species::Species;
use crate::species::genetics::Sits;

impl Evidence<'_> {
    pub(super) fn build(&mut self, outside: Outside<'_>) {
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
                let known = |parent: Parent<'_>| matches!(parent, Parent::Kept(id) if self.places.contains_key(&id));
                let of_nobody = !known(animal.sire()) && !known(animal.dam());
                let own = if of_nobody { self.as_elsewhere(own) } else { own };
                self.records.animals[at].beliefs = self.on_chromosomes(own, engine_sex(animal.sex));
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
                Some(told) => self.as_elsewhere(self.genome(&told)),
                None => self.open(young),
            };
            let beliefs = self.on_chromosomes(beliefs, Some(sex));
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

    fn brood(
        &mut self,
        clutch: &Clutch,
        named: &[usize],
        outside: Outside<'_>,
        elsewhere: &mut HashMap<(AnimalId, String), Member>,
    ) {
        if named.is_empty() && clutch.n_told() == 0 {
            return;
        }
        let herd = self.herd;
        let mut left: Vec<Young> = clutch.young.clone();
        // Named young are counted in the clutch, too.
        let names: Vec<&Animal> = named.iter().filter_map(|at| herd.animal(self.members[*at])).collect();
        for animal in &names {
            let own = self.seen(&self.genome(&animal.genes));
            let alike = |y: &&mut Young| y.n() > 0 && !y.untold && self.seen(&self.genome(&y.genes)) == own;
            if let Some(kind) = left.iter_mut().find(alike) {
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
            for sire in &mut sires {
                sire.1 = gone.clone();
            }
            sires.retain(|s| s.1 > none());
            sires.extend(kept);
            if several.mixed {
                return self.by_either(clutch.id, &left, named, &sires, dam);
            }
        }
        let mut young = Vec::new();
        let mut kinds = Vec::new();
        // Young of whom no look is told say nothing.
        for (at, kind) in left.iter().enumerate().filter(|(_, y)| !y.untold) {
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
        for kind in left.iter().filter(|y| !y.untold) {
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
    pub(super) fn place_of_sires(&self, clutch: ClutchId) -> Option<usize> {
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

/// Sex-linked genes are followed on their chromosomes where every animal that has one is sexed; a male whose side nobody told
/// may have his on either.
pub(super) fn tells_chromosomes(species: &Species, herd: &Herd) -> bool {
    let linked = |b: &Belief| species.gene_by_id(&b.gene).is_some_and(|g| species.gene(g).entry.sex_linked.is_some());
    let mut carriers =
        herd.animals.iter().filter(|a| a.species == species.key() && a.genes.iter().any(linked)).peekable();
    let xy = matches!(species.file().meta.sex_system, crate::species::entries::SexSystemName::Xy);
    xy && carriers.peek().is_some() && carriers.all(|a| a.sex != Sex::Unknown)
}
