//! Kinship and inbreeding: exact, by the tabular method.
//!
//! In: a checked [`Descent`]. Out: fractions whose denominators are powers of two.
//! Founders and unknown parents are taken as unrelated and not inbred. The kinship of two animals is the inbreeding of
//! the young they would have; that of an animal with itself is (1 + F) / 2. Start at [`relate`].
//!
//! Only animals with young still to come are kept in the table, so deep and wide pedigrees stay small.

use std::collections::BTreeSet;

use num_bigint::{BigInt, BigUint};
use num_traits::{One, Zero};
use thiserror::Error;

use super::descent::{AnimalId, Descent, Parents};
use super::records::{RecordError, Records, families};
use crate::engine::odds::{Odds, none, sure};

/// The most numbers, in 64-bit words, that the table may hold at once.
pub const MOST_WORDS: usize = 1 << 26;

/// The most combinations of possible sires.
const MOST_CASES: usize = 4096;

/// Why relationships cannot be told.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum KinshipError {
    /// Which of several sires fathered an animal is not known.
    #[error("the sire of animal {} is uncertain", animal.0)]
    UncertainSire {
        /// Whose sire.
        animal: AnimalId,
    },
    /// An animal that is not in the pedigree.
    #[error("there is no animal {}", animal.0)]
    Unknown {
        /// Which.
        animal: AnimalId,
    },
    /// The records make no sense.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// So many ancestors have several possible sires that not every case can be looked at.
    #[error("too many ancestors have several possible sires")]
    TooUncertain,
    /// The pedigree is too wide and deep at once, see [`MOST_WORDS`].
    #[error("{n_kept} animals have to be kept side by side over {n_generations} generations, which is too many")]
    TooLarge {
        /// How many animals have young still to come at the same time.
        n_kept: usize,
        /// How deep the pedigree is.
        n_generations: usize,
    },
}

/// Who is how related.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kinship {
    /// The inbreeding of every animal, F, within `0..1`, exact.
    pub inbreeding: Vec<Odds>,
    /// The kinship of each pair asked for, in that order, within `0..1`, exact.
    pub of_pairs: Vec<Odds>,
}

/// Inbreeding of all animals, and kinship of these pairs (an animal with itself is allowed).
///
/// # Errors
/// [`KinshipError`] names the animal, or says what is too large.
///
/// Source: the tabular method (Emik and Terrill 1949, J. Hered. 40:51-55; citation from memory).
pub fn relate(descent: &Descent, pairs: &[(AnimalId, AnimalId)]) -> Result<Kinship, KinshipError> {
    let n = descent.n_animals();
    if let Some(&(a, b)) = pairs.iter().find(|(a, b)| a.0 >= n || b.0 >= n) {
        return Err(KinshipError::Unknown { animal: if a.0 >= n { a } else { b } });
    }
    let uncertain = |a: &&AnimalId| descent.parents(**a).is_some_and(|p| p.sires.len() > 1);
    if let Some(&animal) = descent.order().iter().find(uncertain) {
        return Err(KinshipError::UncertainSire { animal });
    }
    let schedule = Schedule::new(descent, pairs);
    let n_generations = descent.order().iter().map(|&a| descent.generation(a)).max().unwrap_or(0);
    // A kinship over 2^(g + g' + 1), see `relate_as`; the sum of two needs one bit more.
    let words = n_generations / 32 + 1;
    if schedule.n_slots.saturating_mul(schedule.n_slots).saturating_mul(words) > MOST_WORDS {
        return Err(KinshipError::TooLarge { n_kept: schedule.n_slots, n_generations });
    }
    Ok(match 2 * n_generations + 2 {
        0..=64 => relate_as::<u64>(descent, pairs, &schedule),
        65..=128 => relate_as::<u128>(descent, pairs, &schedule),
        _ => relate_as::<BigUint>(descent, pairs, &schedule),
    })
}

/// The kinship of two animals of a collection: the inbreeding that their young would have, exact.
///
/// Where an ancestor has several possible sires it is the mean over them with their stated chances; clutch mates share
/// the sire.
///
/// # Errors
/// [`KinshipError`]: an animal that there is not, records that make no sense, or too many possible sires.
pub fn of_pair(records: &Records, one: AnimalId, other: AnimalId) -> Result<Odds, KinshipError> {
    let n = records.animals.len();
    if let Some(animal) = [one, other].into_iter().find(|animal| animal.0 >= n) {
        return Err(KinshipError::Unknown { animal });
    }
    let (families, born_in) = families(records)?;
    // The families of all their ancestors, each once.
    let mut of_ancestors = BTreeSet::new();
    let mut open = vec![one, other];
    while let Some(animal) = open.pop() {
        if let Some(f) = born_in[animal.0].filter(|f| of_ancestors.insert(*f)) {
            let parents = families[f].sires.iter().map(|(sire, _)| *sire).chain(families[f].dam);
            open.extend(parents.filter(|parent| parent.0 < n));
        }
    }
    let n_cases = of_ancestors.iter().try_fold(1usize, |cases, &f| cases.checked_mul(families[f].sires.len().max(1)));
    let n_cases = n_cases.filter(|&cases| cases <= MOST_CASES).ok_or(KinshipError::TooUncertain)?;
    let mut mean = none();
    for mut case in 0..n_cases {
        let mut chance = sure();
        let mut parents = vec![Parents::default(); n];
        for &f in &of_ancestors {
            let family = &families[f];
            let mut sires = Vec::new();
            if !family.sires.is_empty() {
                let (sire, share) = family.sires[case % family.sires.len()];
                case /= family.sires.len();
                chance *= share;
                sires.push(sire);
            }
            for young in &family.named {
                parents[young.0] = Parents { sires: sires.clone(), dam: family.dam };
            }
        }
        let descent = Descent::new(parents, &[]).map_err(RecordError::from)?;
        let kinship = relate(&descent, &[(one, other)])?;
        mean += kinship.of_pairs.into_iter().sum::<Odds>() * chance;
    }
    Ok(mean)
}

/// Which row of the table each animal takes, and when it is no longer needed.
struct Schedule {
    /// Per place in the order: the row of that animal.
    slots: Vec<usize>,
    /// Per place in the order: the animals that are not needed after it.
    dropped: Vec<Vec<usize>>,
    /// Per place in the order: the pairs that are complete with it.
    asked: Vec<Vec<usize>>,
    n_slots: usize,
}

impl Schedule {
    fn new(descent: &Descent, pairs: &[(AnimalId, AnimalId)]) -> Schedule {
        let n = descent.n_animals();
        let mut place = vec![0; n];
        for (at, animal) in descent.order().iter().enumerate() {
            place[animal.0] = at;
        }
        let mut last: Vec<usize> = place.clone();
        for (at, &animal) in descent.order().iter().enumerate() {
            for parent in descent.parents(animal).into_iter().flat_map(|p| p.sires.iter().copied().chain(p.dam)) {
                last[parent.0] = last[parent.0].max(at);
            }
        }
        let mut asked = vec![Vec::new(); n];
        for (i, (a, b)) in pairs.iter().enumerate() {
            let at = place[a.0].max(place[b.0]);
            asked[at].push(i);
            last[a.0] = last[a.0].max(at);
            last[b.0] = last[b.0].max(at);
        }
        let mut dropped = vec![Vec::new(); n];
        for (animal, &at) in last.iter().enumerate() {
            dropped[at].push(animal);
        }
        let mut free = Vec::new();
        let mut n_slots = 0;
        let mut slots = Vec::with_capacity(n);
        for gone in &dropped {
            let slot = free.pop().unwrap_or_else(|| {
                n_slots += 1;
                n_slots - 1
            });
            slots.push(slot);
            free.extend(gone.iter().map(|&animal| slots[place[animal]]));
        }
        Schedule { slots, dropped, asked, n_slots }
    }
}

/// A whole number that can hold every kinship of the pedigree over its power of two.
trait Whole: Clone + Zero {
    fn unit(shift: usize) -> Self;
    fn shifted(&self, by: usize) -> Self;
    fn big(&self) -> BigUint;
}

macro_rules! whole {
    ($($type:ty),*) => {$(
        impl Whole for $type {
            fn unit(shift: usize) -> Self {
                1 << shift
            }
            fn shifted(&self, by: usize) -> Self {
                self << by
            }
            fn big(&self) -> BigUint {
                BigUint::from(*self)
            }
        }
    )*};
}
whole!(u64, u128);

impl Whole for BigUint {
    fn unit(shift: usize) -> Self {
        BigUint::one() << shift
    }
    fn shifted(&self, by: usize) -> Self {
        self << by
    }
    fn big(&self) -> BigUint {
        self.clone()
    }
}

/// The kinship of animals of generations g and g' is a whole number over 2^(g + g' + 1): it is half the sum of two
/// kinships with parents, whose generations are at most g - 1.
fn relate_as<T: Whole>(descent: &Descent, pairs: &[(AnimalId, AnimalId)], schedule: &Schedule) -> Kinship {
    let fraction = |n: &T, shift: usize| Odds::new(BigInt::from(n.big()), BigInt::one() << shift);
    let mut inbreeding = vec![none(); descent.n_animals()];
    let mut of_pairs = vec![none(); pairs.len()];
    let n_slots = schedule.n_slots;
    // Symmetric; the rows of animals that are kept, by their slots.
    let mut table: Vec<T> = vec![T::zero(); n_slots * n_slots];
    let mut slot_of = vec![usize::MAX; descent.n_animals()];
    let mut kept: Vec<usize> = Vec::new(); // slots in use
    let mut row: Vec<T> = vec![T::zero(); n_slots];
    for (at, &animal) in descent.order().iter().enumerate() {
        let own = schedule.slots[at];
        let generation = descent.generation(animal);
        let parents: Vec<(usize, usize)> = descent
            .parents(animal)
            .into_iter()
            .flat_map(|p| p.sires.iter().copied().chain(p.dam))
            // How much coarser a kinship with the parent is counted than half a kinship with the young.
            .map(|parent| (slot_of[parent.0], generation - 1 - descent.generation(parent)))
            .collect();
        for &other in &kept {
            row[other] = parents
                .iter()
                .fold(T::zero(), |sum, &(slot, coarser)| sum + table[slot * n_slots + other].shifted(coarser));
        }
        // (1 + F) / 2, where F is the kinship of the parents.
        let mut with_itself = T::unit(2 * generation);
        if let [(sire, coarser), (dam, also)] = parents[..] {
            let of_parents = table[sire * n_slots + dam].shifted(coarser + also);
            inbreeding[animal.0] = fraction(&of_parents, 2 * generation - 1);
            with_itself = with_itself + of_parents.shifted(1);
        }
        for &other in &kept {
            let kinship = row[other].clone();
            table[other * n_slots + own] = kinship.clone();
            table[own * n_slots + other] = kinship;
        }
        table[own * n_slots + own] = with_itself;
        slot_of[animal.0] = own;
        kept.push(own);
        for &pair in &schedule.asked[at] {
            let (a, b) = pairs[pair];
            let shift = descent.generation(a) + descent.generation(b) + 1;
            of_pairs[pair] = fraction(&table[slot_of[a.0] * n_slots + slot_of[b.0]], shift);
        }
        let gone: Vec<usize> = schedule.dropped[at].iter().map(|&a| slot_of[a]).collect();
        kept.retain(|slot| !gone.contains(slot));
    }
    Kinship { inbreeding, of_pairs }
}
