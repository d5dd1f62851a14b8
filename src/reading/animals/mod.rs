//! Items to one animal: which genes, how many copies, how sure.
//!
//! In: the [`Item`]s of one animal. Out: a [`Draft`]: what is certain, what it leaves to the other parent ("het both"), and what must be asked.
//! The grammar, an example a line:
//!   "super pastel enchi"         super binds the next gene only
//!   "pastel het clown pied"      het governs every recessive after it, to the end of the animal
//!   "het clown 66% pied"         a share opens a het of its own
//!   "DH clown pied"              so many hets, which must be named
//!   "clown 100% het pied"        visible first, hets after
//!   "motley het stripe"          two alleles of one locus fill it
//!   "vpi axanthic", "axanthic"   a line is found beside its family's word, or asked
//! Not here: who is paired with whom (`pairing`).

mod checks; // what must hold of an animal once it is read
mod draft; // an animal before the other parent is known
mod lines; // lines and alleles told beside a name
mod names; // genes, combinations, pairs and ambiguous words
mod strange; // words nobody knows

pub(super) use draft::{Chance, Draft};

use super::Reader;
use super::lexicon::Meaning;
use super::matching::{Item, What};
use super::requests::{Assumed, Choice, Question, SexSaid, Side, Unclear};
use super::vocabulary::Role;
use super::words::Text;
use crate::engine::odds::{Odds, sure};
use crate::species::{GeneId, Species};
use draft::Gene;

/// What the next gene is bound by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Next {
    Super,
    Homo,
    Visual,
    OneCopy,
}

/// An open het: everything recessive that follows.
struct Het {
    chance: Chance,
    /// Recessives it has governed so far.
    governed: usize,
    /// Opened by a share or "possible" that a het word may still follow.
    fresh: bool,
    /// Its genes are listed on purpose: "het a/b", "het a and b", "het for", "DH".
    listed: bool,
}

pub(super) struct Parser<'a> {
    pub(super) reader: &'a Reader,
    pub(super) species: &'a Species,
    pub(super) text: &'a Text,
    /// Which animal of the message this is: 0, 1, or 2 for the target.
    pub(super) which: usize,
    /// As a wish: family words and ambiguous words stay open for what the pairing can make.
    pub(super) wish: bool,
    draft: Draft,
    het: Option<Het>,
    next: Option<(Next, String)>,
    last_was_name: bool,
    /// "not" stood just before.
    negated: bool,
}

impl<'a> Parser<'a> {
    pub(super) fn new(reader: &'a Reader, species: &'a Species, text: &'a Text, which: usize, wish: bool) -> Self {
        Self {
            reader,
            species,
            text,
            which,
            wish,
            draft: Draft::default(),
            het: None,
            next: None,
            last_was_name: false,
            negated: false,
        }
    }

    /// Reads the items of one animal.
    pub(super) fn read(mut self, items: &[Item]) -> Draft {
        let mut i = 0;
        while i < items.len() {
            i += self.step(items, i).max(1);
        }
        self.finish(items);
        self.draft
    }

    fn typed(&self, item: &Item) -> String {
        self.text.typed(item.words.clone()).to_owned()
    }

    fn folded(&self, item: &Item) -> String {
        self.text.folded(item.words.clone())
    }

    /// Reads the item at `i`; the number of items it took.
    fn step(&mut self, items: &[Item], i: usize) -> usize {
        let item = &items[i];
        let next = items.get(i + 1);
        let was_name = std::mem::replace(&mut self.last_was_name, false);
        let negated = std::mem::replace(&mut self.negated, false);
        match &item.what {
            What::Sexes(m, f, u) => self.counted(*m, *f, u.unwrap_or(0)),
            What::Share(share) => return self.share(items, i, share),
            What::Ratio(..) | What::Species(_) => {}
            What::Decimal(thousandths) => match next.and_then(Item::role) {
                Some(Role::Kilos) => {
                    self.draft.animal.weight_g = Some(*thousandths);
                    return 2;
                }
                Some(Role::Pounds) => {
                    self.draft.animal.weight_g =
                        Some(u32::try_from(u64::from(*thousandths) * 4536 / 10_000).unwrap_or(u32::MAX));
                    return 2;
                }
                _ => {}
            },
            What::Number(n) => {
                // "not one pied"
                self.negated = negated;
                return self.number(items, i, *n);
            }
            What::Sign(c) => {
                if matches!(c, '/' | '+')
                    && let Some(het) = &mut self.het
                    && het.governed > 0
                {
                    het.listed = true;
                }
                self.last_was_name = was_name && matches!(c, '-' | '/' | '+' | '(' | ')');
            }
            What::English => return self.english(items, i, was_name),
            What::Called => {
                let name = self.typed(item);
                self.draft
                    .animal
                    .name
                    .get_or_insert_with(|| name.trim_end_matches("'s").trim_end_matches("\u{2019}s").to_owned());
            }
            What::Unknown => self.unknown(items, i),
            // "visual clown, not pied", "(not super)": what it does not show.
            What::Name(_) | What::Word(Role::Super | Role::Visual) if negated => {}
            What::Name(senses) => {
                if !item.torn.is_empty() {
                    let word = self.typed(item);
                    self.ask_unknown(&word, item.torn.clone());
                    return 1;
                }
                if let Some(right) = &item.healed {
                    self.draft.assumed.push(Assumed::Spelling(self.typed(item), right.clone()));
                }
                let Some(sense) = senses.iter().find(|s| s.species == self.species.id).copied() else {
                    self.unknown(items, i);
                    return 1;
                };
                self.last_was_name = true;
                return self.name(items, i, sense.meaning);
            }
            What::Word(role) => return self.word(items, i, *role),
        }
        1
    }

    fn counted(&mut self, m: u16, f: u16, u: u16) {
        self.draft.counts = Some((m, f, u));
        self.draft.animal.sex = match (m, f) {
            (0, 0) => SexSaid::Unknown,
            (_, 0) => SexSaid::Male,
            (0, _) => SexSaid::Female,
            _ => {
                self.draft.pair = true;
                SexSaid::Unknown
            }
        };
    }

    fn share(&mut self, items: &[Item], i: usize, share: &Odds) -> usize {
        let chance = if *share >= sure() { Chance::Sure } else { Chance::Part(share.clone()) };
        let rest = &items[i + 1..];
        let governs = rest.iter().take_while(|x| !x.is_sign(',')).any(|x| {
            matches!(x.what, What::Name(_) | What::Unknown)
                || matches!(
                    x.role(),
                    Some(Role::Het | Role::Possible | Role::Both | Role::All | Role::Double | Role::Triple)
                )
        });
        if governs {
            self.het = Some(Het { chance, governed: 0, fresh: true, listed: false });
            self.next = None;
            return 1;
        }
        // "het clown 66%", "poss het clown (66%)": the share belongs to the het before it.
        if let Some(last) = self.draft.genes.iter_mut().rev().find(|g| {
            let recessive = self.species.gene(g.id).is_recessive();
            g.copies == 1 && (recessive || !matches!(g.chance, Chance::Sure) || !g.firm) && self.het.is_some()
        }) {
            last.chance = chance.clone();
            if let Some(het) = &mut self.het {
                het.chance = chance;
            }
        } else if self.het.as_ref().is_some_and(|h| h.governed == 0) {
            if let Some(het) = &mut self.het {
                het.chance = chance;
            }
        } else {
            self.ask(self.typed(&items[i]), Unclear::HetCount, Vec::new());
        }
        1
    }

    fn number(&mut self, items: &[Item], i: usize, n: u32) -> usize {
        let next = items.get(i + 1);
        match next.and_then(Item::role) {
            Some(Role::Grams) => {
                self.draft.animal.weight_g = Some(n);
                return 2;
            }
            // In some catalogues "gs" names a gene; after a number it is grams.
            None if n >= 20 && next.is_some_and(|x| self.text.folded(x.words.clone()) == "gs") => {
                self.draft.animal.weight_g = Some(n);
                return 2;
            }
            Some(Role::Kilos) => {
                self.draft.animal.weight_g = Some(n.saturating_mul(1000));
                return 2;
            }
            Some(Role::Months) => {
                self.draft.animal.age_months = Some(n);
                return 2;
            }
            Some(Role::Seasons) if n < 50 => {
                self.draft.animal.age_months = Some(n * 12);
                return 2;
            }
            Some(Role::Age) if n < 50 => {
                let months = self.folded(&items[i + 1]).contains("mo");
                self.draft.animal.age_months = Some(if months { n } else { n * 12 });
                return 2;
            }
            Some(Role::Weeks | Role::Eggs | Role::Line) => return 2,
            Some(Role::Het) if n == 4 => {}
            // "2x pastel": two animals, or two copies.
            Some(Role::Cross) if n == 2 && next.is_some_and(|x| x.glued) => {
                let genes: Vec<Choice> = match items.get(i + 2).map(|x| &x.what) {
                    Some(What::Name(senses)) => match senses.first().map(|s| s.meaning) {
                        Some(Meaning::Gene(g, _)) => vec![
                            Choice::Genes("two copies in one animal".into(), vec![(g, 2)]),
                            Choice::Words("two animals".into()),
                        ],
                        _ => Vec::new(),
                    },
                    _ => Vec::new(),
                };
                let word = self
                    .text
                    .typed(items[i].words.start..items.get(i + 2).map_or(items[i + 1].words.end, |x| x.words.end))
                    .to_owned();
                self.ask(word, Unclear::Twice, genes);
                return 2;
            }
            _ => {}
        }
        // "two het clowns": both parents alike.
        if n == 2
            && next.is_some_and(|x| {
                matches!(x.what, What::Name(_) | What::Species(_) | What::Share(_)) || x.role() == Some(Role::Het)
            })
        {
            self.draft.pair = true;
            return 1;
        }
        if self.het.as_ref().is_some_and(|h| h.governed == 0) && n == 4 {
            return 1; // "het 4 pied"
        }
        if (300..=9999).contains(&n)
            && !(1990..=2099).contains(&n)
            && next.is_none_or(|x| !matches!(x.what, What::Name(_)))
        {
            self.draft.animal.weight_g = Some(n);
        }
        1
    }

    fn ask(&mut self, about: String, kind: Unclear, readings: Vec<Choice>) {
        if self.draft.questions.iter().any(|q| q.about.eq_ignore_ascii_case(&about)) {
            return;
        }
        self.draft.questions.push(Question { about, kind, readings, animal: self.which });
    }

    #[expect(clippy::too_many_lines)] // one arm a role, as in `step`
    fn word(&mut self, items: &[Item], i: usize, role: Role) -> usize {
        let item = &items[i];
        match role {
            Role::Male => self.draft.animal.sex = SexSaid::Male,
            Role::Female => self.draft.animal.sex = SexSaid::Female,
            Role::MaleMaker | Role::FemaleMaker => {
                self.draft.animal.sex = SexSaid::Male;
                self.draft.animal.side = Some(if role == Role::MaleMaker { Side::Y } else { Side::X });
            }
            Role::Child => {
                self.draft.child = true;
                let male = self.folded(item).starts_with("son");
                self.draft.animal.sex = if male { SexSaid::Male } else { SexSaid::Female };
            }
            Role::Pair | Role::Trio => self.draft.pair = true,
            Role::Het => {
                let twice = self.het.as_ref().is_some_and(|h| !h.fresh && h.governed == 0);
                if twice {
                    self.ask(format!("{} {}", self.typed(item), self.typed(item)), Unclear::HetCount, Vec::new());
                }
                match &mut self.het {
                    Some(het) if het.fresh => het.fresh = false,
                    _ => self.het = Some(Het { chance: Chance::Sure, governed: 0, fresh: false, listed: false }),
                }
                self.next = None;
            }
            Role::For => {
                if let Some(het) = &mut self.het {
                    het.listed = true;
                }
            }
            Role::And => {
                if let Some(het) = &mut self.het
                    && het.governed > 0
                {
                    het.listed = true;
                }
            }
            Role::Possible if !self.het.as_ref().is_some_and(|h| h.fresh) => {
                self.het = Some(Het { chance: Chance::Open, governed: 0, fresh: true, listed: false });
            }
            Role::PossibleSuper => {
                self.next = Some((Next::OneCopy, self.typed(item)));
                self.draft.questions.push(Question {
                    about: self.typed(item),
                    kind: Unclear::SuperChance,
                    readings: Vec::new(),
                    animal: self.which,
                });
            }
            Role::Double | Role::Triple | Role::Quadruple => {
                let n = match role {
                    Role::Double => 2,
                    Role::Triple => 3,
                    _ => 4,
                };
                self.draft.het_count = Some((n, self.typed(item)));
                match &mut self.het {
                    Some(het) if het.fresh => {
                        het.fresh = false;
                        het.listed = true;
                    }
                    _ => self.het = Some(Het { chance: Chance::Sure, governed: 0, fresh: false, listed: true }),
                }
            }
            // "they're both het ghost": two alike.
            Role::Both
                if self.het.is_none()
                    && self.draft.genes.is_empty()
                    && items.get(i + 1).is_some_and(|x| {
                        matches!(x.role(), Some(Role::Het | Role::Visual)) || matches!(x.what, What::Name(_))
                    }) =>
            {
                self.draft.pair = true;
            }
            // "het for the lot (lavender, amel)": the lot is told.
            Role::Both | Role::All
                if self.het.is_some()
                    && items[i + 1..]
                        .iter()
                        .skip_while(|x| !x.is_sign('('))
                        .any(|x| matches!(x.what, What::Name(_))) =>
            {
                if let Some(het) = &mut self.het {
                    het.listed = true;
                }
            }
            Role::Both | Role::All => {
                let chance = self.het.as_ref().map(|h| h.chance.clone());
                if let Some(chance) = chance {
                    self.draft.het_all = Some(chance);
                    self.het = None;
                } else if role == Role::Both && self.next.as_ref().is_some_and(|(n, _)| *n == Next::Visual) {
                    self.draft.open_visual = true;
                }
            }
            // "het for the same": the recessives of the other animal.
            Role::Same if self.het.as_ref().is_some_and(|h| h.governed == 0) => {
                self.draft.het_all = self.het.take().map(|h| h.chance);
            }
            Role::Same => self.draft.same = true,
            Role::Visual => {
                self.next = Some((Next::Visual, self.typed(item)));
                self.het = None;
            }
            Role::Super | Role::Homo => {
                if let Some((Next::Super | Next::Homo, word)) = &self.next {
                    let about = format!("{word} {}", self.typed(item));
                    self.ask(about, Unclear::Twice, Vec::new());
                }
                // "double super pastel enchi": which of them has two copies?
                if i.checked_sub(1).is_some_and(|k| self.folded(&items[k]) == "double") {
                    self.ask(format!("double {}", self.typed(item)), Unclear::Twice, Vec::new());
                }
                self.next = Some((if role == Role::Super { Next::Super } else { Next::Homo }, self.typed(item)));
            }
            Role::Single => self.next = Some((Next::OneCopy, self.typed(item))),
            Role::Normal => {
                self.draft.normal = true;
                if !self.het.as_ref().is_some_and(|h| h.fresh) {
                    self.het = None;
                }
            }
            Role::NoHets => {
                self.het = None;
                // "no het pied": the gene behind it is not there.
                self.negated = self.folded(item).ends_with("het");
            }
            Role::Not => self.negated = true,
            // "an unproven albino girl" has not bred yet; "unproven" alone is a look that nobody knows.
            Role::Unproven
                if items.get(i + 1).is_some_and(|x| {
                    matches!(x.what, What::Name(_)) || matches!(x.role(), Some(Role::Male | Role::Female | Role::Het))
                }) => {}
            Role::Unproven => self.ask_unknown(&self.typed(item), Vec::new()),
            _ => {}
        }
        1
    }

    fn push(&mut self, id: GeneId, copies: u8, chance: Chance, firm: bool, word: &str, coined: bool) {
        self.draft.genes.push(Gene { id, copies, chance, firm, word: word.to_owned(), coined });
    }

    /// "clown het": the word stands behind its gene, and nothing else could be meant.
    fn het_behind(&mut self, items: &[Item], het: &Het) -> bool {
        let beside = |x: &&Item| {
            matches!(x.what, What::Sign(_) | What::Species(_) | What::Sexes(..))
                || matches!(x.role(), Some(Role::Filler | Role::Male | Role::Female))
        };
        let mut back = items.iter().rev().filter(|x| !beside(x));
        let (Some(word), Some(name)) = (back.next(), back.next()) else { return false };
        let [.., gene] = &mut self.draft.genes[..] else { return false };
        let recessive = self.species.gene(gene.id).is_recessive();
        if word.role() != Some(Role::Het)
            || !matches!(name.what, What::Name(_))
            || !recessive
            || gene.firm
            || gene.coined
            || gene.copies != 2
            || self.draft.het_count.is_some()
        {
            return false;
        }
        gene.copies = 1;
        gene.chance = het.chance.clone();
        let said = self.text.typed(name.words.start..word.words.end).to_owned();
        self.draft.assumed.push(Assumed::Usual(said, vec![(gene.id, 1)]));
        true
    }

    fn finish(&mut self, items: &[Item]) {
        if let Some(het) = self.het.take()
            && het.governed == 0
            && self.draft.het_all.is_none()
            && !self.het_behind(items, &het)
        {
            self.draft.open_het = Some(het.chance);
        }
        if let Some((next, _)) = self.next.take()
            && self.draft.genes.is_empty()
        {
            self.draft.open_visual = next == Next::Visual;
            self.draft.open_super = next == Next::Super && self.wish;
        }
        // "pastel, poss super": the gene stood before it.
        if let Some(gene) = self.draft.genes.iter().rev().find(|g| !self.species.gene(g.id).is_recessive()) {
            let (id, word) = (gene.id, gene.word.clone());
            self.fill_super(id, &word);
        }
        self.draft.questions.retain(|q| q.kind != Unclear::SuperChance || !q.readings.is_empty());
        // One copy or two is left to the question.
        for gene in self.draft.open_supers() {
            self.draft.genes.retain(|g| g.id != gene);
        }
        if let (Some(first), Some(last)) = (items.first(), items.last()) {
            self.text.typed(first.words.start..last.words.end).clone_into(&mut self.draft.animal.said);
        }
        self.maker();
        self.twice();
        self.fill_loci();
        self.count_hets();
        self.open_chances();
        self.governed();
        if !self.wish {
            self.seen_with();
        }
    }
}
