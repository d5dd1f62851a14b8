//! Which genotypes everybody may have: what looks, sex, parents and young leave possible.
//!
//! In: checked records. Out: [`Cast`], who stands in which family, and [`AtLocus`], the possible genotypes of each.
//! Leaving out what is impossible costs little and makes everything after it small; it decides nothing by itself.

use super::descent::AnimalId;
use super::meiosis::Meiosis;
use super::records::{Families, Young};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Locus, LocusId, Sex, SexLink};
use crate::engine::odds::{Odds, half, none, sure};

/// The most animals and unnamed parents, counted once a locus.
const MOST_NODES: usize = 400_000;
/// The most genotypes that one animal may have at one locus, and the most pairs of parents' genotypes in all families.
const MOST_GENOTYPES: usize = 256;
const MOST_PAIRS: usize = 10_000_000;
/// How often families are looked through for genotypes that relatives rule out. Stopping early costs time, not truth.
const MOST_ROUNDS: usize = 16;

/// Somebody with a genotype: the animals first, then the unnamed and uncertain parents of families.
pub(super) type Node = usize;

/// Who stands where in the families; the same at every locus.
pub(super) struct Cast<'a, 'b> {
    pub(super) families: &'b Families<'a>,
    /// Per family: who is the sire and who is the dam.
    pub(super) sires: Vec<Node>,
    pub(super) dams: Vec<Node>,
    /// Per node: its sex, if known.
    pub(super) sexes: Vec<Option<Sex>>,
    /// Per node: whether it stands for one of several sires.
    pub(super) stands_in: Vec<bool>,
    /// Per family with an uncertain sire: those that are possible, as positions in its list of sires.
    pub(super) candidates: Vec<Vec<usize>>,
}

/// Everybody's possible genotypes at a locus.
pub(super) struct AtLocus<'a> {
    pub(super) id: LocusId,
    pub(super) meiosis: Meiosis<'a>,
    /// Per node, each in order.
    pub(super) domains: Vec<Vec<Genotype>>,
}

/// Why there is no network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoNetwork {
    /// The evidence leaves somebody no genotype.
    Contradiction,
    /// So many animals, loci or possible genotypes that it would take too long.
    TooLarge,
}

impl<'a, 'b> Cast<'a, 'b> {
    /// Finds everybody and what they may have.
    pub(super) fn new(families: &'b Families<'a>) -> Result<(Cast<'a, 'b>, Vec<AtLocus<'a>>), NoNetwork> {
        let n = families.records.animals.len();
        let mut sexes: Vec<Option<Sex>> = (0..n).map(|i| families.descent.sex(AnimalId(i))).collect();
        let mut extra = |sex| {
            sexes.push(Some(sex));
            sexes.len() - 1
        };
        let (mut sires, mut dams, mut candidates, mut stand_ins) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for family in &families.families {
            match family.sires[..] {
                [(sire, _)] => sires.push(sire.0),
                _ => sires.push(extra(Sex::Male)),
            }
            if family.sires.len() > 1 {
                stand_ins.extend(sires.last().copied());
            }
            dams.push(family.dam.map_or_else(|| extra(Sex::Female), |dam| dam.0));
            candidates.push((0..family.sires.len()).collect::<Vec<_>>());
        }
        if sexes.len().saturating_mul(families.genetics.loci().len()) > MOST_NODES {
            return Err(NoNetwork::TooLarge);
        }
        let mut stands_in = vec![false; sexes.len()];
        for node in stand_ins {
            stands_in[node] = true;
        }
        let mut cast = Cast { families, sires, dams, sexes, stands_in, candidates };
        let mut loci = Vec::new();
        let mut pairs = 0;
        for id in (0..).map(LocusId).take(families.genetics.loci().len()) {
            if let Some(meiosis) = Meiosis::new(families.genetics, id) {
                let mut at = AtLocus { id, meiosis, domains: Vec::new() };
                cast.start(&mut at, &mut pairs)?;
                loci.push(at);
            }
        }
        // Sires that one locus rules out are ruled out at all loci, so all are narrowed together.
        let order = cast.parents_first();
        for _ in 0..MOST_ROUNDS {
            if !cast.narrow(&mut loci, &order)? {
                break;
            }
        }
        Ok((cast, loci))
    }

    /// The families, those of parents before those of their young.
    fn parents_first(&self) -> Vec<usize> {
        let mut place = vec![0; self.sexes.len()];
        for (i, animal) in self.families.descent.order().iter().enumerate() {
            if let Some(place) = place.get_mut(animal.0) {
                *place = i;
            }
        }
        let last_parent = |f: &usize| {
            let family = &self.families.families[*f];
            family.sires.iter().map(|(sire, _)| *sire).chain(family.dam).map(|parent| place[parent.0]).max()
        };
        let mut order: Vec<usize> = (0..self.sires.len()).collect();
        order.sort_by_key(last_parent);
        order
    }

    /// The genotypes that founders may have, and those that their looks and their parents' leave to the others.
    fn start(&self, at: &mut AtLocus, pairs: &mut usize) -> Result<(), NoNetwork> {
        at.domains = vec![Vec::new(); self.sexes.len()];
        let is_young = |node: Node| self.families.born_in.get(node).is_some_and(Option::is_some);
        for node in 0..self.sexes.len() {
            if !is_young(node) {
                let possible = self.founder(at, node).into_iter().map(|(g, _)| g);
                at.domains[node] = possible.collect();
                if at.domains[node].len() > MOST_GENOTYPES {
                    return Err(NoNetwork::TooLarge);
                }
            }
        }
        for &AnimalId(animal) in self.families.descent.order() {
            let family = self.families.born_in.get(animal).copied().flatten();
            let Some(f) = family else { continue };
            self.pool_sires(at, f);
            let (sire, dam) = (self.sires[f], self.dams[f]);
            *pairs += at.domains[sire].len() * at.domains[dam].len();
            if *pairs > MOST_PAIRS {
                return Err(NoNetwork::TooLarge);
            }
            let mut found: Vec<Genotype> = Vec::new();
            for &s in &at.domains[sire] {
                for &d in &at.domains[dam] {
                    for (genotype, _) in at.meiosis.litter(s, d).iter() {
                        if !found.contains(genotype) && self.fits(at.meiosis.locus(), at.id, animal, *genotype) {
                            found.push(*genotype);
                        }
                    }
                }
            }
            found.sort_unstable();
            at.domains[animal] = found;
        }
        for f in 0..self.sires.len() {
            self.pool_sires(at, f);
        }
        if at.domains.iter().any(|domain| domain.len() > MOST_GENOTYPES) {
            return Err(NoNetwork::TooLarge);
        }
        Ok(())
    }

    /// The genotypes of an uncertain sire are those of all possible ones.
    fn pool_sires(&self, at: &mut AtLocus, f: usize) {
        let family = &self.families.families[f];
        if family.sires.len() > 1 && at.domains[self.sires[f]].is_empty() {
            let mut pool: Vec<Genotype> = Vec::new();
            for (sire, _) in &family.sires {
                pool.extend(&at.domains[sire.0]);
            }
            pool.sort_unstable();
            pool.dedup();
            at.domains[self.sires[f]] = pool;
        }
    }

    /// Whether looks and sex of an animal, and its being alive, leave it this genotype.
    fn fits(&self, locus: &Locus, id: LocusId, node: Node, genotype: Genotype) -> bool {
        let seen = self.families.records.animals.get(node).and_then(|animal| animal.seen.get(&id));
        !locus.is_lethal(genotype)
            && self.fits_sex(locus, self.sexes[node], genotype)
            && seen.is_none_or(|looks| looks.contains(&locus.look_of(genotype)))
    }

    fn fits_sex(&self, locus: &Locus, sex: Option<Sex>, genotype: Genotype) -> bool {
        let hetero = self.families.genetics.heterogametic();
        sex.is_none() || locus.sex_link().is_none() || genotype.is_sided() == (sex == hetero)
    }

    /// The genotypes that a founder may have, with their weights; nothing for an uncertain sire, who is no founder.
    pub(super) fn founder(&self, at: &AtLocus, node: Node) -> Vec<(Genotype, Odds)> {
        let locus = at.meiosis.locus();
        if self.stands_in[node] {
            return Vec::new();
        }
        let stated = self.families.records.animals.get(node).and_then(|animal| animal.beliefs.get(at.id));
        let mut all = match stated {
            Some(belief) => belief.genotypes().map(|(genotype, weight)| (genotype, weight.clone())).collect(),
            None => self.population(locus, at.id, self.sexes[node]),
        };
        all.retain(|(genotype, _)| self.fits(locus, at.id, node, *genotype));
        all
    }

    /// An animal of the population: every allele drawn by itself, either sex equally often where it is not known.
    fn population(&self, locus: &Locus, id: LocusId, sex: Option<Sex>) -> Vec<(Genotype, Odds)> {
        let mut alleles: Vec<(AlleleId, Odds)> = vec![(AlleleId::WILD, sure())];
        for (&allele, chance) in self.families.records.frequencies.get(&id).into_iter().flatten() {
            alleles[0].1 -= chance;
            alleles.push((allele, chance.clone()));
        }
        alleles.retain(|(_, chance)| *chance > none());
        let mut all = Vec::new();
        for own in [Sex::Female, Sex::Male] {
            if sex.is_some_and(|known| known != own) {
                continue;
            }
            let sided = self.families.genetics.is_sided(id, own);
            for (i, (a, p)) in alleles.iter().enumerate() {
                if sided && locus.sex_link() == Some(&SexLink::OnlyX) {
                    all.push((Genotype::sided(*a, AlleleId::NONE), p * half()));
                    continue;
                }
                for (j, (b, q)) in alleles.iter().enumerate() {
                    match (sided, i.cmp(&j)) {
                        (true, _) => all.push((Genotype::sided(*a, *b), p * q * half())),
                        (false, std::cmp::Ordering::Equal) => all.push((Genotype::pair(*a, *a), p * p * half())),
                        (false, std::cmp::Ordering::Less) => all.push((Genotype::pair(*a, *b), p * q)),
                        (false, std::cmp::Ordering::Greater) => {}
                    }
                }
            }
            // Without a sex-linked locus both sexes have the same genotypes.
            if locus.sex_link().is_none() {
                break;
            }
        }
        all
    }

    /// Leaves out genotypes that the relatives rule out; whether any was.
    fn narrow(&mut self, loci: &mut [AtLocus], order: &[usize]) -> Result<bool, NoNetwork> {
        let mut narrowed = false;
        for at in loci {
            for f in order.iter().rev().chain(order) {
                narrowed |= self.narrow_family(at, *f);
            }
            if at.domains.iter().any(Vec::is_empty) {
                return Err(NoNetwork::Contradiction);
            }
        }
        Ok(narrowed)
    }

    fn narrow_family(&mut self, at: &mut AtLocus, f: usize) -> bool {
        let family = &self.families.families[f];
        let (sire, dam) = (self.sires[f], self.dams[f]);
        let groups: Vec<&Young> = family.young.iter().filter(|y| y.count > 0).collect();
        let (sires, dams) = (at.domains[sire].clone(), at.domains[dam].clone());
        let mut sire_fits = vec![false; sires.len()];
        let mut dam_fits = vec![false; dams.len()];
        let mut young_fit: Vec<Vec<bool>> =
            family.named.iter().map(|young| vec![false; at.domains[young.0].len()]).collect();
        for (i, &s) in sires.iter().enumerate() {
            for (j, &d) in dams.iter().enumerate() {
                let litter = at.meiosis.litter(s, d);
                let locus = at.meiosis.locus();
                let possible = |domain: &[Genotype]| litter.iter().any(|(g, _)| domain.contains(g));
                let fits = family.named.iter().all(|young| possible(&at.domains[young.0]))
                    && groups.iter().all(|group| litter.iter().any(|(g, _)| self.is_seen(locus, at.id, group, *g)));
                if fits {
                    sire_fits[i] = true;
                    dam_fits[j] = true;
                    for (young, fit) in family.named.iter().zip(&mut young_fit) {
                        for (k, g) in at.domains[young.0].iter().enumerate() {
                            fit[k] |= litter.iter().any(|(h, _)| h == g);
                        }
                    }
                }
            }
        }
        let mut narrowed = keep(&mut at.domains[sire], &sire_fits);
        narrowed |= keep(&mut at.domains[dam], &dam_fits);
        for (young, fit) in family.named.iter().zip(&young_fit) {
            narrowed |= keep(&mut at.domains[young.0], fit);
        }
        if family.sires.len() > 1 {
            let shared = |i: usize, domains: &[Vec<Genotype>]| {
                let own = &domains[family.sires[i].0.0];
                own.iter().any(|g| domains[sire].contains(g))
            };
            let before = self.candidates[f].len();
            self.candidates[f].retain(|&i| shared(i, &at.domains));
            narrowed |= self.candidates[f].len() < before;
            let pool: Vec<bool> = at.domains[sire]
                .iter()
                .map(|g| self.candidates[f].iter().any(|&i| at.domains[family.sires[i].0.0].contains(g)))
                .collect();
            narrowed |= keep(&mut at.domains[sire], &pool);
            if let [only] = self.candidates[f][..] {
                let only = family.sires[only].0.0;
                let fits: Vec<bool> = at.domains[only].iter().map(|g| at.domains[sire].contains(g)).collect();
                narrowed |= keep(&mut at.domains[only], &fits);
            }
        }
        narrowed
    }

    pub(super) fn is_seen(&self, locus: &Locus, id: LocusId, young: &Young, genotype: Genotype) -> bool {
        self.fits_sex(locus, young.sex, genotype)
            && young.seen.get(&id).is_none_or(|looks| looks.contains(&locus.look_of(genotype)))
    }
}

/// Keeps what fits; whether anything was left out.
fn keep(domain: &mut Vec<Genotype>, fits: &[bool]) -> bool {
    let before = domain.len();
    let mut fits = fits.iter();
    domain.retain(|_| fits.next().copied().unwrap_or(true));
    domain.len() < before
}
