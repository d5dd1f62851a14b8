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

use super::Reader;
use super::lexicon::{Meaning, Said};
use super::matching::{Item, What};
use super::requests::{Animal, Assumed, Carried, Choice, Question, SexSaid, Side, Unclear};
use super::vocabulary::Role;
use super::words::Text;
use crate::engine::odds::{Odds, none, odds, sure};
use crate::species::entries::{Inheritance, Then};
use crate::species::{Candidate, GeneId, Species};

/// How sure a het is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Chance {
    /// Stated as a fact.
    Sure,
    /// A stated share.
    Part(Odds),
    /// "possible", without a number.
    Open,
}

/// One gene of the draft.
#[derive(Debug, Clone)]
struct Gene {
    id: GeneId,
    copies: u8,
    chance: Chance,
    /// The copies were said ("super", "homo"), not taken from the bare name.
    firm: bool,
    /// The word it came from.
    word: String,
    /// Came out of a combination or pair name.
    coined: bool,
}

/// An animal before the other parent is known.
#[derive(Debug, Clone, Default)]
pub(super) struct Draft {
    pub(super) animal: Animal,
    genes: Vec<Gene>,
    /// A het word without a gene: takes the recessives of the other side.
    pub(super) open_het: Option<Chance>,
    /// "het both": one copy of every recessive of the other side.
    pub(super) het_all: Option<Chance>,
    /// "visual" without a gene.
    pub(super) open_visual: bool,
    /// "same": a copy of the other animal.
    pub(super) same: bool,
    /// "normal" was said, or nothing but a sex.
    pub(super) normal: bool,
    /// Males, females and unsexed as counted.
    pub(super) counts: Option<(u16, u16, u16)>,
    /// A pair or trio of such animals: they are both parents.
    pub(super) pair: bool,
    /// Double, triple, … het: so many genes must be named.
    het_count: Option<(usize, String)>,
    governed: Vec<GeneId>,
    pub(super) questions: Vec<Question>,
    pub(super) assumed: Vec<Assumed>,
    pub(super) unread: Vec<String>,
}

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

    /// Reads the item at `i`; the number of items it took.
    #[allow(clippy::too_many_lines)] // one arm an item kind: the table is easier to check whole
    fn step(&mut self, items: &[Item], i: usize) -> usize {
        let item = &items[i];
        let next = items.get(i + 1);
        let was_name = std::mem::replace(&mut self.last_was_name, false);
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
            What::Number(n) => return self.number(items, i, *n),
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
            What::Unknown => self.unknown(item),
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
                    self.unknown(item);
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
        if let Some(last) = self
            .draft
            .genes
            .iter_mut()
            .rev()
            .find(|g| g.copies == 1 && (!matches!(g.chance, Chance::Sure) || !g.firm) && self.het.is_some())
        {
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
            None if n >= 20 && next.is_some_and(|x| self.text.typed(x.words.clone()).eq_ignore_ascii_case("gs")) => {
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
                let months = self.typed(&items[i + 1]).to_lowercase().contains("mo");
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
        if n == 2 && next.is_some_and(|x| matches!(x.what, What::Name(_)) || x.role() == Some(Role::Het)) {
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

    fn english(&mut self, items: &[Item], i: usize, was_name: bool) -> usize {
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
        if after_het || was_name && before_name || was_name && i + 1 == items.len() {
            let offers = self.offers(&word);
            if after_het || !offers.is_empty() && was_name {
                self.ask_unknown(&word, offers);
            } else if was_name && before_name {
                self.draft.unread.push(word);
            }
        }
        1
    }

    fn offers(&self, word: &str) -> Vec<String> {
        let key = super::words::fold(word);
        self.reader.spelling.offers(&key, Some(self.species.id)).into_iter().map(|h| h.word.to_owned()).collect()
    }

    fn unknown(&mut self, item: &Item) {
        let word = self.typed(item);
        if item.capital && self.offers(&word).is_empty() && word.chars().any(char::is_lowercase) {
            return; // an animal's name
        }
        if word.chars().all(|c| !c.is_alphanumeric()) {
            return; // signs and pictures say nothing
        }
        let offers = self.offers(&word);
        self.ask_unknown(&word, offers);
    }

    fn ask_unknown(&mut self, word: &str, offers: Vec<String>) {
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

    fn ask(&mut self, about: String, kind: Unclear, readings: Vec<Choice>) {
        if self.draft.questions.iter().any(|q| q.about.eq_ignore_ascii_case(&about)) {
            return;
        }
        self.draft.questions.push(Question { about, kind, readings, animal: self.which });
    }

    #[allow(clippy::too_many_lines)] // one arm a role, as in `step`
    fn word(&mut self, items: &[Item], i: usize, role: Role) -> usize {
        let item = &items[i];
        match role {
            Role::Male => self.draft.animal.sex = SexSaid::Male,
            Role::Female => self.draft.animal.sex = SexSaid::Female,
            Role::MaleMaker | Role::FemaleMaker => {
                self.draft.animal.sex = SexSaid::Male;
                self.draft.animal.side = Some(if role == Role::MaleMaker { Side::Y } else { Side::X });
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
            Role::Both | Role::All => {
                let chance = self.het.as_ref().map(|h| h.chance.clone());
                if let Some(chance) = chance {
                    self.draft.het_all = Some(chance);
                    self.het = None;
                } else if role == Role::Both && self.next.as_ref().is_some_and(|(n, _)| *n == Next::Visual) {
                    self.draft.open_visual = true;
                }
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
                self.next = Some((if role == Role::Super { Next::Super } else { Next::Homo }, self.typed(item)));
            }
            Role::Single => self.next = Some((Next::OneCopy, self.typed(item))),
            Role::Normal => {
                self.draft.normal = true;
                if !self.het.as_ref().is_some_and(|h| h.fresh) {
                    self.het = None;
                }
            }
            Role::NoHets => self.het = None,
            Role::Unproven => self.ask_unknown(&self.typed(item), Vec::new()),
            _ => {}
        }
        1
    }

    /// Reads a name; the number of items it took.
    fn name(&mut self, items: &[Item], i: usize, meaning: Meaning) -> usize {
        let word = self.typed(&items[i]);
        match meaning {
            Meaning::Gene(gene, said) => {
                self.gene(gene, said, &word, false);
            }
            Meaning::Look(gene) => self.look(gene),
            Meaning::Tag(_) => {
                // A tag without its family's word beside it: "texas", "nic". Not a gene by itself.
                if self.het.as_ref().is_some_and(|h| h.governed == 0) {
                    self.ask_unknown(&word, Vec::new());
                }
            }
            Meaning::Family(family) => return self.family(items, i, family, &word),
            Meaning::Combo(combo, line) => self.combo(combo, line, &word),
            Meaning::Pair(pair) => self.pair(pair, &word),
            Meaning::Ambiguous(entry) => return self.ambiguous(items, i, entry, &word),
        }
        1
    }

    fn look(&mut self, gene: GeneId) {
        let entry = &self.species.gene(gene).entry;
        self.draft.animal.looks.push(gene);
        self.draft.assumed.push(Assumed::NoOddsFor(gene));
        let carries: Vec<(GeneId, u8)> = entry
            .carries
            .iter()
            .filter_map(|p| Some((self.species.gene_by_id(p.id.as_deref()?)?, copies_u8(p.copies))))
            .collect();
        for (g, copies) in carries {
            let (copies, chance) = match &mut self.het {
                Some(het) => {
                    het.governed += 1;
                    (1, het.chance.clone())
                }
                None => (copies, Chance::Sure),
            };
            self.push(g, copies, chance, false, &entry.name.clone(), true);
        }
    }

    fn gene(&mut self, id: GeneId, said: Said, word: &str, coined: bool) {
        let gene = self.species.gene(id);
        let next = self.next.take();
        if let Some(q) = self.draft.questions.last_mut()
            && q.kind == Unclear::SuperChance
            && q.readings.is_empty()
        {
            q.about = format!("{} {word}", q.about);
            q.readings = vec![
                Choice::Genes(format!("one copy: {}", gene.label(1)), vec![(id, 1)]),
                Choice::Genes(format!("two copies: {}", gene.label(2)), vec![(id, 2)]),
                Choice::Chance(id, 2, odds(1, 3)),
            ];
        }
        if gene.is_recessive() {
            match (&next, &mut self.het) {
                (Some((Next::Super, _)), _) => self.super_recessive(id, word),
                (Some((Next::Homo | Next::Visual, _)), _) => {
                    self.push(id, 2, Chance::Sure, next.is_some_and(|n| n.0 == Next::Homo), word, coined);
                }
                (_, Some(het)) => {
                    het.fresh = false;
                    het.governed += 1;
                    let (chance, listed, n) = (het.chance.clone(), het.listed, het.governed);
                    if n > 1 && !listed && self.draft.het_count.is_none() {
                        self.draft.governed.push(id);
                    } else if n == 1 {
                        self.draft.governed = vec![id];
                    }
                    self.push(id, 1, chance, true, word, coined);
                }
                (None | Some((Next::OneCopy, _)), None) => {
                    self.push(id, gene.bare_copies(), Chance::Sure, false, word, coined);
                }
            }
            return;
        }
        let two_alike = gene.entry.inheritance == Inheritance::Dominant;
        let (copies, firm) = match (&next, said) {
            (_, Said::Two) => (2, true),
            (_, Said::One) => (1, true),
            (Some((Next::Super | Next::Homo, _)), _) => {
                if two_alike {
                    self.draft.assumed.push(Assumed::SuperIs(id));
                }
                (2, true)
            }
            (Some((Next::OneCopy, _)), _) => (1, true),
            _ => (gene.bare_copies(), false),
        };
        let mut copies = copies;
        let mut chance = Chance::Sure;
        if let Some(het) = &mut self.het {
            let direct = het.governed == 0;
            if direct && next.is_none() && said == Said::Bare {
                match &het.chance {
                    Chance::Sure => {
                        copies = 1;
                        het.governed += 1;
                        het.fresh = false;
                        // "het for" a list stays open for what follows.
                        self.draft.assumed.push(Assumed::HetShows(id));
                    }
                    Chance::Part(p) => {
                        chance = Chance::Part(p.clone());
                        copies = 1;
                        het.governed += 1;
                        het.fresh = false;
                    }
                    Chance::Open => {
                        chance = Chance::Open;
                        self.het = None;
                    }
                }
            }
        }
        self.push(id, copies, chance, firm, word, coined);
    }

    /// "super clown": no such thing; perhaps the super of the usual visible gene ("killer clown") was meant.
    fn super_recessive(&mut self, id: GeneId, word: &str) {
        let file = self.species.file();
        let killer = file.combo.iter().position(|c| c.id == format!("killer_{}", self.species.gene(id).entry.id));
        match killer {
            Some(c) if !self.wish => {
                let readings = vec![
                    Choice::Genes(self.species.gene(id).label(2).to_owned(), vec![(id, 2)]),
                    Choice::Genes(file.combo[c].name.clone(), combo_genes(self.species, c, None).unwrap_or_default()),
                ];
                self.ask(format!("super {word}"), Unclear::NoSuper, readings);
                self.push(id, 2, Chance::Sure, false, word, false);
            }
            _ => {
                self.draft.assumed.push(Assumed::SuperIs(id));
                self.push(id, 2, Chance::Sure, true, word, false);
            }
        }
    }

    fn family(&mut self, items: &[Item], i: usize, family: usize, word: &str) -> usize {
        let entry = &self.species.file().family[family];
        // A member or tag beside the word, with "line", brackets or signs between, settles it.
        let between =
            |x: &Item| x.role() == Some(Role::Line) || matches!(x.what, What::Sign('(' | ')' | '-' | '[' | ']' | '/'));
        let member = |x: &Item| match &x.what {
            What::Name(senses) => senses.iter().find_map(|s| match s.meaning {
                Meaning::Gene(g, _) | Meaning::Tag(g) | Meaning::Look(g)
                    if s.species == self.species.id
                        && self.species.gene(g).entry.family.as_deref() == Some(&entry.id) =>
                {
                    Some(g)
                }
                _ => None,
            }),
            _ => None,
        };
        let mut ahead = i + 1;
        while items.get(ahead).is_some_and(&between) {
            ahead += 1;
        }
        if let Some(gene) = items.get(ahead).and_then(member) {
            self.member(gene, word);
            return ahead + 1 - i;
        }
        let behind = items[..i].iter().rev().find(|x| !between(x)).and_then(member);
        if let Some(gene) = behind {
            // The tag was read as the gene itself already; the family word adds nothing.
            if self.draft.genes.iter().any(|g| g.id == gene) {
                return 1;
            }
            self.member(gene, word);
            return 1;
        }
        if entry.bare != "ask"
            && let Some(gene) = self.species.gene_by_id(&entry.bare)
        {
            self.draft
                .assumed
                .push(Assumed::Usual(word.to_owned(), vec![(gene, self.species.gene(gene).bare_copies())]));
            self.member(gene, word);
            return 1;
        }
        let copies_hint = self.next.take().map(|n| n.0);
        let recessive_copies = if copies_hint.is_none() && self.het.is_some() { 1 } else { 2 };
        if let Some(het) = &mut self.het {
            het.governed += 1;
            het.fresh = false;
        }
        let readings = self
            .species
            .genes()
            .iter()
            .enumerate()
            .filter(|(_, g)| g.entry.family.as_deref() == Some(&entry.id))
            .filter(|(_, g)| !(matches!(copies_hint, Some(Next::Super)) && g.locus.is_none()))
            .map(|(n, g)| {
                let id = GeneId(u16::try_from(n).unwrap_or(u16::MAX));
                let copies = if g.is_recessive() {
                    recessive_copies
                } else if copies_hint == Some(Next::Super) {
                    2
                } else {
                    1
                };
                Choice::Genes(g.entry.name.clone(), vec![(id, copies)])
            })
            .collect();
        self.ask(word.to_owned(), Unclear::Line, readings);
        1
    }

    fn member(&mut self, gene: GeneId, word: &str) {
        if self.species.gene(gene).locus.is_none() {
            self.look(gene);
        } else {
            self.gene(gene, Said::Bare, word, false);
        }
    }

    fn combo(&mut self, combo: usize, line: Option<GeneId>, word: &str) {
        let entry = &self.species.file().combo[combo];
        let next = self.next.take();
        match combo_genes(self.species, combo, line) {
            Ok(genes) => {
                let visible = genes.iter().any(|(g, _)| !self.species.gene(*g).is_recessive());
                if matches!(next, Some((Next::Super, _))) {
                    let mut readings = vec![Choice::Genes(entry.name.clone(), genes.clone())];
                    for (k, (g, copies)) in genes.iter().enumerate() {
                        if *copies == 1 && !self.species.gene(*g).is_recessive() {
                            let mut more = genes.clone();
                            more[k].1 = 2;
                            readings.push(Choice::Genes(format!("with {}", self.species.gene(*g).label(2)), more));
                        }
                    }
                    self.ask(format!("super {word}"), Unclear::NoSuper, readings);
                } else if self.het.is_some() && visible {
                    self.ask(
                        format!("het {word}"),
                        Unclear::Word,
                        vec![Choice::Genes(entry.name.clone(), genes.clone())],
                    );
                } else {
                    self.draft.assumed.push(Assumed::Combo(entry.name.clone(), genes.clone()));
                    for (g, copies) in genes {
                        match &mut self.het {
                            Some(het) => {
                                het.governed += 1;
                                het.listed = true;
                                het.fresh = false;
                                let chance = het.chance.clone();
                                self.push(g, 1, chance, true, word, true);
                            }
                            None => self.push(g, copies, Chance::Sure, false, word, true),
                        }
                    }
                }
            }
            Err(family) => {
                let het = self.het.as_ref().map(|h| h.chance.clone());
                let family = self.species.file().family.iter().find(|f| f.id == family);
                let readings = self
                    .species
                    .genes()
                    .iter()
                    .enumerate()
                    .filter(|(_, g)| g.entry.family.as_deref() == family.map(|f| f.id.as_str()))
                    .filter_map(|(n, g)| {
                        let line = GeneId(u16::try_from(n).ok()?);
                        let mut genes = combo_genes(self.species, combo, Some(line)).ok()?;
                        if het.is_some() {
                            for gene in &mut genes {
                                gene.1 = 1;
                            }
                        }
                        Some(Choice::Genes(format!("{} with {}", entry.name, g.entry.name), genes))
                    })
                    .collect();
                self.ask(word.to_owned(), Unclear::Line, readings);
            }
        }
        for look in &entry.looks {
            if let Some(look) = self.species.gene_by_id(look) {
                self.draft.animal.looks.push(look);
            }
        }
    }

    fn pair(&mut self, pair: usize, word: &str) {
        let genes = pair_genes(self.species, pair);
        let next = self.next.take();
        if self.het.as_ref().is_some_and(|h| h.governed == 0) || matches!(next, Some((Next::Super, _))) {
            let lead = if self.het.is_some() { "het" } else { "super" };
            let readings = genes
                .iter()
                .map(|(g, _)| Choice::Genes(self.species.gene(*g).label(1).to_owned(), vec![(*g, 1)]))
                .collect();
            self.ask(format!("{lead} {word}"), Unclear::Word, readings);
            return;
        }
        self.draft.assumed.push(Assumed::Combo(self.species.file().allele_pair[pair].name.clone(), genes.clone()));
        for (g, copies) in genes {
            self.push(g, copies, Chance::Sure, false, word, true);
        }
    }

    fn ambiguous(&mut self, items: &[Item], i: usize, entry: usize, word: &str) -> usize {
        let entry = &self.species.file().ambiguous[entry];
        let candidates = self.species.candidates(entry);
        let het = self.het.as_ref().is_some_and(|h| h.governed == 0 || h.listed);
        let plain: Vec<GeneId> = candidates
            .iter()
            .filter_map(|c| match c {
                Candidate::Gene { gene, copies: None | Some(1) } => Some(*gene),
                _ => None,
            })
            .collect();
        if het
            && plain.len() == 1
            && candidates.len() > 1
            && entry.then == Then::Ask
            && self.species.gene(plain[0]).is_recessive()
        {
            self.gene(plain[0], Said::Bare, word, false);
            return 1;
        }
        // "bp enchi" may be black pastel enchi; "my bp is het clown" is the species.
        if candidates.iter().any(|c| matches!(c, Candidate::Term(_))) {
            let beside = items.get(i + 1).is_some_and(|x| matches!(x.what, What::Name(_)));
            if !beside || self.draft.genes.is_empty() && i == 0 && items.len() == 1 {
                return 1;
            }
        }
        if entry.then == Then::Assume
            && let Some(usual) = entry.usual.as_deref().and_then(|u| self.species.candidate(u))
        {
            self.take(&usual, word);
            return 1;
        }
        let super_next = self.next.as_ref().is_some_and(|n| matches!(n.0, Next::Super | Next::Homo));
        let readings: Vec<Choice> = candidates.iter().filter_map(|c| self.choice(c, het, super_next)).collect();
        let about = match &self.next {
            Some((_, lead)) => format!("{lead} {word}"),
            None if het => format!("het {word}"),
            None => word.to_owned(),
        };
        self.next = None;
        if let Some(het) = &mut self.het {
            het.governed += 1;
        }
        self.ask(about, Unclear::Word, readings);
        1
    }

    fn choice(&self, candidate: &Candidate, het: bool, two: bool) -> Option<Choice> {
        Some(match candidate {
            Candidate::Gene { gene, copies } => {
                let g = self.species.gene(*gene);
                g.locus?;
                let copies = copies.unwrap_or(if het && g.is_recessive() {
                    1
                } else if two {
                    2
                } else {
                    g.bare_copies()
                });
                Choice::Genes(g.label(copies).to_owned(), vec![(*gene, copies)])
            }
            Candidate::Combo(c) => {
                Choice::Genes(self.species.file().combo[*c].name.clone(), combo_genes(self.species, *c, None).ok()?)
            }
            Candidate::Pair(p) => {
                Choice::Genes(self.species.file().allele_pair[*p].name.clone(), pair_genes(self.species, *p))
            }
            Candidate::Term(term) => Choice::Words(format!("the {term}")),
        })
    }

    fn take(&mut self, candidate: &Candidate, word: &str) {
        let before = self.draft.genes.len();
        let assumed = self.draft.assumed.len();
        match candidate {
            Candidate::Gene { gene, copies } => {
                let said = match copies {
                    Some(1) => Said::One,
                    Some(2) => Said::Two,
                    _ => Said::Bare,
                };
                self.gene(*gene, said, word, false);
            }
            Candidate::Combo(c) => self.combo(*c, None, word),
            Candidate::Pair(p) => self.pair(*p, word),
            Candidate::Term(_) => {}
        }
        self.draft.assumed.truncate(assumed);
        let genes = self.draft.genes[before.min(self.draft.genes.len())..].iter().map(|g| (g.id, g.copies)).collect();
        self.draft.assumed.push(Assumed::Usual(word.to_owned(), genes));
    }

    fn push(&mut self, id: GeneId, copies: u8, chance: Chance, firm: bool, word: &str, coined: bool) {
        self.draft.genes.push(Gene { id, copies, chance, firm, word: word.to_owned(), coined });
    }

    fn finish(&mut self, items: &[Item]) {
        if let Some(het) = self.het.take()
            && het.governed == 0
            && self.draft.het_all.is_none()
        {
            self.draft.open_het = Some(het.chance);
        }
        if let Some((next, _)) = self.next.take()
            && next == Next::Visual
        {
            self.draft.open_visual = true;
        }
        self.draft.questions.retain(|q| q.kind != Unclear::SuperChance || !q.readings.is_empty());
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

    /// A gene that is nearly always found with another: is that one there too?
    fn seen_with(&mut self) {
        for k in 0..self.draft.genes.len() {
            let (id, copies) = (self.draft.genes[k].id, self.draft.genes[k].copies);
            let entry = &self.species.gene(id).entry;
            for other in &entry.seen_with {
                let Some(other) = self.species.gene_by_id(other) else { continue };
                if copies == 2 && !self.draft.genes.iter().any(|g| g.id == other) {
                    let name = &self.species.gene(other).entry.name;
                    let readings = vec![
                        Choice::Genes(format!("with {name}"), vec![(other, 2)]),
                        Choice::Words(format!("{} alone", entry.name)),
                    ];
                    self.ask(entry.name.clone(), Unclear::Word, readings);
                }
            }
        }
    }

    /// "male maker" without its gene: the only sex-linked gene of the species.
    fn maker(&mut self) {
        if self.draft.animal.side.is_none() {
            return;
        }
        let linked: Vec<GeneId> = (0..)
            .zip(self.species.genes())
            .filter(|(_, g)| g.entry.sex_linked.is_some())
            .map(|(n, _)| GeneId(n))
            .collect();
        if let [only] = linked[..]
            && !self.draft.genes.iter().any(|g| g.id == only)
        {
            self.push(only, 1, Chance::Sure, false, "maker", false);
        }
    }

    /// One gene named twice: two copies, or two animals run together?
    fn twice(&mut self) {
        let mut genes: Vec<Gene> = Vec::new();
        for gene in std::mem::take(&mut self.draft.genes) {
            let Some(old) = genes.iter_mut().find(|g| g.id == gene.id) else {
                genes.push(gene);
                continue;
            };
            if old.copies == gene.copies
                && old.chance == gene.chance
                && (old.copies == 2 || old.coined != gene.coined && self.species.gene(gene.id).is_recessive())
            {
                continue;
            }
            let label =
                |copies| Choice::Genes(self.species.gene(gene.id).label(copies).to_owned(), vec![(gene.id, copies)]);
            let about = format!("{} … {}", old.word, gene.word);
            let readings = vec![label(1), label(2)];
            if !self.draft.questions.iter().any(|q| q.about == about) {
                self.draft.questions.push(Question { about, kind: Unclear::Twice, readings, animal: self.which });
            }
        }
        self.draft.genes = genes;
    }

    /// Two alleles of one locus fill it; a third is asked about.
    fn fill_loci(&mut self) {
        let mut loci: Vec<usize> = self.draft.genes.iter().filter_map(|g| self.species.gene(g.id).locus).collect();
        loci.sort_unstable();
        loci.dedup();
        for locus in loci {
            let at: Vec<usize> = (0..self.draft.genes.len())
                .filter(|k| self.species.gene(self.draft.genes[*k].id).locus == Some(locus))
                .collect();
            let total = |genes: &[Gene]| at.iter().map(|k| u32::from(genes[*k].copies)).sum::<u32>();
            if at.len() < 2 {
                continue;
            }
            for k in &at {
                if !self.draft.genes[*k].firm && total(&self.draft.genes) > 2 {
                    self.draft.genes[*k].copies = 1;
                }
            }
            if total(&self.draft.genes) > 2 {
                let mut readings = Vec::new();
                for (n, a) in at.iter().enumerate() {
                    for b in &at[n + 1..] {
                        let (a, b) = (&self.draft.genes[*a], &self.draft.genes[*b]);
                        let name = format!(
                            "{} with {}",
                            self.species.gene(a.id).entry.name,
                            self.species.gene(b.id).entry.name
                        );
                        readings.push(Choice::Genes(name, vec![(a.id, 1), (b.id, 1)]));
                    }
                }
                let about = at.iter().map(|k| self.draft.genes[*k].word.as_str()).collect::<Vec<_>>().join(" + ");
                self.draft.questions.push(Question {
                    about,
                    kind: Unclear::TooManyAlleles,
                    readings,
                    animal: self.which,
                });
            }
        }
    }

    /// "DH": two recessives must be named.
    fn count_hets(&mut self) {
        if let Some((n, word)) = self.draft.het_count.take() {
            let named =
                self.draft.genes.iter().filter(|g| g.copies == 1 && self.species.gene(g.id).is_recessive()).count();
            let asked = self
                .draft
                .questions
                .iter()
                .any(|q| matches!(q.kind, Unclear::Line | Unclear::Word | Unclear::UnknownGene));
            if named == 0 && self.draft.open_het.is_some() {
                // "dh" alone: the other parent may name the genes.
                self.draft.het_all = self.draft.open_het.take();
                self.draft.het_count = Some((n, word));
            } else if named != n && !asked {
                self.ask(word, Unclear::HetCount, Vec::new());
            }
        }
    }

    /// Possible hets without a number: where from?
    fn open_chances(&mut self) {
        for k in 0..self.draft.genes.len() {
            let gene = &self.draft.genes[k];
            if gene.chance == Chance::Open {
                let entry = self.species.gene(gene.id);
                let (lead, chances) = if entry.is_recessive() {
                    ("possible het", vec![odds(2, 3), odds(1, 2), odds(1, 3), odds(1, 4), sure()])
                } else {
                    ("possible", vec![sure(), odds(1, 2), none()])
                };
                let readings = chances.into_iter().map(|chance| Choice::Chance(gene.id, 1, chance)).collect();
                let about = format!("{lead} {}", entry.entry.name);
                self.ask(about, Unclear::HetChance, readings);
            }
        }
    }

    /// More than one recessive behind one "het" with nothing between: the custom is said, or asked where a share stands before it.
    fn governed(&mut self) {
        let governed = std::mem::take(&mut self.draft.governed);
        if governed.len() < 2 {
            return;
        }
        let part = self.draft.genes.iter().find(|g| g.id == governed[0]).map(|g| g.chance.clone());
        if let Some(Chance::Part(p)) = part {
            let names: Vec<&str> = governed.iter().map(|g| self.species.gene(*g).entry.name.as_str()).collect();
            let last = *governed.last().unwrap_or(&governed[0]);
            let readings = vec![
                Choice::Words(format!("{p} het for each of {}", names.join(", "))),
                Choice::Genes(format!("visual {}", self.species.gene(last).entry.name), vec![(last, 2)]),
            ];
            self.ask(names.join(" "), Unclear::Word, readings);
        } else {
            self.draft.assumed.push(Assumed::HetGoverns(governed));
        }
    }
}

impl Draft {
    /// Recessives named on this animal, with any number of copies.
    pub(super) fn recessives(&self, species: &Species) -> Vec<GeneId> {
        self.genes.iter().map(|g| g.id).filter(|g| species.gene(*g).is_recessive()).collect()
    }

    /// Whether it leans on the other animal.
    pub(super) fn says_open(&self) -> bool {
        self.open_het.is_some() || self.het_all.is_some() || self.open_visual || self.same
    }

    /// Whether a gene, a look or an open word stands in it.
    pub(super) fn has_genes(&self) -> bool {
        !self.genes.is_empty() || self.says_open() || !self.animal.looks.is_empty()
    }

    /// Genes and copies, certain or not.
    pub(super) fn named(&self) -> Vec<(GeneId, u8)> {
        self.genes.iter().map(|g| (g.id, g.copies)).collect()
    }

    /// One copy of `gene`, with this chance, if the animal says nothing of it yet.
    pub(super) fn carry(&mut self, gene: GeneId, copies: u8, chance: Chance) {
        if !self.genes.iter().any(|g| g.id == gene) {
            self.genes.push(Gene { id: gene, copies, chance, firm: true, word: String::new(), coined: false });
        }
    }

    /// The same for each of several genes.
    pub(super) fn carry_each(&mut self, genes: &[GeneId], copies: u8, chance: &Chance) {
        for gene in genes {
            self.carry(*gene, copies, chance.clone());
        }
    }

    /// The number of hets that "dh" promised and nobody has named yet.
    pub(super) fn promised_hets(&self) -> Option<(usize, &str)> {
        self.het_count.as_ref().map(|(n, w)| (*n, w.as_str()))
    }

    /// Takes the genes of another animal ("same").
    pub(super) fn copy_genes(&mut self, other: &Self) {
        self.genes.clone_from(&other.genes);
    }

    /// The finished animal: genes sorted by id, chances exact. Genes whose chance is still open are left to the question.
    pub(super) fn into_animal(self, species: &Species) -> Animal {
        let mut animal = self.animal;
        for gene in self.genes {
            let chance = match gene.chance {
                Chance::Sure => sure(),
                Chance::Part(p) => p,
                Chance::Open => continue,
            };
            animal.genes.push(Carried { gene: gene.id, copies: gene.copies, chance });
        }
        animal.genes.sort_by(|a, b| {
            species.gene(a.gene).entry.id.cmp(&species.gene(b.gene).entry.id).then(a.copies.cmp(&b.copies))
        });
        animal
    }
}

fn copies_of(bare: u8, said: Said) -> u8 {
    match said {
        Said::Bare => bare,
        Said::One => 1,
        Said::Two => 2,
    }
}

fn copies_u8(copies: i64) -> u8 {
    if copies >= 2 { 2 } else { 1 }
}

/// The genes of a combination; the id of the family whose line must be asked where `line` does not give it.
pub(super) fn combo_genes(species: &Species, combo: usize, line: Option<GeneId>) -> Result<Vec<(GeneId, u8)>, String> {
    let mut genes = Vec::new();
    for part in &species.file().combo[combo].genes {
        let gene = match (&part.id, &part.one_of, line) {
            (Some(id), _, _) => species.gene_by_id(id),
            (None, Some(_), Some(line)) => Some(line),
            (None, Some(family), None) => return Err(family.clone()),
            (None, None, _) => None,
        };
        if let Some(gene) = gene {
            genes.push((gene, copies_u8(part.copies)));
        }
    }
    Ok(genes)
}

/// One copy of each allele of a pair.
pub(super) fn pair_genes(species: &Species, pair: usize) -> Vec<(GeneId, u8)> {
    species.file().allele_pair[pair].alleles.iter().filter_map(|a| species.gene_by_id(a)).map(|g| (g, 1)).collect()
}
