//! Who descends from whom: checked once, then trusted by `evidence` and `kinship`.
//!
//! In: each animal's possible parents and stated sex. Out: [`Descent`]. Invariant: nobody is among their own ancestors,
//! and nobody is a sire of one animal and a dam of another. Start at [`Descent::new`].

use thiserror::Error;

use crate::engine::inheritance::locus::Sex;

/// An animal of a pedigree: its position there, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AnimalId(pub usize);

/// The parents that an animal may have.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Parents {
    /// Nobody: an unknown animal. One: the sire. Several: one of them.
    pub sires: Vec<AnimalId>,
    /// Nobody: an unknown animal.
    pub dam: Option<AnimalId>,
}

impl Parents {
    fn all(&self) -> impl Iterator<Item = AnimalId> {
        self.sires.iter().copied().chain(self.dam)
    }
}

/// Why parents and sexes do not make a pedigree.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DescentError {
    /// A parent that is not in the pedigree.
    #[error("animal {} has a parent {} that is not in the pedigree", animal.0, parent.0)]
    Unknown {
        /// Whose parent.
        animal: AnimalId,
        /// The parent.
        parent: AnimalId,
    },
    /// An animal is a sire and a dam, or its stated sex is against its being one.
    #[error("animal {} is a {} of {}, but not {}", animal.0, match role { Sex::Male => "sire", Sex::Female => "dam" },
        young.0, match role { Sex::Male => "male", Sex::Female => "female" })]
    Role {
        /// Who.
        animal: AnimalId,
        /// The sex it needs for this young.
        role: Sex,
        /// The young.
        young: AnimalId,
    },
    /// An animal is among its own ancestors.
    #[error("animal {} is among its own ancestors", animal.0)]
    Cycle {
        /// Who.
        animal: AnimalId,
        /// The way round: each is a parent of the one before, and the animal a parent of the first again.
        through: Vec<AnimalId>,
    },
}

/// A checked pedigree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Descent {
    parents: Vec<Parents>,
    sexes: Vec<Option<Sex>>,
    order: Vec<AnimalId>,
    generation: Vec<usize>,
}

impl Descent {
    /// Checks parents and stated sexes, one of each for every animal (missing sexes are unknown).
    ///
    /// # Errors
    /// [`DescentError`] names the animal and what is wrong.
    pub fn new(parents: Vec<Parents>, stated: &[Option<Sex>]) -> Result<Descent, DescentError> {
        let mut sexes: Vec<Option<Sex>> = (0..parents.len()).map(|i| stated.get(i).copied().flatten()).collect();
        for (i, own) in parents.iter().enumerate() {
            let young = AnimalId(i);
            let roles = own.sires.iter().map(|&s| (s, Sex::Male)).chain(own.dam.map(|d| (d, Sex::Female)));
            for (parent, role) in roles {
                let known = sexes.get_mut(parent.0).ok_or(DescentError::Unknown { animal: young, parent })?;
                if *known.get_or_insert(role) != role {
                    return Err(DescentError::Role { animal: parent, role, young });
                }
            }
        }
        let order = order(&parents)?;
        let mut generation = vec![0; parents.len()];
        for &AnimalId(i) in &order {
            generation[i] = parents[i].all().map(|p| generation[p.0] + 1).max().unwrap_or(0);
        }
        Ok(Descent { parents, sexes, order, generation })
    }

    /// How many animals there are.
    #[must_use]
    pub fn n_animals(&self) -> usize {
        self.parents.len()
    }

    /// The possible parents of an animal.
    #[must_use]
    pub fn parents(&self, animal: AnimalId) -> Option<&Parents> {
        self.parents.get(animal.0)
    }

    /// The sex of an animal, stated or from being a parent.
    #[must_use]
    pub fn sex(&self, animal: AnimalId) -> Option<Sex> {
        self.sexes.get(animal.0).copied().flatten()
    }

    /// All animals, each after its parents.
    #[must_use]
    pub fn order(&self) -> &[AnimalId] {
        &self.order
    }

    /// The most steps from an animal up to a founder.
    #[must_use]
    pub fn generation(&self, animal: AnimalId) -> usize {
        self.generation.get(animal.0).copied().unwrap_or(0)
    }
}

/// Parents before young, otherwise as given; a depth-first walk without recursion, since pedigrees can be deep.
fn order(parents: &[Parents]) -> Result<Vec<AnimalId>, DescentError> {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let mut state = vec![State::New; parents.len()];
    let mut order = Vec::with_capacity(parents.len());
    for start in 0..parents.len() {
        if state[start] != State::New {
            continue;
        }
        state[start] = State::Open;
        let mut path = vec![(start, parents[start].all().collect::<Vec<_>>())];
        while let Some((animal, open)) = path.last_mut() {
            let Some(AnimalId(parent)) = open.pop() else {
                state[*animal] = State::Done;
                order.push(AnimalId(*animal));
                path.pop();
                continue;
            };
            match state[parent] {
                State::Done => {}
                State::Open => {
                    let round = path.iter().map(|(a, _)| AnimalId(*a)).skip_while(|a| a.0 != parent);
                    return Err(DescentError::Cycle { animal: AnimalId(parent), through: round.skip(1).collect() });
                }
                State::New => {
                    state[parent] = State::Open;
                    path.push((parent, parents[parent].all().collect()));
                }
            }
        }
    }
    Ok(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parents(sire: Option<usize>, dam: Option<usize>) -> Parents {
        Parents { sires: sire.map(AnimalId).into_iter().collect(), dam: dam.map(AnimalId) }
    }

    #[test]
    fn parents_come_first_in_any_order_given() {
        let given = vec![parents(Some(2), Some(1)), parents(Some(2), None), Parents::default()];
        let descent = Descent::new(given, &[]).unwrap();
        assert_eq!(descent.order(), [AnimalId(2), AnimalId(1), AnimalId(0)]);
        assert_eq!(descent.generation(AnimalId(0)), 2);
        assert_eq!(descent.sex(AnimalId(1)), Some(Sex::Female));
        assert_eq!(descent.sex(AnimalId(0)), None);
    }

    #[test]
    fn what_cannot_be_is_named() {
        let refused = |given, sexes: &[Option<Sex>]| Descent::new(given, sexes).unwrap_err();
        let nowhere = vec![parents(Some(1), None)];
        assert_eq!(refused(nowhere, &[]), DescentError::Unknown { animal: AnimalId(0), parent: AnimalId(1) });
        let own = vec![parents(None, Some(0))];
        assert_eq!(refused(own, &[]), DescentError::Cycle { animal: AnimalId(0), through: vec![] });
        let round = vec![parents(Some(1), None), parents(Some(2), None), parents(Some(0), None)];
        let through = vec![AnimalId(1), AnimalId(2)];
        assert_eq!(refused(round, &[]), DescentError::Cycle { animal: AnimalId(0), through });
        let both = vec![Parents::default(), parents(Some(0), None), parents(None, Some(0))];
        let role = |role, young| DescentError::Role { animal: AnimalId(0), role, young: AnimalId(young) };
        assert_eq!(refused(both.clone(), &[]), role(Sex::Female, 2));
        assert_eq!(refused(both, &[Some(Sex::Female)]), role(Sex::Male, 1));
        let one = vec![Parents::default(), parents(Some(0), Some(0))];
        assert_eq!(refused(one, &[]), role(Sex::Female, 1));
    }

    #[test]
    fn a_deep_pedigree_is_walked() {
        let deep = (0..100_000).map(|i: usize| parents(Some(i + 1), None)).chain([Parents::default()]);
        let descent = Descent::new(deep.collect(), &[]).unwrap();
        assert_eq!(descent.generation(AnimalId(0)), 100_000);
    }
}
