//! Who is there at the start of a season, and who is paired with whom.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::super::super::kinds::KindError;
use super::super::ProjectError;
use super::super::world::World;
use super::{Entry, Fits, FixedPlan, Group};
use crate::engine::inheritance::locus::Sex;
use crate::engine::odds::to_f64;

/// A keeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Kept {
    pub(super) code: u64,
    pub(super) male: bool,
    /// The season from which it can be paired.
    pub(super) ready: u32,
}

/// The keepers of a run so far. Founders are not in it: their kinds are the same for a whole run.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub(super) struct State {
    /// Keepers by name, in the order of hatching.
    pub(super) groups: Vec<Vec<Kept>>,
    /// How many each entry has, step by step.
    pub(super) filled: Vec<u32>,
}

/// One pairing of a season: the step and the two kinds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Pairing {
    pub(super) step: usize,
    pub(super) sire: u64,
    pub(super) dam: u64,
}

/// What a clutch of a step can give: the goal, and young that fit some entry.
#[derive(Debug, Default)]
pub(super) struct Catch {
    /// The share of the goal.
    pub(super) goal: f64,
    /// Kinds that fit the same entries of the step, in the entries' order, and their shares.
    pub(super) young: Vec<Fitting>,
}

#[derive(Debug)]
pub(super) struct Fitting {
    pub(super) share: f64,
    pub(super) code: u64,
    pub(super) male: bool,
    /// Numbers of entries over all steps.
    pub(super) entries: Vec<usize>,
}

/// The plan, ready to be played.
pub(super) struct Stage<'a> {
    pub(super) plan: &'a FixedPlan<'a>,
    pub(super) world: &'a World,
    /// The kinds that each animal may be, with chances.
    pub(super) founders: Vec<Vec<(u64, f64)>>,
    first_entry: Vec<usize>, // of each step
    pub(super) entries: Vec<&'a Entry>,
    /// Whether anybody of this name is ever paired; else only their number matters.
    pub(super) is_used: Vec<bool>,
    catches: FxHashMap<(usize, u64, u64), Rc<Catch>>,
}

impl<'a> Stage<'a> {
    pub(super) fn new(plan: &'a FixedPlan<'a>, world: &'a World) -> Result<Stage<'a>, ProjectError> {
        let mut founders = Vec::with_capacity(plan.animals.len());
        for (i, animal) in plan.animals.iter().enumerate() {
            let kinds: Result<_, KindError> = world.kinds.of(plan.genetics, i, animal);
            founders.push(kinds?.into_iter().map(|(code, chance)| (code, to_f64(&chance))).collect());
        }
        let mut first_entry = Vec::new();
        let mut entries = Vec::new();
        for step in &plan.steps {
            first_entry.push(entries.len());
            entries.extend(&step.keep);
        }
        let mut is_used = vec![false; plan.n_names];
        for group in plan.steps.iter().flat_map(|step| [step.sire, step.dam]) {
            if let Group::Keepers(name) = group {
                is_used[name] = true;
            }
        }
        Ok(Stage { plan, world, founders, first_entry, entries, is_used, catches: FxHashMap::default() })
    }

    pub(super) fn start(&self) -> State {
        State { groups: vec![Vec::new(); self.plan.n_names], filled: vec![0; self.entries.len()] }
    }

    fn is_over(&self, step: usize, state: &State) -> bool {
        let n = self.plan.steps[step].keep.len();
        let own = self.first_entry[step]..self.first_entry[step] + n;
        n > 0 && own.into_iter().all(|entry| state.filled[entry] >= self.entries[entry].count)
    }

    /// The pairings of a season, in the order in which they are made; `founders` are the kinds of the animals.
    pub(super) fn pairings(&self, season: u32, founders: &[u64], state: &State, made: &mut Vec<Pairing>) {
        made.clear();
        // Who has been used: (group, position) for keepers, animals under a group number of their own.
        let mut used: Vec<(Group, usize, u32)> = Vec::new();
        for (step, plan) in self.plan.steps.iter().enumerate().rev() {
            if self.is_over(step, state) {
                continue;
            }
            for dam in 0..Self::size(plan.dam, state) {
                let Some(female) = self.ready(plan.dam, dam, Sex::Female, season, founders, state) else { continue };
                if used.iter().any(|(group, i, _)| *group == plan.dam && *i == dam) {
                    continue;
                }
                for sire in 0..Self::size(plan.sire, state) {
                    let Some(male) = self.ready(plan.sire, sire, Sex::Male, season, founders, state) else { continue };
                    let served = used.iter_mut().find(|(group, i, _)| *group == plan.sire && *i == sire);
                    match served {
                        Some((_, _, n)) if *n >= self.plan.females_per_male => continue,
                        Some((_, _, n)) => *n += 1,
                        None if self.plan.females_per_male == 0 => continue,
                        None => used.push((plan.sire, sire, 1)),
                    }
                    used.push((plan.dam, dam, 1));
                    made.push(Pairing { step, sire: male, dam: female });
                    break;
                }
            }
        }
    }

    fn size(group: Group, state: &State) -> usize {
        match group {
            Group::Animal(_) => 1,
            Group::Keepers(name) => state.groups[name].len(),
        }
    }

    /// The kind of this member of a group, if it is of this sex and ready.
    fn ready(&self, group: Group, i: usize, sex: Sex, season: u32, founders: &[u64], state: &State) -> Option<u64> {
        match group {
            Group::Animal(animal) => {
                let listed = &self.plan.animals[animal];
                (listed.sex == sex && listed.ready <= season).then(|| founders[animal])
            }
            Group::Keepers(name) => {
                let kept = state.groups[name][i];
                (kept.male == (sex == Sex::Male) && kept.ready <= season).then_some(kept.code)
            }
        }
    }

    /// What a pairing can give.
    pub(super) fn catch(&mut self, pairing: Pairing) -> Rc<Catch> {
        let Pairing { step, sire, dam } = pairing;
        if let Some(known) = self.catches.get(&(step, sire, dam)) {
            return Rc::clone(known);
        }
        let litter = self.world.litter(sire, dam);
        let mut catch = Catch { goal: litter.goal, young: Vec::new() };
        let first = self.first_entry[step];
        for young in litter.young {
            let fits = |entry: &&(usize, &Entry)| {
                entry.1.sex.is_none_or(|sex| sex == young.sex) && self.fits(&entry.1.fits, young.code)
            };
            let own: Vec<_> = self.plan.steps[step].keep.iter().enumerate().collect();
            let entries: Vec<usize> = own.iter().filter(fits).map(|(i, _)| first + i).collect();
            if entries.is_empty() {
                continue;
            }
            let male = young.sex == Sex::Male;
            // Where nobody asks what exactly it is, kinds that go to the same entries are one.
            let asked = entries.iter().any(|entry| self.is_used[self.entries[*entry].name]);
            let code = if asked { young.code } else { 0 };
            match catch
                .young
                .iter_mut()
                .find(|known| known.entries == entries && known.code == code && (known.male == male || !asked))
            {
                Some(known) => known.share += young.share,
                None => catch.young.push(Fitting { share: young.share, code, male, entries }),
            }
        }
        catch.young.sort_by(|a, b| b.share.total_cmp(&a.share));
        let catch = Rc::new(catch);
        self.catches.insert((step, sire, dam), Rc::clone(&catch));
        catch
    }

    fn fits(&self, fits: &Fits, code: u64) -> bool {
        let genotypes = self.world.kinds.genotypes(code);
        let of = |id| genotypes.iter().find(|(known, _)| *known == id).map(|(_, genotype)| *genotype);
        match fits {
            Fits::Genotypes(listed) => listed.iter().all(|(id, genotype)| of(*id) == Some(*genotype)),
            Fits::Looks(listed) => listed.iter().all(|(id, look)| {
                let locus = self.plan.genetics.locus(*id);
                locus.zip(of(*id)).is_some_and(|(locus, genotype)| locus.look_of(genotype) == *look)
            }),
        }
    }

    /// Puts a young where it goes; whether anybody took it.
    pub(super) fn place(&self, state: &mut State, young: &Fitting, season: u32) -> bool {
        let open = young.entries.iter().find(|entry| state.filled[**entry] < self.entries[**entry].count);
        let Some(&entry) = open else {
            return false;
        };
        state.filled[entry] += 1;
        let name = self.entries[entry].name;
        if self.is_used[name] {
            let sex = if young.male { Sex::Male } else { Sex::Female };
            // Pairings of the season it hatches in are made before it hatches.
            let ready = season + self.plan.maturity.of(sex).max(1);
            state.groups[name].push(Kept { code: young.code, male: young.male, ready });
        }
        true
    }
}
