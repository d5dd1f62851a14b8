//! Which stretch is a parent, which tells of a forebear, which is a wish, and whether two animals are a pair at all.
//!
//! In: the stretches of a message in their order. Out: drafts of the parents, the wish and a second pairing, handed to
//! `finish`. Start at [`build`]; every step of [`Cast`] takes the stretch that it is asked about, or leaves it to the next.

use super::Found;
use super::amounts::Asked;
use super::finish::finish;
use super::forebears::descend;
use super::stretches::{Opens, Stretch, is_gene_like, is_material, is_pronoun};
use crate::reading::Reader;
use crate::reading::animals::{Draft, Parser};
use crate::reading::matching::{Item, What};
use crate::reading::requests::{Assumed, Question, SexSaid, Unclear};
use crate::reading::vocabulary::Role;
use crate::reading::words::Text;
use crate::species::Species;

/// Gives every stretch its part and leaves what was found in `found`.
pub(super) fn build(
    reader: &Reader,
    species: &Species,
    text: &Text,
    stretches: &[Stretch],
    asked: &Asked,
    strong: bool,
    found: &mut Found,
) {
    let mut cast = Cast {
        reader,
        species,
        text,
        stretches,
        asked,
        strong,
        found,
        parents: Vec::new(),
        target: None,
        second: Vec::new(),
        versus: false,
        small: None,
    };
    let mut i = 0;
    while i < stretches.len() {
        i += cast.take(i);
    }
    cast.pair_of_alike();
    cast.put_on();
    cast.are_they_a_pair();
    cast.siblings();
    let Cast { parents, target, second, found, .. } = cast;
    if let Some(draft) = &target {
        found.named.extend(draft.named().iter().map(|g| g.0));
    }
    finish(species, parents, target, second, asked, found);
}

/// The parts that the stretches read so far have got.
struct Cast<'a> {
    reader: &'a Reader,
    species: &'a Species,
    text: &'a Text,
    stretches: &'a [Stretch],
    asked: &'a Asked,
    /// A cross word stands between two animals.
    strong: bool,
    found: &'a mut Found,
    parents: Vec<Draft>,
    target: Option<Draft>,
    /// The parents of a pairing to compare with.
    second: Vec<Draft>,
    versus: bool,
    /// The small word that stands between the parents.
    small: Option<Role>,
}

impl Cast<'_> {
    fn parse(&self, items: &[Item], which: usize, wish: bool) -> Draft {
        Parser::new(self.reader, self.species, self.text, which, wish).read(items)
    }

    fn opens(&self, i: usize) -> Option<Opens> {
        self.stretches.get(i).map(|s| s.opens)
    }

    fn crosses(&self, i: usize) -> bool {
        self.opens(i) == Some(Opens::Cross)
    }

    /// The small pairing word that opens this stretch.
    fn small_word(&self, i: usize) -> Option<Role> {
        match self.opens(i) {
            Some(Opens::Small(role)) => Some(role),
            _ => None,
        }
    }

    /// Takes the stretch at `i`, and those that belong to it; how many they were.
    fn take(&mut self, i: usize) -> usize {
        let stretch = &self.stretches[i];
        match stretch.opens {
            Opens::Versus => {
                self.versus |= self.parents.len() >= 2;
                if !stretch.items.iter().any(is_material) {
                    return 1;
                }
            }
            Opens::From => {
                if let Some(taken) = self.from(i) {
                    return taken;
                }
            }
            // "his parents were super pastel x normal": forebears, told as a pairing.
            Opens::Relative(Role::Parents) if self.crosses(i + 1) && self.parents.len() == 2 => {
                let both = [i, i + 1]
                    .map(|k| self.parse(&self.stretches[k].items, self.parents.len().saturating_sub(1), false));
                let whose = both[0].animal.sex;
                let at = self.parents.iter().position(|p| whose != SexSaid::Unknown && p.animal.sex == whose);
                let at = at.unwrap_or(self.parents.len() - 1);
                descend(self.species, &mut self.parents[at], both.to_vec(), self.found);
                return 2;
            }
            Opens::Relative(role) => {
                self.relative(i, role);
                return 1;
            }
            _ => {}
        }
        self.animal_or_wish(i);
        1
    }

    /// "from a clown x het pied clutch", "out of a clown by a pied": the parents of an animal, not of the pairing asked about.
    fn from(&mut self, i: usize) -> Option<usize> {
        let crosses_next = self.crosses(i + 1);
        let here = &self.stretches[i].items;
        if crosses_next {
            let both = |cast: &Self| {
                let which = cast.parents.len().saturating_sub(1);
                vec![cast.parse(here, which, false), cast.parse(&cast.stretches[i + 1].items, which, false)]
            };
            let other_pairing = self.stretches[i + 1].ends_clutch
                || self.crosses(i + 2)
                || self.parents.len() == 2
                || self.stretches[..i].iter().any(|s| s.opens == Opens::Cross)
                // "female: plain, hatched from puzzle x het sunset. male: het puzzle"
                || self.parents.last().is_some_and(|p| p.animal.sex != SexSaid::Unknown) && self.sexed_later(i + 2);
            if !self.parents.is_empty() && other_pairing {
                let both = both(self);
                self.descend_last(both);
                return Some(2);
            }
            // "from het x het she looks normal": the parents are told before their young.
            let young_follows = self.opens(i + 2) == Some(Opens::Sex)
                && !self.stretches[i + 3..].iter().any(|s| s.opens == Opens::From);
            if self.parents.is_empty() && young_follows {
                let both = both(self);
                let animal = self.parse(&self.stretches[i + 2].items, 0, false);
                self.parents.push(animal);
                self.descend_last(both);
                return Some(3);
            }
            return None;
        }
        // "from 100 % het clown parents": both alike.
        if self.opens(i + 1) == Some(Opens::Relative(Role::Parents)) && !self.parents.is_empty() {
            let one = self.parse(here, self.parents.len() - 1, false);
            self.descend_last(vec![one.clone(), one]);
            return Some(1);
        }
        match self.small_word(i + 1) {
            // "out of a 66% het and a visual. his girl is a visual"
            Some(Role::And) if !self.parents.is_empty() && self.sexed_later(i + 2) => {
                let which = self.parents.len() - 1;
                let both = vec![self.parse(here, which, false), self.parse(&self.stretches[i + 1].items, which, false)];
                self.descend_last(both);
                Some(2)
            }
            Some(Role::By) => {
                // "out of a clown by a pied": dam, then sire.
                let mut dam = self.parse(here, 0, false);
                let mut sire = self.parse(&self.stretches[i + 1].items, 1, false);
                dam.animal.sex = SexSaid::Female;
                sire.animal.sex = SexSaid::Male;
                if self.parents.is_empty() {
                    self.parents.extend([dam, sire]);
                    self.found.crossed = true;
                } else {
                    self.descend_last(vec![dam, sire]);
                }
                Some(2)
            }
            None if !self.parents.is_empty()
                && here.iter().any(is_gene_like)
                && !here.iter().any(|x| matches!(x.what, What::Sexes(..)))
                && (self.strong || self.parents.len() < 2) =>
            {
                let mut both = vec![self.parse(here, self.parents.len() - 1, false)];
                // "bred to his daughter from a normal": the animal before is her other parent.
                if let [first, second] = &mut self.parents[..]
                    && std::mem::take(&mut second.child)
                {
                    both.insert(0, first.clone());
                }
                self.descend_last(both);
                Some(1)
            }
            _ => None,
        }
    }

    /// Whether an animal with a sex and genes is told from this stretch on.
    fn sexed_later(&self, from: usize) -> bool {
        self.stretches.get(from..).unwrap_or_default().iter().any(|s| {
            s.items.iter().any(is_gene_like)
                && s.items
                    .iter()
                    .any(|x| matches!(x.role(), Some(Role::Male | Role::Female)) || matches!(x.what, What::Sexes(..)))
        })
    }

    /// "her mom was a pied": a forebear of the animal before it, or of one that is yet to come.
    fn relative(&mut self, i: usize, role: Role) {
        let names =
            |role| self.stretches.iter().any(|s| s.opens == Opens::Relative(role) && s.items.iter().any(is_gene_like));
        let others = self.stretches.iter().any(|s| {
            !matches!(s.opens, Opens::Relative(_) | Opens::Target)
                && s.items.iter().any(|x| matches!(x.role(), Some(Role::Male | Role::Female)))
        });
        let both_named = names(Role::Mother) && names(Role::Father) && !self.strong && !others;
        let mut one = self.parse(&self.stretches[i].items, self.parents.len().saturating_sub(1), false);
        // "mom is a ghost, dad is an enchi": with nobody else named they are the pair itself.
        if both_named && matches!(role, Role::Mother | Role::Father) {
            one.animal.sex = if role == Role::Mother { SexSaid::Female } else { SexSaid::Male };
            if self.parents.len() < 2 {
                self.parents.push(one);
                self.found.crossed = true;
            }
        } else if role == Role::Parents && self.told_alone(i) && (one.has_genes() || one.normal) {
            // "both parents are DH clown pied": with nobody else named they are the pair.
            self.parents.extend([one.clone(), one.alike()]);
            self.found.crossed = true;
        } else if one.has_genes() {
            if self.parents.is_empty() {
                // "his sire was …": whose forebear it is tells the sex.
                let mut animal = Draft::foretold();
                animal.animal.sex = one.animal.sex;
                self.parents.push(animal);
            }
            let both = match role {
                Role::Parents => vec![one.clone(), one],
                Role::Grandparent => {
                    let mut between = Draft::default();
                    descend(self.species, &mut between, vec![one], &mut Found::default());
                    vec![between]
                }
                _ => vec![one],
            };
            self.descend_last(both);
        } else if one.animal.sex != SexSaid::Unknown && self.parents.is_empty() {
            self.parents.push(one);
        }
    }

    /// Whether odds are asked and nobody is told of but in this stretch, wishes aside.
    fn told_alone(&self, i: usize) -> bool {
        let others = |k: usize, s: &Stretch| k != i && s.opens != Opens::Target && s.items.iter().any(is_gene_like);
        (self.asked.odds || self.asked.question)
            && self.parents.is_empty()
            && !self.stretches.iter().enumerate().any(|(k, s)| others(k, s))
    }

    fn descend_last(&mut self, parents: Vec<Draft>) {
        if let Some(animal) = self.parents.last_mut() {
            descend(self.species, animal, parents, self.found);
        }
    }

    fn animal_or_wish(&mut self, i: usize) {
        let stretch = &self.stretches[i];
        let (crosses_next, small_next) = (self.crosses(i + 1), self.small_word(i + 1));
        // "chance of a snow with an amel male and an anery female": the pair follows whole.
        let pair_follows = small_next == Some(Role::With)
            && self.opens(i + 2).is_some_and(|o| matches!(o, Opens::Small(_) | Opens::Sex | Opens::Cross));
        let wish = stretch.opens == Opens::Target && !crosses_next && (small_next.is_none() || pair_follows)
            || stretch.ends_possible && !crosses_next;
        let which = if wish { 2 } else { self.parents.len().min(1) };
        let draft = self.parse(&stretch.items, which, wish);
        if wish && (draft.has_genes() || draft.normal || !draft.questions.is_empty()) && self.target.is_none() {
            self.target = Some(draft);
            return;
        }
        if let Some(k) = same_animal(&self.parents, &draft, stretch, self.text)
            && (!crosses_next || !draft.has_genes() && !draft.normal)
        {
            self.parents[k].hear_more(draft, self.species);
            return;
        }
        if self.parts_a_pair(&draft, stretch) {
            let mut other = self.parents[0].alike();
            self.parents[0].animal.sex = draft.animal.sex;
            other.animal.sex = draft.animal.sex.other();
            self.parents[0].hear_more(draft, self.species);
            self.parents[0].pair = false;
            other.pair = false;
            self.parents.push(other);
            self.found.crossed = true;
            return;
        }
        if self.names_nobody(i, &draft) {
            return;
        }
        let beside_cross = self.stands_beside_cross(i);
        let empty = !draft.has_genes() && !draft.normal && draft.questions.is_empty() && draft.counts.is_none();
        if empty && !(beside_cross && draft.animal.sex != SexSaid::Unknown) {
            self.empty(i, draft);
        } else {
            self.animal(i, draft, beside_cross);
        }
    }

    /// "two het clowns, the boy is also pastel": one of two alike has more.
    fn parts_a_pair(&self, draft: &Draft, stretch: &Stretch) -> bool {
        let [only] = &self.parents[..] else { return false };
        only.pair && only.counts.is_none() && draft.animal.sex != SexSaid::Unknown && stretch.opens == Opens::Sex
    }

    /// "double het? she's het clown and het dg, he is …": the question names nobody.
    fn names_nobody(&self, i: usize, draft: &Draft) -> bool {
        let sexed = |s: &&Stretch| s.items.iter().any(|x| matches!(x.role(), Some(Role::Male | Role::Female)));
        draft.promised_hets().is_some()
            && draft.animal.sex == SexSaid::Unknown
            && self.opens(i) == Some(Opens::Plain)
            && !self.crosses(i + 1)
            && self.stretches[i + 1..].iter().filter(sexed).count() >= 2
    }

    fn stands_beside_cross(&self, i: usize) -> bool {
        // "normal from het x het, bred to a clown": the animal stands before its parents.
        let from_next = self.opens(i + 1) == Some(Opens::From)
            && self.crosses(i + 2)
            && (self.stretches[i + 2].ends_clutch
                || self.opens(i + 3).is_some_and(|o| matches!(o, Opens::Cross | Opens::Small(_))));
        // "pastel, poss super, both parents single, x normal": its forebears stand between the animal and the cross.
        let forebears = self.stretches[i + 1..].iter().take_while(|s| matches!(s.opens, Opens::Relative(_))).count();
        from_next
            || forebears > 0 && self.crosses(i + 1 + forebears)
            || self.crosses(i)
            || self.crosses(i + 1)
            || matches!(self.stretches[i].opens, Opens::Small(_) | Opens::Sex) && !self.parents.is_empty()
            || self.small_word(i + 1).is_some()
    }

    /// A stretch that tells of no gene: a sex before what is told of it, or a word that should have been a gene.
    fn empty(&mut self, i: usize, draft: Draft) {
        // "my girl" before "her mom was a pied" or "is out of a clown by a pied".
        if draft.animal.sex != SexSaid::Unknown
            && self.opens(i + 1).is_some_and(|o| matches!(o, Opens::Relative(_) | Opens::From))
        {
            self.parents.push(draft);
        } else if self.crosses(i) || self.crosses(i + 1) {
            // "amel x moonshine": the word that should be a gene is named.
            let strange = |x: &&Item| matches!(x.what, What::Unknown | What::English);
            let mut words =
                self.stretches[i].items.iter().filter(strange).map(|x| self.text.typed(x.words.clone()).to_owned());
            if let Some(about) = words.rfind(|w| w.chars().count() >= 4) {
                self.found.unread.push(about.clone());
                self.found.questions.push(Question {
                    about,
                    kind: Unclear::UnknownGene,
                    readings: Vec::new(),
                    animal: 1,
                });
                self.parents.push(draft);
            }
        }
    }

    /// An animal with genes: a parent, a remark, or the wish where both parents are there already.
    fn animal(&mut self, i: usize, draft: Draft, beside_cross: bool) {
        let stretch = &self.stretches[i];
        if let Opens::Small(role) = stretch.opens
            && self.parents.len() == 1
        {
            self.small = Some(role);
        }
        let sexed = draft.animal.sex != SexSaid::Unknown;
        // "breeding two 66 % het pieds, what % pied babies": both parents are told.
        let two_told = matches!(&self.parents[..], [only] if only.pair && only.counts.is_none());
        if two_told && stretch.opens == Opens::Plain && !sexed && !beside_cross && self.asked.question {
            self.target.get_or_insert(draft);
        } else if self.versus && self.second.len() < 2 {
            self.second.push(draft);
        } else if self.parents.len() < 2 && (self.strong || !draft.animal.said.is_empty() || draft.has_genes()) {
            // In a message with a cross word, animals that stand beside none are remarks, unless they are all there is.
            if self.strong && !beside_cross && !sexed {
                self.remark(i, draft);
            } else {
                self.parents.push(draft);
            }
        } else if let Some(partner) = self.partner_of_third(&draft, stretch) {
            // "male: clown. female A: het clown. female B: 66 % het": two pairings with the same male.
            self.second = vec![partner, draft];
        } else if self.parents.len() == 2 && stretch.opens == Opens::Cross {
            let about = draft.animal.said.clone();
            self.found.questions.push(Question { about, kind: Unclear::Sexes, readings: Vec::new(), animal: 2 });
        } else if self.parents.len() == 2 && self.target.is_none() && draft.has_genes() {
            let last = i + 1 == self.stretches.len();
            let asked_behind = stretch.opens != Opens::Plain && last && (self.asked.odds || self.asked.question);
            let asked_apart = stretch.opens == Opens::Plain
                && !sexed
                && (self.asked.odds || last && self.asked.question && !draft.named().is_empty() && !draft.says_open())
                && !stretch.items.is_empty();
            if asked_behind || asked_apart {
                self.target = Some(draft);
            }
        }
    }

    /// The one of the pair that a third animal can be paired with too: of the other sex, while the second has the same.
    fn partner_of_third(&self, draft: &Draft, stretch: &Stretch) -> Option<Draft> {
        let [a, b] = &self.parents[..] else { return None };
        let sex = draft.animal.sex;
        let other = sex.other();
        let told = sex != SexSaid::Unknown && draft.has_genes() && self.second.is_empty();
        let opens = matches!(stretch.opens, Opens::Sex | Opens::Plain)
            && !stretch.items.iter().any(|x| is_pronoun(self.text, x));
        if !told || !opens || other == SexSaid::Unknown {
            return None;
        }
        match (a.animal.sex == other && b.animal.sex == sex, b.animal.sex == other && a.animal.sex == sex) {
            (true, _) => Some(a.alike()),
            (_, true) => Some(b.alike()),
            _ => None,
        }
    }

    /// An animal that stands beside no cross word: a wish, or said by the way.
    fn remark(&mut self, i: usize, draft: Draft) {
        // "snow conda from albino x axanthic conda, what are the odds": the young stand before their parents.
        let young = (self.asked.odds || self.asked.question)
            && self.opens(i + 1) == Some(Opens::From)
            && self.crosses(i + 2)
            && !self.stretches[i + 2].ends_clutch;
        if self.target.is_none() && (self.opens(i) == Some(Opens::Target) || young) {
            self.target = Some(draft);
        } else {
            let unknown = draft.questions.iter().filter(|q| q.kind == Unclear::UnknownGene);
            self.found.questions.extend(unknown.cloned());
            self.found.named.extend(draft.named().iter().map(|g| g.0));
        }
    }

    /// "a pair of het clowns": both parents alike.
    fn pair_of_alike(&mut self) {
        if self.parents.len() != 1 || !self.parents[0].pair || !(self.asked.odds || self.asked.question) {
            return;
        }
        let mut other = self.parents[0].alike();
        // "two condas" may be of any sex, "a pair" has both.
        if !self.stretches.iter().any(|s| s.items.iter().any(|x| x.what == What::Number(2))) {
            self.parents[0].animal.sex = SexSaid::Male;
            other.animal.sex = SexSaid::Female;
        }
        self.parents.push(other);
        self.found.crossed = true;
    }

    /// With a small word alone, a pairing is meant only where breeding or odds are spoken of, or both animals carry a sex.
    fn are_they_a_pair(&mut self) {
        if self.parents.len() != 2 {
            return;
        }
        if !self.strong && !self.found.crossed {
            let both_sexed = self.parents.iter().all(|p| p.animal.sex != SexSaid::Unknown);
            let says_pair = matches!(self.small, Some(Role::To | Role::With | Role::Over | Role::On | Role::Into));
            let both_gened = self.parents.iter().all(|p| p.has_genes() || p.normal || !p.questions.is_empty());
            let both_called = self.parents.iter().all(|p| p.animal.name.is_some() || p.animal.sex != SexSaid::Unknown);
            self.found.crossed = self.asked.breed
                || self.asked.odds
                || both_called && both_gened && self.asked.question
                || both_sexed
                || self.asked.question && self.small.is_some()
                || says_pair && both_gened;
            if !self.found.crossed && self.small.is_none() {
                self.parents.truncate(1);
            }
        }
        let over =
            self.strong && self.stretches.iter().any(|s| s.items.iter().skip(1).any(|x| x.role() == Some(Role::Over)));
        if over || !self.strong && matches!(self.small, Some(Role::On | Role::Over)) {
            first_is_male(&mut self.parents, self.found);
        }
    }

    /// "Duke is a clown, Willow is het. I put Duke on Willow": by custom the male is named first.
    fn put_on(&mut self) {
        let [a, b] = &self.parents[..] else { return };
        if a.animal.sex != SexSaid::Unknown || b.animal.sex != SexSaid::Unknown {
            return;
        }
        let items: Vec<&Item> = self.stretches.iter().flat_map(|s| &s.items).collect();
        let put = items.windows(3).find(|w| {
            w[0].what == What::Called && matches!(w[1].role(), Some(Role::On | Role::Over)) && w[2].what == What::Called
        });
        let Some(put) = put else { return };
        let [first, second] = [put[0], put[2]].map(|x| self.text.typed(x.words.clone()).to_owned());
        let (at, other) = if a.animal.name.as_ref() == Some(&first) && b.animal.name.as_ref() == Some(&second) {
            (0, 1)
        } else if b.animal.name.as_ref() == Some(&first) && a.animal.name.as_ref() == Some(&second) {
            (1, 0)
        } else {
            return;
        };
        self.parents[at].animal.sex = SexSaid::Male;
        self.parents[other].animal.sex = SexSaid::Female;
    }

    /// "sib x sib from my clutch": what their parents carry decides.
    fn siblings(&mut self) {
        let mut items = self.stretches.iter().flat_map(|s| &s.items);
        if (self.asked.odds || self.asked.question)
            && self.parents.iter().all(|p| !p.has_genes() && p.questions.is_empty())
            && let Some(word) = items.find(|x| x.role() == Some(Role::Sibling))
        {
            self.found.crossed = true;
            self.parents.resize_with(2, Draft::default);
            self.parents[0].questions.push(Question {
                about: self.text.typed(word.words.clone()).to_owned(),
                kind: Unclear::Siblings,
                readings: Vec::new(),
                animal: 2,
            });
        }
    }
}

/// The animal that a further sentence is about: "he's a clown" where a male without genes stands, "she's het both" after her mother.
fn same_animal(parents: &[Draft], draft: &Draft, stretch: &Stretch, text: &Text) -> Option<usize> {
    let points = stretch.items.iter().any(|x| is_pronoun(text, x));
    // "Button is a ghost … Button's the lady": the name tells which.
    if let Some(name) = &draft.animal.name
        && let Some(k) = parents.iter().position(|p| p.animal.name.as_ref() == Some(name))
    {
        return Some(k);
    }
    if let [only] = parents
        && only.foretold
        && draft.normal
        && !draft.has_genes()
        && draft.animal.sex == SexSaid::Unknown
        && stretch.opens == Opens::Plain
    {
        return Some(0);
    }
    let sentence =
        matches!(stretch.opens, Opens::Plain | Opens::Sex) || points && stretch.opens == Opens::Small(Role::And);
    if draft.animal.sex == SexSaid::Unknown || !sentence {
        return None;
    }
    let same = parents.iter().position(|p| {
        p.animal.sex == draft.animal.sex
            && (points || !p.has_genes() && !p.normal && p.questions.is_empty() || parents.len() == 1 && p.foretold)
    });
    same.or_else(|| {
        let last = parents.len().checked_sub(1)?;
        // Only what was told of its forebears is known of it so far.
        let open = parents[last].animal.sex == SexSaid::Unknown;
        // "i own a pied. she will be bred by …": the pronoun alone tells the sex.
        let bare = !draft.has_genes() && !draft.normal && stretch.opens == Opens::Plain;
        (points && open && (parents[last].foretold || bare)).then_some(last)
    })
}

/// "clown over het clown": by custom the male is named first.
fn first_is_male(parents: &mut [Draft], found: &mut Found) {
    if parents.iter().all(|p| p.animal.sex == SexSaid::Unknown) {
        parents[0].animal.sex = SexSaid::Male;
        parents[1].animal.sex = SexSaid::Female;
        found.assumed.push(Assumed::FirstIsMale);
    }
}
