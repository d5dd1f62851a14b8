//! Words in an animal that nobody knows: asked about beside a name, named in the reply elsewhere.

use super::Parser;
use super::names::{combo_genes, copies_of, pair_genes};
use crate::reading::lexicon::Meaning;
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Choice, Unclear};
use crate::reading::vocabulary::Role;
use crate::reading::words;

/// Strange words of one animal for which near names are looked up; those beyond are named and not asked about.
const MOST_STRANGE: usize = 12;

impl Parser<'_> {
    pub(super) fn english(&mut self, items: &[Item], i: usize, was_name: bool) -> usize {
        let item = &items[i];
        let word = self.typed(item);
        let behind = i.checked_sub(1).and_then(|k| items[k].role());
        let after_het = matches!(
            behind,
            Some(Role::Het | Role::Possible | Role::Super | Role::Visual | Role::Double | Role::Triple | Role::Homo)
        );
        let before_name = items.get(i + 1).is_some_and(|x| matches!(x.what, What::Name(_)));
        if word.chars().count() < 4 {
            return 1;
        }
        // "super excited": no gene that anybody misspelt.
        if behind == Some(Role::Super) && self.offers(&word).is_empty() {
            self.next = None;
            self.draft.unread.push(word);
            return 1;
        }
        let closes = items.get(i + 1).is_none_or(|x| matches!(x.role(), Some(Role::Male | Role::Female)));
        if after_het || was_name && before_name || was_name && closes {
            let offers = self.offers(&word);
            if after_het || !offers.is_empty() && was_name {
                self.ask_unknown(&word, offers);
            } else if was_name && before_name {
                self.draft.unread.push(word);
            }
        }
        1
    }

    pub(super) fn offers(&self, word: &str) -> Vec<String> {
        let key = words::fold(word);
        self.reader.spelling.offers(&key, Some(self.species.id)).into_iter().map(|h| h.word.to_owned()).collect()
    }

    pub(super) fn unknown(&mut self, items: &[Item], i: usize) {
        let item = &items[i];
        let word = self.typed(item);
        // The first letter of a message is often a capital; "Juno the clown girl" begins with a name all the same.
        let capital = item.capital || self.text.words.get(item.words.start).is_some_and(|w| w.capital);
        if word.chars().all(|c| !c.is_alphanumeric()) {
            return; // signs and pictures say nothing
        }
        if self.draft.questions.len() + self.draft.unread.len() >= MOST_STRANGE {
            self.draft.unread.push(word);
            return;
        }
        let offers = self.offers(&word);
        if capital && offers.is_empty() && word.chars().any(char::is_lowercase) {
            return; // an animal's name
        }
        // A strange word is a gene nobody told us of only beside names; elsewhere it is chatter, and named in the reply.
        let governs = |x: &Item| {
            matches!(x.what, What::Name(_) | What::Share(_))
                || matches!(
                    x.role(),
                    Some(Role::Het | Role::Possible | Role::Super | Role::Visual | Role::Homo | Role::Double)
                )
        };
        let behind = i.checked_sub(1).map(|k| &items[k]).is_some_and(|x| x.words.end == item.words.start && governs(x));
        let ahead = items.get(i + 1).is_some_and(|x| {
            x.words.start == item.words.end && (governs(x) || matches!(x.role(), Some(Role::Male | Role::Female)))
        });
        if offers.is_empty() && !behind && !ahead {
            self.draft.unread.push(word);
        } else {
            self.ask_unknown(&word, offers);
        }
    }

    pub(super) fn ask_unknown(&mut self, word: &str, offers: Vec<String>) {
        let readings = offers
            .into_iter()
            .filter_map(|name| {
                let sense = self.reader.lexicon.senses(&name)?.iter().find(|s| s.species == self.species.id)?;
                match sense.meaning {
                    Meaning::Gene(g, said) => {
                        let gene = self.species.gene(g);
                        let copies = if self.het.is_some() && gene.is_recessive() {
                            1
                        } else {
                            copies_of(gene.bare_copies(), said)
                        };
                        Some(Choice::Genes(gene.label(copies).to_owned(), vec![(g, copies)]))
                    }
                    Meaning::Combo(c, _) => Some(Choice::Genes(
                        self.species.file().combo[c].name.clone(),
                        combo_genes(self.species, c, None).ok()?,
                    )),
                    Meaning::Pair(p) => Some(Choice::Genes(
                        self.species.file().allele_pair[p].name.clone(),
                        pair_genes(self.species, p),
                    )),
                    _ => None,
                }
            })
            .collect();
        self.draft.unread.push(word.to_owned());
        self.ask(word.to_owned(), Unclear::UnknownGene, readings);
    }
}
