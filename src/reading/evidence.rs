//! Evidence told in one message: a possible het, whom it was bred to, and what hatched.
//!
//! In: the items of a message. Out: a [`Trial`]. An example a line:
//!   "she's 66% het, bred to a visual, 8 normals"      eight young without a visual
//!   "66 x 66, nine eggs, no visuals"                  both parents are in question
//!   "went 0 for 6 with a clown"                       six misses
//!   "got one pied in 5 from my 66% girl and a pied"   a visual, which proves her
//!   "how many eggs to prove a 50% het to a visual"    nothing hatched yet
//! Not here: what follows from it (`engine::pedigree`, by way of the conversation).

use super::lexicon::Meaning;
use super::matching::{Item, What};
use super::requests::{Mate, SexSaid, Tested, Trial};
use super::vocabulary::Role;
use super::words::Text;
use crate::engine::odds::{Odds, odds, sure};
use crate::species::{GeneId, Species};

/// The largest clutch count that is taken for young, not for a weight or a year.
const MOST_YOUNG: u32 = 200;

/// Reads the evidence of a message; `None` where no possible het is in it.
pub(super) fn trial(species: Option<&Species>, text: &Text, items: &[Item]) -> Option<Trial> {
    let mut read = Reading { species, text, items, trial: Trial::default(), eggs: None, none: false };
    for i in 0..items.len() {
        read.item(i);
    }
    read.sexes();
    let Reading { mut trial, eggs, none, .. } = read;
    if let Some(eggs) = eggs
        && trial.normals == 0
        && (none || trial.visuals > 0)
    {
        trial.normals = eggs.saturating_sub(trial.visuals);
    }
    trial.certainty = trial.certainty.take().filter(|c| *c < sure());
    (trial != Trial::default()).then_some(trial)
}

struct Reading<'a> {
    species: Option<&'a Species>,
    text: &'a Text,
    items: &'a [Item],
    trial: Trial,
    eggs: Option<u32>,
    /// "no visuals", "all normal".
    none: bool,
}

impl Reading<'_> {
    fn typed(&self, i: usize) -> String {
        self.text.folded(self.items[i].words.clone())
    }

    /// The item before, articles and the like aside.
    fn before(&self, i: usize) -> Option<usize> {
        (0..i).rev().find(|k| {
            !matches!(
                &*self.typed(*k),
                "a" | "an"
                    | "the"
                    | "my"
                    | "is"
                    | "was"
                    | "single"
                    | "good"
                    | "more"
                    | "were"
                    | "are"
                    | "all"
                    | "came"
                    | "out"
            ) && !matches!(self.items[*k].what, What::Sign('(' | ')'))
        })
    }

    fn role(&self, i: usize) -> Option<Role> {
        self.items.get(i).and_then(Item::role)
    }

    fn count(&self, i: usize) -> Option<u32> {
        match self.items.get(i)?.what {
            What::Number(n) if (1..=MOST_YOUNG).contains(&n) => Some(n),
            _ => None,
        }
    }

    fn negates(&self, i: usize) -> bool {
        matches!(
            &*self.typed(i),
            "no" | "none" | "not one" | "zero" | "0" | "without" | "not" | "keine" | "kein" | "nothing but"
        ) || self.items[i].what == What::Number(0)
    }

    fn item(&mut self, i: usize) {
        match &self.items[i].what {
            What::Share(share) if self.is_certainty(i) => self.trial.certainty = Some(share.clone()),
            What::Share(share) => self.tested(share.clone()),
            What::Number(n @ (66 | 67 | 50 | 33 | 25)) if !self.counts_young(i) => {
                let share = match n {
                    66 | 67 => odds(2, 3),
                    33 => odds(1, 3),
                    n => odds(i64::from(*n), 100),
                };
                self.tested(share);
            }
            What::Number(_) => self.number(i),
            What::Name(_) => match self.recessive(i) {
                Some(gene) => self.gene(i, gene),
                // Which species is not known yet; the mate shows what it was named for all the same.
                None if self.species.is_none() => self.unsettled(i),
                None => {}
            },
            What::Word(Role::Visual) if self.items.get(i + 1).is_none_or(|x| !matches!(x.what, What::Name(_))) => {
                self.shown(i);
            }
            What::Word(Role::Normal) => self.normal(i),
            What::Word(Role::Het) => self.het(i),
            What::Word(Role::HowMany) => self.trial.how_many = true,
            What::Word(Role::Possible) => self.trial.open |= self.trial.tested.is_empty(),
            _ => {}
        }
    }

    /// "90% sure", and "95 % certainty".
    fn is_certainty(&self, i: usize) -> bool {
        (i + 1..i + 3).any(|k| self.role(k) == Some(Role::Certain))
    }

    fn counts_young(&self, i: usize) -> bool {
        (i + 1..i + 4)
            .find(|k| self.role(*k) != Some(Role::Filler))
            .is_some_and(|k| matches!(self.role(k), Some(Role::Eggs | Role::Normal | Role::Grams)))
    }

    fn tested(&mut self, carries: Odds) {
        if carries < sure() && carries > odds(0, 1) && self.trial.tested.len() < 2 {
            self.trial.tested.push(Tested { sex: SexSaid::Unknown, carries });
            self.trial.open = false;
        }
    }

    fn number(&mut self, i: usize) {
        let Some(n) = self.count(i) else { return };
        let noun = (i + 1..self.items.len()).take(3).find(|k| self.role(*k) != Some(Role::Filler));
        let noun_role = noun.and_then(|k| self.role(k));
        let behind = self.before(i);
        let behind_word = behind.map(|k| self.typed(k)).unwrap_or_default();
        // "0 for 6", "0 out of 6": six misses.
        let after_zero = self.items[..i].iter().rev().take(4).any(|x| x.what == What::Number(0));
        if after_zero && matches!(&*behind_word, "for" | "from" | "of" | "out of" | "in") {
            self.trial.normals += n;
        } else if noun_role == Some(Role::Eggs) || noun.is_some_and(|k| self.typed(k).starts_with("egg")) {
            // "6 normal babies" is counted by its "normal".
            self.eggs = Some(n);
        } else if noun.is_some_and(|k| matches!(&*self.typed(k), "misses" | "miss")) {
            self.trial.normals += n;
        } else if behind_word == "in" && self.trial.visuals > 0 {
            self.eggs = Some(n);
        }
    }

    /// What a recessive name in the message is: the gene in question, a visual mate, or what hatched.
    fn gene(&mut self, i: usize, gene: GeneId) {
        self.trial.gene.get_or_insert(gene);
        let Some(k) = self.before(i) else { return self.trial.mate = Mate::Visual };
        match self.role(k) {
            Some(Role::Het | Role::For) => {}
            Some(Role::Visual) => self.shown(k),
            _ if matches!(self.items[k].what, What::Share(_)) => {}
            _ => self.shown_after(k),
        }
    }

    fn unsettled(&mut self, i: usize) {
        let Some(k) = self.before(i) else { return };
        let mated = matches!(self.role(k), Some(Role::Cross | Role::To | Role::With | Role::Visual));
        if mated || self.negates(k) || self.count(k).is_some() {
            self.shown_after(k);
        }
    }

    fn shown(&mut self, i: usize) {
        match self.before(i) {
            Some(k) => self.shown_after(k),
            None => self.trial.mate = Mate::Visual,
        }
    }

    /// A visual, by the item before it: "no pieds", "2 pieds", "to a pied".
    fn shown_after(&mut self, k: usize) {
        if self.negates(k) {
            self.none = true;
        } else if let Some(n) = self.count(k) {
            self.trial.visuals += n;
        } else if self.trial.mate == Mate::Untold {
            self.trial.mate = Mate::Visual;
        }
    }

    fn normal(&mut self, i: usize) {
        match self.before(i) {
            Some(k) if self.count(k).is_some() => self.trial.normals += self.count(k).unwrap_or(0),
            Some(k) if matches!(self.role(k), Some(Role::Cross | Role::To | Role::With)) => {
                self.trial.mate = Mate::Normal;
            }
            _ => self.none |= (0..i).any(|k| self.role(k) == Some(Role::All) || self.typed(k) == "all"),
        }
    }

    /// "to a het": a mate that carries for sure. "is she het" asks.
    fn het(&mut self, i: usize) {
        let sure_mate =
            self.before(i).is_some_and(|k| matches!(self.role(k), Some(Role::Cross | Role::To | Role::With)));
        let named = i.checked_sub(1).is_some_and(|k| matches!(self.items[k].what, What::Share(_) | What::Number(_)));
        if sure_mate && !named && self.trial.mate == Mate::Untold {
            self.trial.mate = Mate::Het;
        }
    }

    fn recessive(&self, i: usize) -> Option<GeneId> {
        let What::Name(senses) = &self.items[i].what else { return None };
        let species = self.species?;
        senses.iter().find_map(|s| match s.meaning {
            Meaning::Gene(gene, _) if s.species == species.id && species.gene(gene).is_recessive() => Some(gene),
            // "raptor" and its like are no single gene to prove.
            _ => None,
        })
    }

    /// "she's 66": the sex nearest to the share.
    fn sexes(&mut self) {
        let sexes: Vec<SexSaid> = self
            .items
            .iter()
            .filter_map(|x| match x.role() {
                Some(Role::Male | Role::Father) => Some(SexSaid::Male),
                Some(Role::Female | Role::Mother) => Some(SexSaid::Female),
                _ => None,
            })
            .collect();
        if let (Some(first), Some(sex)) = (self.trial.tested.first_mut(), sexes.first()) {
            first.sex = *sex;
        }
        if let [first, second] = &mut self.trial.tested[..] {
            second.sex = first.sex.other();
        }
    }
}
