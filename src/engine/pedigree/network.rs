//! The network of a collection: which genotypes are unknown, and which tables tie them together.
//!
//! In: checked records. Out: variables and tables for `elimination`. At one locus the unknowns are the genotypes of the
//! animals; an animal whose genotype is plain from its relatives' looks is no variable any more. Where one of several
//! sires fathered a family, the unknown sire is a variable that all loci share, and at each locus "the sire's
//! genotype" stands between the possible sires and the young.

use super::descent::AnimalId;
use super::elimination::{Table, arrange};
use super::genotypes::{AtLocus, Cast, NoNetwork, Node};
use super::order::{Plan, Var};
use super::records::{Families, Family, Young};
use super::weight::Weight;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::LocusId;
use crate::engine::odds::{Odds, none};

/// The largest table.
const MOST_NUMBERS: usize = 1 << 22;
/// The unknowns of a collection.
pub(super) struct Network<'a, 'b> {
    cast: Cast<'a, 'b>,
    loci: Vec<AtLocus<'a>>,
    /// Per locus, per node: the variable of its genotype, if there are several.
    vars: Vec<Vec<Option<Var>>>,
    /// Per family: the variable that tells its sire, if there are several.
    fathers: Vec<Option<Var>>,
    /// Per variable: how many values it has.
    pub(super) sizes: Vec<usize>,
    specs: Vec<Spec>,
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
    /// Two animals, and the pair of their genotypes.
    Pair { first: usize, second: usize },
}

impl<'a, 'b> Network<'a, 'b> {
    pub(super) fn new(families: &'b Families<'a>) -> Result<Network<'a, 'b>, NoNetwork> {
        let (cast, loci) = Cast::new(families)?;
        let vars = vec![vec![None; cast.sexes.len()]; loci.len()];
        let fathers = vec![None; families.families.len()];
        let mut network = Network { cast, loci, vars, fathers, sizes: Vec::new(), specs: Vec::new() };
        network.name_unknowns();
        let size = |spec: &Spec| spec.scope.iter().map(|&v| network.sizes[v]).product::<usize>();
        if network.specs.iter().any(|spec| size(spec) > MOST_NUMBERS) {
            return Err(NoNetwork::TooLarge);
        }
        Ok(network)
    }

    /// The possible genotypes of an animal at a locus, and the variable they are the values of (if there are several).
    pub(super) fn at(&self, animal: AnimalId, locus: LocusId) -> Option<(&[Genotype], Option<Var>)> {
        let l = usize::from(locus.0);
        let var = self.vars.get(l)?.get(animal.0).copied().flatten();
        Some((self.loci.get(l)?.domains.get(animal.0)?, var))
    }

    /// The sires that are possible for a family, and the variable that tells which (if there are several).
    pub(super) fn sire_of(&self, family: usize) -> Option<(Vec<AnimalId>, Option<Var>)> {
        let sires = &self.cast.families.families.get(family)?.sires;
        let candidates = self.cast.candidates.get(family)?;
        let ids = candidates.iter().filter_map(|&i| sires.get(i)).map(|(sire, _)| *sire);
        Some((ids.collect(), self.fathers.get(family).copied().flatten()))
    }

    /// Adds a variable for the genotypes of two animals together: value `i * n + j` stands for the `i`th of the first
    /// and the `j`th of the `n` of the second.
    pub(super) fn pair(&mut self, first: Var, second: Var) -> Var {
        let pair = self.sizes.len();
        let (n_first, n_second) = (self.sizes[first], self.sizes[second]);
        self.sizes.push(n_first * n_second);
        let content = Content::Pair { first: n_first, second: n_second };
        self.specs.push(Spec { scope: vec![first, second, pair], content });
        pair
    }

    pub(super) fn scopes(&self) -> Vec<&[Var]> {
        self.specs.iter().map(|spec| spec.scope.as_slice()).collect()
    }

    /// Makes variables of what is not known, and lists the tables between them.
    fn name_unknowns(&mut self) {
        for (f, candidates) in self.cast.candidates.iter().enumerate() {
            if candidates.len() > 1 {
                self.fathers[f] = Some(self.sizes.len());
                self.sizes.push(candidates.len());
                self.specs.push(Spec { scope: vec![self.sizes.len() - 1], content: Content::Fathers { family: f } });
            }
        }
        let n = self.cast.families.records.animals.len();
        for l in 0..self.loci.len() {
            for node in 0..self.cast.sexes.len() {
                let size = self.loci[l].domains[node].len();
                if size > 1 {
                    self.vars[l][node] = Some(self.sizes.len());
                    self.sizes.push(size);
                }
            }
            for node in 0..self.cast.sexes.len() {
                let young = node < n && self.cast.families.born_in[node].is_some();
                if !young && !self.cast.stands_in[node] {
                    self.tie(l, &[], &[node], Content::Founder { at: l, node });
                }
            }
            for f in 0..self.cast.sires.len() {
                let family = &self.cast.families.families[f];
                let (sire, dam) = (self.cast.sires[f], self.cast.dams[f]);
                for young in &family.named {
                    self.tie(l, &[], &[sire, dam, young.0], Content::Named { at: l, family: f, young: young.0 });
                }
                let locus = self.loci[l].meiosis.locus();
                let tells = |young: &Young| young.seen.contains_key(&self.loci[l].id) || !locus.lethal().is_empty();
                if family.young.iter().any(|young| young.count > 0 && tells(young)) {
                    self.tie(l, &[], &[sire, dam], Content::Unnamed { at: l, family: f });
                }
                if family.sires.len() > 1 {
                    for (c, &candidate) in self.cast.candidates[f].clone().iter().enumerate() {
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
        let own = nodes.iter().filter_map(|&node| self.vars[l][node]);
        let scope: Vec<Var> = others.iter().copied().chain(own).collect();
        if !scope.is_empty() {
            self.specs.push(Spec { scope, content });
        }
    }

    /// About how many bits an exact sum over all cases takes.
    pub(super) fn bits(&self) -> u64 {
        let of_spec = |spec: &Spec| match spec.content {
            Content::Founder { at, node } => self
                .cast
                .founder(&self.loci[at], node)
                .iter()
                .map(|(_, weight)| weight.denom().bits())
                .max()
                .unwrap_or(0),
            Content::Named { at, .. } => self.loci[at].meiosis.bits(),
            Content::Unnamed { at, family } => {
                let young = self.cast.families.families[family].young.iter();
                young.map(|young| u64::from(young.count)).sum::<u64>() * self.loci[at].meiosis.bits()
            }
            Content::Same { .. } | Content::Pair { .. } => 0,
            Content::Fathers { family } => {
                let sires = self.cast.families.families[family].sires.iter();
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
        let families = self.cast.families;
        match content {
            Content::Fathers { family } => {
                let sires = &families.families[family].sires;
                let chances: Vec<Odds> = self.cast.candidates[family].iter().map(|&i| sires[i].1.clone()).collect();
                W::scaled(&chances)
            }
            Content::Founder { at, node } => {
                let at = &self.loci[at];
                let founder = self.cast.founder(at, node);
                let weight = |g: &Genotype| {
                    founder.iter().find(|(own, _)| own == g).map_or_else(none, |(_, weight)| weight.clone())
                };
                W::scaled(&at.domains[node].iter().map(weight).collect::<Vec<_>>())
            }
            Content::Same { at, family, candidate } => {
                let own = families.families[family].sires[self.cast.candidates[family][candidate]].0.0;
                let (own, sire) = (&self.loci[at].domains[own], &self.loci[at].domains[self.cast.sires[family]]);
                let mut values = Vec::new();
                for c in 0..self.cast.candidates[family].len() {
                    for a in own {
                        for b in sire {
                            values.push(if c == candidate && a != b { W::zero() } else { W::one() });
                        }
                    }
                }
                values
            }
            Content::Named { at, family, young } => {
                let (sire, dam) = (self.cast.sires[family], self.cast.dams[family]);
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
            Content::Pair { first, second } => {
                let of = |i| (0..first * second).map(move |pair| if pair == i { W::one() } else { W::zero() });
                (0..first * second).flat_map(of).collect()
            }
            Content::Unnamed { at, family } => self.unnamed(at, family, &families.families[family]),
        }
    }

    fn unnamed<W: Weight>(&mut self, l: usize, f: usize, family: &Family) -> Vec<W> {
        let (sires, dams) =
            (self.loci[l].domains[self.cast.sires[f]].clone(), self.loci[l].domains[self.cast.dams[f]].clone());
        let mut all = vec![W::one(); sires.len() * dams.len()];
        for young in family.young {
            let mut values = Vec::with_capacity(all.len());
            for &s in &sires {
                for &d in &dams {
                    let litter = self.loci[l].meiosis.litter(s, d);
                    let (locus, id) = (self.loci[l].meiosis.locus(), self.loci[l].id);
                    let seen = litter.iter().filter(|(g, _)| self.cast.is_seen(locus, id, young, *g));
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
