//! Projects under chance: what to do this season, and what a fixed plan gives.
//!
//! A season: buy, pair, hatch, choose whom to hold. The project is done when a young in the goal hatches. Chances are
//! floating point here; a random source is a seed that the caller passes in, and the same seed gives the same answer.
//! Start at [`decide::season`], [`decide::hold`] and [`fixed::forecast`].

pub mod decide; // this season's purchases and pairs, and whom to hold
mod draws; // the same draws in every run
pub mod fixed; // the forecast of a plan that decides nothing
mod hidden; // exact decisions where only looks are seen
pub(super) mod hope; // how hopeful animals are, without looking at states
mod lines; // who is related to whom
pub(super) mod merit; // which kinds are at least as good as which, and how far from the goal
pub mod play; // a project under a policy, run after run
mod rules; // husbandry, room, money, aim
mod told; // exact decisions where genotypes are told
pub(super) mod world; // what hatches: clutch sizes, litters of two kinds

use thiserror::Error;

pub use super::kinds::KindError;
use crate::engine::inheritance::clutch::ClutchError;

/// Why a project makes no sense.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ProjectError {
    /// An animal or a goal that the species does not have, or too much that differs.
    #[error(transparent)]
    Kinds(#[from] KindError),
    /// A clutch that is none.
    #[error(transparent)]
    Clutch(#[from] ClutchError),
    /// Larger clutches than any reptile's.
    #[error("clutches of more than {MOST_EGGS} eggs cannot be planned with")]
    Eggs,
    /// More seasons than anybody plans for.
    #[error("{seasons} seasons are too many, at most {MOST_SEASONS}")]
    Seasons {
        /// How many were given.
        seasons: u32,
    },
    /// A male as mother, or a female as father.
    #[error("animal {animal} is a parent of the wrong sex")]
    ParentSex {
        /// Which animal.
        animal: usize,
    },
    /// A parent that there is not.
    #[error("animal {animal} is named as a parent, but there is no such animal")]
    NoParent {
        /// The number given.
        animal: usize,
    },
    /// An animal among its own ancestors.
    #[error("animal {animal} is among its own ancestors")]
    OwnAncestor {
        /// Which animal.
        animal: usize,
    },
    /// So many related animals of uncertain genotypes that their cases cannot be held together.
    #[error("too many related animals of uncertain genotypes to be weighed together")]
    TooManyRelatives,
    /// What was seen cannot be, given parents and looks.
    #[error("what was seen of the animals and clutches cannot be, given their parents")]
    Impossible,
    /// More animals on sale than decisions look at.
    #[error("{n} animals on sale are too many, at most {}", rules::MOST_OFFERS)]
    TooManyOffers {
        /// How many.
        n: usize,
    },
    /// So many loci that the kinds of young of a pair cannot be listed.
    #[error("the young can be of {n} kinds at the loci of the goal: too many to be planned with, at most {MOST_KINDS}")]
    TooManyKinds {
        /// How many.
        n: u64,
    },
}

/// The most eggs in a clutch.
pub const MOST_EGGS: u64 = 256;
/// The most seasons of a project.
pub const MOST_SEASONS: u32 = 120;
/// The most kinds of animals of a project.
pub const MOST_KINDS: u64 = 1 << 13;
