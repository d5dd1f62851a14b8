//! Potentials of states: the hope of their animals, with the most hopeful purchases.

use std::rc::Rc;

use super::super::hope::AtHand;
use super::{Code, State, Told, Value, is_male, kind, wait};
use crate::engine::inheritance::locus::Sex;

impl Told<'_> {
    /// The potential of a state, with the most hopeful purchases.
    pub(in crate::engine::planning::project) fn potential(&mut self, state: &State) -> Value {
        if let Some(known) = self.potentials.get(state) {
            return Rc::clone(known);
        }
        let room = self.rules.space.saturating_sub(state.animals.len() + state.filled);
        let mut best: Option<Value> = None;
        for buy in self.purchases(state.left, state.sold, room) {
            let mut animals: Vec<AtHand> = state.animals.iter().copied().map(at_hand).collect();
            animals.extend(self.bought(buy, state.left).map(at_hand));
            let value: Value = self.hoping.hope(&animals, state.left, None).into();
            if best.as_ref().is_none_or(|known| self.rules.is_better(&value, known)) {
                best = Some(value);
            }
        }
        let best = best.unwrap_or_else(|| vec![0.0; state.left as usize].into());
        self.potentials.insert(state.clone(), Rc::clone(&best));
        best
    }
}

fn at_hand(code: Code) -> AtHand {
    let sex = if is_male(code) { Sex::Male } else { Sex::Female };
    AtHand { sex, kind: kind(code), ready: wait(code), chance: 1.0, line: 0 }
}
