//! Projects under chance: what a fixed plan gives.
//!
//! Seasons are counted from 0. A season: pair, hatch; the project is done when a young in the goal hatches. Chances are floating point
//! here; a random source is a seed that the caller passes in, and the same seed gives the same answer.
//! Start at [`fixed::forecast`].

pub mod fixed; // the forecast of a plan that decides nothing
mod world; // what hatches: clutch sizes, litters of two kinds

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
