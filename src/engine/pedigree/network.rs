//! The network of a collection: which genotypes are unknown, and which tables tie them together.
//!
//! In: checked records. Out: variables and tables for `elimination`. At one locus the unknowns are the genotypes of the
//! animals; an animal whose genotype is plain from its relatives' looks is no variable any more. Where one of several
//! sires fathered a family, the unknown sire is a variable that all loci share, and at each locus "the sire's
//! genotype" stands between the possible sires and the young.

use super::descent::AnimalId;
use super::elimination::{Table, arrange};
use super::meiosis::Meiosis;
use super::order::{Plan, Var};
use super::records::{Families, Family, Young};
use super::weight::Weight;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, Locus, LocusId, Sex, SexLink};
use crate::engine::odds::{Odds, half, none, sure};

/// The most animals and unnamed parents, counted once a locus.
const MOST_NODES: usize = 400_000;
/// The most genotypes that one animal may have at one locus, and the most pairs of parents' genotypes in all families.
const MOST_GENOTYPES: usize = 256;
const MOST_PAIRS: usize = 10_000_000;
/// The largest table.
const MOST_NUMBERS: usize = 1 << 22;
/// How often families are looked through for genotypes that relatives rule out. Stopping early costs time, not truth.
const MOST_ROUNDS: usize = 16;

/// Somebody with a genotype: the animals first, then the unnamed and uncertain parents of families.
type Node = usize;

/// The unknowns of a collection.
pub(super) struct Network<'a, 'b> {
    families: &'b Families<'a>,
    /// Per family: who is the sire and who is the dam; the same at every locus.
    sires: Vec<Node>,
    dams: Vec<Node>,
    /// Per node: its sex, if known.
    sexes: Vec<Option<Sex>>,
    /// Per node: whether it stands for one of several sires.
    stands_in: Vec<bool>,
    /// Per family with an uncertain sire: those that are possible, as positions in its list of sires.
    candidates: Vec<Vec<usize>>,
    loci: Vec<AtLocus<'a>>,
    pub(super) sizes: Vec<usize>,
    /// Per family: the variable that tells its sire.
    fathers: Vec<Option<Var>>,
    specs: Vec<Spec>,
}

struct AtLocus<'a> {
    id: LocusId,
    meiosis: Meiosis<'a>,
    /// Per node: the genotypes that are possible.
    domains: Vec<Vec<Genotype>>,
    vars: Vec<Option<Var>>,
}

/// A table of the network, before its numbers are known.
struct Spec {
    /// In the order in which the numbers are listed; at most three.
    scope: Vec<Var>,
    content: Content,
}

#[derive(Clone, Copy)]
enum Content {
    /// How probable each genotype of a founder is.
    Founder { at: usize, node: Node },
    /// Sire, dam, young.
    Named { at: usize, family: usize, young: Node },
    /// Sire, dam: how probable the unnamed young are.
    Unnamed { at: usize, family: usize },
    /// Which sire (if several are possible), the genotype of one of them, the sire's genotype.
    Same { at: usize, family: usize, candidate: usize },
    /// How probable each sire is.
    Fathers { family: usize },
}

/// Why there is no network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoNetwork {
    /// The evidence leaves somebody no genotype.
    Contradiction,
    /// So many animals, loci or possible genotypes that it would take too long.
    TooLarge,
}

impl<'a, 'b> Network<'a, 'b> {
    pub(super) fn new(families: &'b Families<'a>) -> Result<Network<'a, 'b>, NoNetwork> {
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
        let mut network = Network {
            families,
            sires,
            dams,
            sexes,
            stands_in,
            candidates,
            loci: Vec::new(),
            sizes: Vec::new(),
            fathers: vec![None; families.families.len()],
            specs: Vec::new(),
        };
        let ids = (0..).map(LocusId).take(families.genetics.loci().len());
        for id in ids {
            if let Some(meiosis) = Meiosis::new(families.genetics, id) {
                let vars = vec![None; network.sexes.len()];
                network.loci.push(AtLocus { id, meiosis, domains: Vec::new(), vars });
            }
        }
        let mut loci = std::mem::take(&mut network.loci);
        let mut pairs = 0;
        for at in &mut loci {
            network.start(at, &mut pairs)?;
        }
        // Sires that one locus rules out are ruled out at all loci, so all are narrowed together.
        let order = network.parents_first();
        for _ in 0..MOST_ROUNDS {
            if !network.narrow(&mut loci, &order)? {
                break;
            }
        }
        network.loci = loci;
        network.name_unknowns();
        let size = |spec: &Spec| spec.scope.iter().map(|&v| network.sizes[v]).product::<usize>();
        if network.specs.iter().any(|spec| size(spec) > MOST_NUMBERS) {
            return Err(NoNetwork::TooLarge);
        }
        Ok(network)
    }

    /// The possible genotypes of an animal at a locus, and the variable they are the values of (if there are several).
    pub(super) fn at(&self, animal: AnimalId, locus: LocusId) -> Option<(&[Genotype], Option<Var>)> {
        let at = self.loci.get(usize::from(locus.0))?;
        Some((at.domains.get(animal.0)?, at.vars.get(animal.0).copied().flatten()))
    }

    /// The sires that are possible for a family, and the variable that tells which (if there are several).
    pub(super) fn sire_of(&self, family: usize) -> Option<(Vec<AnimalId>, Option<Var>)> {
        let sires = &self.families.families.get(family)?.sires;
        let candidates = self.candidates.get(family)?;
        let ids = candidates.iter().filter_map(|&i| sires.get(i)).map(|(sire, _)| *sire);
        Some((ids.collect(), self.fathers.get(family).copied().flatten()))
    }

    pub(super) fn scopes(&self) -> Vec<&[Var]> {
        self.specs.iter().map(|spec| spec.scope.as_slice()).collect()
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
    fn founder(&self, at: &AtLocus, node: Node) -> Vec<(Genotype, Odds)> {
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

    fn is_seen(&self, locus: &Locus, id: LocusId, young: &Young, genotype: Genotype) -> bool {
        self.fits_sex(locus, young.sex, genotype)
            && young.seen.get(&id).is_none_or(|looks| looks.contains(&locus.look_of(genotype)))
    }

    /// Makes variables of what is not known, and lists the tables between them.
    fn name_unknowns(&mut self) {
        for (f, candidates) in self.candidates.iter().enumerate() {
            if candidates.len() > 1 {
                self.fathers[f] = Some(self.sizes.len());
                self.sizes.push(candidates.len());
                self.specs.push(Spec { scope: vec![self.sizes.len() - 1], content: Content::Fathers { family: f } });
            }
        }
        let n = self.families.records.animals.len();
        for l in 0..self.loci.len() {
            for node in 0..self.sexes.len() {
                let size = self.loci[l].domains[node].len();
                if size > 1 {
                    self.loci[l].vars[node] = Some(self.sizes.len());
                    self.sizes.push(size);
                }
            }
            for node in 0..self.sexes.len() {
                let young = node < n && self.families.born_in[node].is_some();
                if !young && !self.stands_in[node] {
                    self.tie(l, &[], &[node], Content::Founder { at: l, node });
                }
            }
            for f in 0..self.sires.len() {
                let family = &self.families.families[f];
                let (sire, dam) = (self.sires[f], self.dams[f]);
                for young in &family.named {
                    self.tie(l, &[], &[sire, dam, young.0], Content::Named { at: l, family: f, young: young.0 });
                }
                let locus = self.loci[l].meiosis.locus();
                let tells = |young: &Young| young.seen.contains_key(&self.loci[l].id) || !locus.lethal().is_empty();
                if family.young.iter().any(|young| young.count > 0 && tells(young)) {
                    self.tie(l, &[], &[sire, dam], Content::Unnamed { at: l, family: f });
                }
                if family.sires.len() > 1 {
                    for (c, &candidate) in self.candidates[f].clone().iter().enumerate() {
                        let own = family.sires[candidate].0.0;
                        let content = Content::Same { at: l, family: f, candidate: c };
                        let father = self.fathers[f];
                        self.tie(l, father.as_slice(), &[own, sire], content);
                    }
                }
            }
        }
    }

    fn tie(&mut self, l: usize, others: &[Var], nodes: &[Node], content: Content) {
        let own = nodes.iter().filter_map(|&node| self.loci[l].vars[node]);
        let scope: Vec<Var> = others.iter().copied().chain(own).collect();
        if !scope.is_empty() {
            self.specs.push(Spec { scope, content });
        }
    }

    /// About how many bits an exact sum over all cases takes.
    pub(super) fn bits(&self) -> u64 {
        let of_spec = |spec: &Spec| match spec.content {
            Content::Founder { at, node } => {
                self.founder(&self.loci[at], node).iter().map(|(_, weight)| weight.denom().bits()).max().unwrap_or(0)
            }
            Content::Named { at, .. } => self.loci[at].meiosis.bits(),
            Content::Unnamed { at, family } => {
                let young = self.families.families[family].young.iter();
                young.map(|young| u64::from(young.count)).sum::<u64>() * self.loci[at].meiosis.bits()
            }
            Content::Same { .. } => 0,
            Content::Fathers { family } => {
                let sires = self.families.families[family].sires.iter();
                sires.map(|(_, chance)| chance.denom().bits()).max().unwrap_or(0)
            }
        };
        self.specs.iter().map(of_spec).sum()
    }

    /// The tables in numbers.
    pub(super) fn tables<W: Weight>(&mut self, plan: &Plan) -> Vec<Table<W>> {
        let specs = std::mem::take(&mut self.specs);
        let tables = specs
            .iter()
            .map(|spec| {
                let mut values = self.values::<W>(spec.content);
                W::reduce(&mut values);
                arrange(&self.sizes, plan, &spec.scope, &values)
            })
            .collect();
        self.specs = specs;
        tables
    }

    fn values<W: Weight>(&mut self, content: Content) -> Vec<W> {
        let families = self.families;
        match content {
            Content::Fathers { family } => {
                let sires = &families.families[family].sires;
                let chances: Vec<Odds> = self.candidates[family].iter().map(|&i| sires[i].1.clone()).collect();
                W::scaled(&chances)
            }
            Content::Founder { at, node } => {
                let at = &self.loci[at];
                let founder = self.founder(at, node);
                let weight = |g: &Genotype| {
                    founder.iter().find(|(own, _)| own == g).map_or_else(none, |(_, weight)| weight.clone())
                };
                W::scaled(&at.domains[node].iter().map(weight).collect::<Vec<_>>())
            }
            Content::Same { at, family, candidate } => {
                let own = families.families[family].sires[self.candidates[family][candidate]].0.0;
                let (own, sire) = (&self.loci[at].domains[own], &self.loci[at].domains[self.sires[family]]);
                let mut values = Vec::new();
                for c in 0..self.candidates[family].len() {
                    for a in own {
                        for b in sire {
                            values.push(if c == candidate && a != b { W::zero() } else { W::one() });
                        }
                    }
                }
                values
            }
            Content::Named { at, family, young } => {
                let (sire, dam) = (self.sires[family], self.dams[family]);
                let at = &mut self.loci[at];
                let mut values = Vec::new();
                for &s in &at.domains[sire] {
                    for &d in &at.domains[dam] {
                        let litter = at.meiosis.litter(s, d);
                        for g in &at.domains[young] {
                            let share = litter.iter().find(|(own, _)| own == g);
                            values.push(share.map_or_else(W::zero, |(_, share)| W::whole(share)));
                        }
                    }
                }
                values
            }
            Content::Unnamed { at, family } => self.unnamed(at, family, &families.families[family]),
        }
    }

    fn unnamed<W: Weight>(&mut self, l: usize, f: usize, family: &Family) -> Vec<W> {
        let (sires, dams) = (self.loci[l].domains[self.sires[f]].clone(), self.loci[l].domains[self.dams[f]].clone());
        let mut all = vec![W::one(); sires.len() * dams.len()];
        for young in family.young {
            let mut values = Vec::with_capacity(all.len());
            for &s in &sires {
                for &d in &dams {
                    let litter = self.loci[l].meiosis.litter(s, d);
                    let (locus, id) = (self.loci[l].meiosis.locus(), self.loci[l].id);
                    let seen = litter.iter().filter(|(g, _)| self.is_seen(locus, id, young, *g));
                    values.push(W::whole(&seen.map(|(_, share)| share).sum()));
                }
            }
            W::reduce(&mut values);
            let mut values: Vec<W> = values.iter().map(|value| value.power(young.count)).collect();
            W::reduce(&mut values);
            for (all, value) in all.iter_mut().zip(&values) {
                *all = all.times(value);
            }
            W::reduce(&mut all);
        }
        all
    }
}

/// Keeps what fits; whether anything was left out.
fn keep(domain: &mut Vec<Genotype>, fits: &[bool]) -> bool {
    let before = domain.len();
    let mut fits = fits.iter();
    domain.retain(|_| fits.next().copied().unwrap_or(true));
    domain.len() < before
}
