//! Whom to keep: what each animal adds to the goals beside all the others, and who is let go first where room is short.
//!
//! In: a [`Room`] whose animals are the old and the young, and the space. Out: [`Kept`]. The worth of an animal is the hope
//! of the goals with everybody minus that without it, so of two that do the same neither is worth much, but one of them
//! is: who is not needed goes one at a time, and the others are valued anew each time.
//! Worths are for choosing; nothing of them is told as a chance. Start at [`hold`].

use super::project::ProjectError;
use super::season::{Ground, Outlook, Room, grounds_of};

use rustc_hash::FxHashMap;

/// What is worth less is worth nothing: rounding.
const NOTHING: f64 = 1e-9;

/// Whom to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Of each animal, what it adds beside all the others, by the weights of the goals.
    pub worth: Vec<f64>,
    /// Of each animal, what it adds beside those that are kept (to let it go, or to keep it after all).
    pub beside_kept: Vec<f64>,
    /// Whether each animal is kept.
    pub kept: Vec<bool>,
    /// Whether each animal is needed for a goal: without those that are not, no goal is farther.
    pub needed: Vec<bool>,
    /// The worth of everybody together.
    pub all: f64,
    /// The worth of those that are kept.
    pub of_kept: f64,
    /// The search ran to its end; if not, those not looked at are kept.
    pub complete: bool,
}

/// Whom to keep of all animals of a room, with space for so many; without a limit everybody who is of use.
/// Of two that are worth the same, the one that is later in the list goes first.
///
/// # Errors
/// [`ProjectError`]: what makes no sense, or what is too large.
pub fn hold(room: &Room<'_>, space: Option<usize>, go_on: &mut dyn FnMut() -> bool) -> Result<Kept, ProjectError> {
    let grounds = room.aims.iter().map(|aim| grounds_of(room, aim)).collect::<Result<Vec<_>, _>>()?;
    let mut scale = Scale::new(room, &grounds);
    let n = room.animals.len();
    let mut held = vec![true; n];
    let all = scale.worth(&held);
    let worth = (0..n).map(|i| (all - scale.with(&held, i, false)).max(0.0)).collect();
    let mut kept = Kept {
        worth,
        beside_kept: Vec::new(),
        kept: Vec::new(),
        needed: vec![true; n],
        all,
        of_kept: all,
        complete: true,
    };
    // First those that nothing is lost by, then the least loss, one at a time.
    let mut now = all;
    let mut short = false;
    for left in (1..=n).rev() {
        if !go_on() {
            kept.complete = false;
            break;
        }
        let losses = (0..n).filter(|i| held[*i]).map(|i| (now - scale.with(&held, i, false), i));
        let Some((loss, i)) = losses.min_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1))) else { break };
        let idle = loss <= NOTHING;
        if !idle && space.is_none_or(|space| left <= space) {
            break;
        }
        held[i] = false;
        short |= !idle;
        // Who is idle only because others had to go is needed all the same.
        kept.needed[i] = !idle || short;
        now -= loss;
    }
    let now = scale.worth(&held);
    kept.of_kept = now;
    kept.beside_kept = (0..n).map(|i| (now - scale.with(&held, i, !held[i])).abs()).collect();
    kept.kept = held;
    Ok(kept)
}

/// The worth of some of the animals, each set of them once.
struct Scale<'a> {
    outlooks: Vec<Outlook<'a>>,
    ready: Vec<u32>,
    /// Animals of one number are alike to every goal.
    alike: Vec<usize>,
    worths: FxHashMap<Vec<u16>, f64>,
}

impl<'a> Scale<'a> {
    fn new(room: &Room<'_>, grounds: &'a [Vec<Ground>]) -> Scale<'a> {
        let mut outlooks = Vec::new();
        for (aim, grounds) in room.aims.iter().zip(grounds) {
            let share = aim.weight / grounds.len().max(1) as f64;
            outlooks.extend(grounds.iter().map(|ground| Outlook::new(room, ground, aim, share)));
        }
        let ready: Vec<u32> = room.animals.iter().map(|candidate| candidate.animal.ready).collect();
        let mut seen = Vec::new();
        let mut alike = Vec::with_capacity(ready.len());
        for (i, candidate) in room.animals.iter().enumerate() {
            let beliefs: Vec<usize> = outlooks.iter().map(|outlook| outlook.belief(i)).collect();
            let own = (candidate.animal.sex, candidate.animal.ready, beliefs);
            let known = seen.iter().position(|other| *other == own).unwrap_or_else(|| {
                seen.push(own);
                seen.len() - 1
            });
            alike.push(known);
        }
        Scale { outlooks, ready, alike, worths: FxHashMap::default() }
    }

    fn worth(&mut self, held: &[bool]) -> f64 {
        let mut counts = vec![0u16; self.alike.iter().max().map_or(0, |most| most + 1)];
        for (_, kind) in held.iter().zip(&self.alike).filter(|(held, _)| **held) {
            counts[*kind] = counts[*kind].saturating_add(1);
        }
        if let Some(known) = self.worths.get(&counts) {
            return *known;
        }
        let worth = self.outlooks.iter_mut().map(|outlook| outlook.of_some(&self.ready, held)).sum();
        self.worths.insert(counts, worth);
        worth
    }

    /// The worth with one animal held, or not.
    fn with(&mut self, held: &[bool], i: usize, here: bool) -> f64 {
        let mut changed = held.to_vec();
        changed[i] = here;
        self.worth(&changed)
    }
}
