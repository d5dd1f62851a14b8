//! What is believed of the animals at hand at the start: from founders, descent, looks and clutches.
//!
//! Animals are taken in, parents first; one that is gone leaves the belief once all its young have been taken in.

use super::super::super::kinds::Kinds;
use super::super::ProjectError;
use super::super::decide::{Member, SeenClutch};
use super::joint::{ANY, Joint, Mask, holds};
use super::sight::Sight;
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{Genetics, Sex};
use crate::engine::odds::to_f64;

/// An animal of the records, or the unnamed other parent of one.
struct Record {
    sire: Option<usize>,
    dam: Option<usize>,
    sex: Sex,
    /// Whether it is asked about.
    is_here: bool,
    /// Its number among the animals given.
    given: Option<usize>,
}

/// One belief a locus, of the animals that are not gone, in their order.
pub(super) fn beliefs(
    genetics: &Genetics,
    kinds: &Kinds,
    sights: &[Sight],
    animals: &[Member],
    clutches: &[SeenClutch],
) -> Result<Vec<Joint>, ProjectError> {
    let records = records(animals, clutches)?;
    let order = order(&records)?;
    let mut joints = Vec::with_capacity(sights.len());
    for (i, sight) in sights.iter().enumerate() {
        let locus = Locus { genetics, kinds, sight, i };
        joints.push(locus.belief(&records, &order, animals, clutches)?);
    }
    Ok(joints)
}

fn records(animals: &[Member], clutches: &[SeenClutch]) -> Result<Vec<Record>, ProjectError> {
    let sex_of = |i: usize| animals.get(i).map(|member| member.animal.sex);
    let parent = |named: Option<usize>, sex: Sex| match named.map(|i| (i, sex_of(i))) {
        Some((animal, None)) => Err(ProjectError::NoParent { animal }),
        Some((animal, Some(own))) if own != sex => Err(ProjectError::ParentSex { animal }),
        _ => Ok(named),
    };
    let mut records: Vec<Record> = Vec::with_capacity(animals.len());
    for (i, member) in animals.iter().enumerate() {
        let (sire, dam) = (parent(member.sire, Sex::Male)?, parent(member.dam, Sex::Female)?);
        records.push(Record { sire, dam, sex: member.animal.sex, is_here: !member.gone, given: Some(i) });
    }
    for clutch in clutches {
        parent(Some(clutch.sire), Sex::Male)?;
        parent(Some(clutch.dam), Sex::Female)?;
    }
    // One parent named: the other is an unnamed founder, a new one each time.
    for i in 0..animals.len() {
        let unnamed = records.len();
        let other = |sex| Record { sire: None, dam: None, sex, is_here: false, given: None };
        match (records[i].sire, records[i].dam) {
            (Some(_), None) => {
                records[i].dam = Some(unnamed);
                records.push(other(Sex::Female));
            }
            (None, Some(_)) => {
                records[i].sire = Some(unnamed);
                records.push(other(Sex::Male));
            }
            _ => {}
        }
    }
    Ok(records)
}

/// Parents before their young, otherwise as given.
fn order(records: &[Record]) -> Result<Vec<usize>, ProjectError> {
    let mut order = Vec::with_capacity(records.len());
    let mut is_in = vec![false; records.len()];
    let mut is_open = vec![false; records.len()];
    for start in 0..records.len() {
        let mut stack = vec![start];
        while let Some(&i) = stack.last() {
            if is_in[i] {
                stack.pop();
                continue;
            }
            let missing = [records[i].sire, records[i].dam].into_iter().flatten().find(|parent| !is_in[*parent]);
            match missing {
                Some(parent) if is_open[parent] || parent == i => {
                    return Err(ProjectError::OwnAncestor { animal: records[i].given.unwrap_or(0) });
                }
                Some(parent) => {
                    is_open[i] = true;
                    stack.push(parent);
                }
                None => {
                    is_in[i] = true;
                    is_open[i] = false;
                    order.push(i);
                    stack.pop();
                }
            }
        }
    }
    Ok(order)
}

struct Locus<'a> {
    genetics: &'a Genetics,
    kinds: &'a Kinds,
    sight: &'a Sight,
    i: usize,
}

impl Locus<'_> {
    fn belief(
        &self,
        records: &[Record],
        order: &[usize],
        animals: &[Member],
        clutches: &[SeenClutch],
    ) -> Result<Joint, ProjectError> {
        let mut joint = Joint::new(self.sight.n_genotypes());
        let mut within: Vec<usize> = Vec::new(); // whom the belief is of
        let mut weighed = vec![false; clutches.len()];
        let mut taken = vec![false; records.len()];
        for &i in order {
            let place = |of: usize| within.iter().position(|other| *other == of);
            let record = &records[i];
            let seen = record.given.map_or(ANY, |given| self.sight.seen(&animals[given].look));
            let added = if let (Some(sire), Some(dam)) = (record.sire.and_then(place), record.dam.and_then(place)) {
                joint.push(|joint, case, here| {
                    let (sire, dam) = (joint.genotype(case, sire), joint.genotype(case, dam));
                    here.extend(self.young(sire, dam, record.sex).filter(|(g, _)| holds(&seen, *g)));
                })
            } else {
                let prior = self.prior(record, animals)?;
                joint.push(|_, _, here| here.extend(prior.iter().filter(|(g, _)| holds(&seen, *g))))
            };
            added.map_err(|_| ProjectError::TooManyRelatives)?;
            within.push(i);
            taken[i] = true;
            for (clutch, weighed) in clutches.iter().zip(&mut weighed) {
                let place = |of: usize| within.iter().position(|other| *other == of);
                if let (false, Some(sire), Some(dam)) = (*weighed, place(clutch.sire), place(clutch.dam)) {
                    *weighed = true;
                    self.weigh(&mut joint, sire, dam, clutch);
                }
            }
            if joint.rescale() <= 0.0 {
                return Err(ProjectError::Impossible);
            }
            let is_needed = |&of: &usize| {
                let as_parent = |r: &Record| r.sire == Some(of) || r.dam == Some(of);
                records[of].is_here
                    || records.iter().zip(&taken).any(|(record, taken)| !taken && as_parent(record))
                    || clutches.iter().zip(&weighed).any(|(c, weighed)| !weighed && (c.sire == of || c.dam == of))
            };
            if !within.iter().all(is_needed) {
                let kept: Vec<usize> = (0..within.len()).filter(|place| is_needed(&within[*place])).collect();
                joint = joint.of(&kept);
                within.retain(is_needed);
            }
        }
        let here: Vec<usize> = (0..animals.len()).filter(|i| !animals[*i].gone).collect();
        let places: Vec<usize> = here.iter().filter_map(|i| within.iter().position(|other| other == i)).collect();
        Ok(joint.of(&places))
    }

    /// The young of two genotypes that live, with chances that sum to 1.
    fn young(&self, sire: u8, dam: u8, sex: Sex) -> impl Iterator<Item = (u8, f64)> {
        live_young(self.kinds, self.i, sire, dam, sex)
    }

    fn prior(&self, record: &Record, animals: &[Member]) -> Result<Vec<(u8, f64)>, ProjectError> {
        let locus = &self.kinds.loci()[self.i];
        let number = |genotype: Genotype| locus.genotypes.iter().position(|known| *known == genotype);
        let belief = record.given.and_then(|given| animals[given].animal.genome.get(locus.id));
        let listed: Vec<(Genotype, f64)> = match belief {
            Some(belief) => belief.genotypes().map(|(genotype, chance)| (genotype, to_f64(chance))).collect(),
            None => vec![(self.genetics.wild(locus.id, record.sex), 1.0)],
        };
        let numbered =
            listed.into_iter().map(|(genotype, chance)| Some((u8::try_from(number(genotype)?).ok()?, chance)));
        // An unnamed parent is wild, which need not be among the genotypes that arise: then nothing can come of it.
        numbered.collect::<Option<Vec<_>>>().ok_or(ProjectError::Impossible)
    }

    fn weigh(&self, joint: &mut Joint, sire: usize, dam: usize, clutch: &SeenClutch) {
        for young in &clutch.young {
            let seen: Mask = self.sight.seen(&young.look);
            let count = i32::try_from(young.count).unwrap_or(i32::MAX);
            joint.weigh(|joint, case| {
                let (sire, dam) = (joint.genotype(case, sire), joint.genotype(case, dam));
                let of_sex = |sex| self.young(sire, dam, sex).filter(|(g, _)| holds(&seen, *g)).map(|(_, c)| c).sum();
                let share: f64 = match young.sex {
                    Some(sex) => of_sex(sex),
                    None => f64::midpoint(of_sex(Sex::Female), of_sex(Sex::Male)),
                };
                share.powi(count)
            });
        }
    }
}

/// The young of two genotypes at a locus that live, with chances that sum to 1 within the sex.
pub(super) fn live_young(kinds: &Kinds, i: usize, sire: u8, dam: u8, sex: Sex) -> impl Iterator<Item = (u8, f64)> {
    let locus = &kinds.loci()[i];
    let keepers = &locus.give(sire, dam, sex).keepers;
    let live: f64 = keepers.iter().map(|child| child.share).sum();
    keepers.iter().map(move |child| (u8::try_from(locus.number(child.code)).unwrap_or(0), child.share / live))
}
