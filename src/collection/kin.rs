//! How two animals of a herd are related: in the words that people have for it, and exactly.
//!
//! In: the pedigree of a herd. Out: [`Kin`], the nearest of the usual relationships with the coefficient of kinship, which
//! counts every way in which they are related. Unknown parents are taken as unrelated. Start at [`kin`].

use super::animal::AnimalId;
use super::evidence::Evidence;
use crate::engine::odds::{Odds, none, odds};
use crate::engine::pedigree::descent::AnimalId as Member;
use crate::engine::pedigree::kinship::KinshipError;

/// Relatives that descend from each other are followed so many generations up.
const MOST_UP: usize = 12;

/// The usual relationships, nearest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// One and the same.
    Same,
    /// The first is a parent of the second.
    Parent,
    /// The second is a parent of the first.
    Young,
    /// Both parents in common.
    FullSiblings,
    /// One parent in common.
    HalfSiblings,
    /// The first is an ancestor of the second, so many generations back (2 is a grandparent).
    Ancestor(usize),
    /// The second is an ancestor of the first.
    Descendant(usize),
    /// The first is a sibling (or half sibling) of a parent of the second.
    Uncle {
        /// By one grandparent only.
        half: bool,
    },
    /// The second is a sibling (or half sibling) of a parent of the first.
    Nephew {
        /// By one grandparent only.
        half: bool,
    },
    /// Parents of theirs are siblings (or half siblings).
    Cousins {
        /// By one grandparent only.
        half: bool,
    },
    /// Further away than these words go.
    Distant,
    /// No known ancestor in common.
    Unrelated,
}

impl Relation {
    /// The kinship that this relationship has by itself.
    #[must_use]
    pub fn usual(self) -> Option<Odds> {
        Some(match self {
            Self::Parent | Self::Young | Self::FullSiblings => odds(1, 4),
            Self::HalfSiblings | Self::Uncle { half: false } | Self::Nephew { half: false } => odds(1, 8),
            Self::Ancestor(n) | Self::Descendant(n) => odds(1, 1 << (n + 1).min(60)),
            Self::Uncle { half: true } | Self::Nephew { half: true } | Self::Cousins { half: false } => odds(1, 16),
            Self::Cousins { half: true } => odds(1, 32),
            Self::Unrelated => none(),
            Self::Same | Self::Distant => return None,
        })
    }
}

/// How two animals are related.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kin {
    /// The nearest relationship.
    pub relation: Relation,
    /// Their kinship, which is the inbreeding of their young, exact.
    pub kinship: Odds,
    /// Parents that they have in common, sire first; those elsewhere too.
    pub shared: Vec<Member>,
    /// Neither has a known parent: nothing is known of their ancestors.
    pub unknown: bool,
}

/// How two animals of a herd are related.
///
/// # Errors
/// [`KinshipError`]: an animal that is not in these records, or records that make no sense.
pub fn kin(pedigree: &Evidence<'_>, one: AnimalId, other: AnimalId) -> Result<Kin, KinshipError> {
    let kinship = pedigree.kinship(one, other)?;
    let not_there = KinshipError::Unknown { animal: Member(usize::MAX) };
    let (a, b) = (pedigree.member(one).ok_or(not_there.clone())?, pedigree.member(other).ok_or(not_there)?);
    let shared: Vec<Member> = common(pedigree, a, b);
    let known = |m| pedigree.parents(m).iter().flatten().next().is_some();
    let relation = relation(pedigree, a, b, &shared, &kinship);
    Ok(Kin { relation, kinship, shared, unknown: !known(a) && !known(b) })
}

fn relation(pedigree: &Evidence<'_>, a: Member, b: Member, shared: &[Member], kinship: &Odds) -> Relation {
    if a == b {
        return Relation::Same;
    }
    let (up_a, up_b) = (steps_up(pedigree, b, a), steps_up(pedigree, a, b));
    if up_a == Some(1) {
        return Relation::Parent;
    }
    if up_b == Some(1) {
        return Relation::Young;
    }
    match shared.len() {
        2.. => return Relation::FullSiblings,
        1 => return Relation::HalfSiblings,
        0 => {}
    }
    if let Some(n) = up_a {
        return Relation::Ancestor(n);
    }
    if let Some(n) = up_b {
        return Relation::Descendant(n);
    }
    let parents = |m: Member| pedigree.parents(m).into_iter().flatten().collect::<Vec<_>>();
    let siblings = |x: Member, of: &[Member]| of.iter().map(|p| common(pedigree, x, *p).len()).max().unwrap_or(0);
    let (above_a, above_b) = (parents(a), parents(b));
    match siblings(a, &above_b) {
        0 => {}
        n => return Relation::Uncle { half: n == 1 },
    }
    match siblings(b, &above_a) {
        0 => {}
        n => return Relation::Nephew { half: n == 1 },
    }
    match above_a.iter().map(|p| siblings(*p, &above_b)).max().unwrap_or(0) {
        0 => {}
        n => return Relation::Cousins { half: n == 1 },
    }
    if *kinship == none() { Relation::Unrelated } else { Relation::Distant }
}

/// Parents in common; an animal is no sibling of itself.
fn common(pedigree: &Evidence<'_>, a: Member, b: Member) -> Vec<Member> {
    if a == b {
        return Vec::new();
    }
    let of_b = pedigree.parents(b);
    pedigree.parents(a).into_iter().flatten().filter(|p| of_b.contains(&Some(*p))).collect()
}

/// The fewest generations from an animal up to another; `None` if it does not descend from it.
fn steps_up(pedigree: &Evidence<'_>, from: Member, to: Member) -> Option<usize> {
    let mut here = vec![from];
    for n in 1..=MOST_UP {
        here = here.into_iter().flat_map(|m| pedigree.parents(m)).flatten().collect();
        here.sort_unstable();
        here.dedup();
        if here.contains(&to) {
            return Some(n);
        }
    }
    None
}
