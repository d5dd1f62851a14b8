//! Who, when and what is meant: names, pronouns, dates, gene words that can be read two ways.

use jiff::civil::Date;

use super::{Ask, Desk, Fixed, Stop};
use crate::collection::animal::{Animal, Sex};
use crate::collection::files::sheet::{DayOrder, Unit};
use crate::collection::herd::Found;
use crate::collection::name::key;
use crate::conversation::sentences::{self, keeping as say};
use crate::engine::odds::sure;
use crate::reading::Reader;
use crate::reading::dates::{Said, When};
use crate::reading::places::{self, Spoken};
use crate::reading::records::described::Described;
use crate::reading::records::message::Called;
use crate::reading::requests::{Carried, Choice, Question, Reading, Unclear};
use crate::reading::vocabulary::FollowUp;
use crate::species::{Catalogue, Species, SpeciesId};

/// Whether a guess at a name may be acted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Care {
    /// Something is changed: a guess is asked about.
    Writes,
    /// Something is only shown: a guess is said.
    Reads,
}

impl<'a> Desk<'a> {
    /// The one animal that is meant.
    pub(super) fn one(&self, called: &Called, care: Care) -> Result<&'a Animal, Stop> {
        let herd = self.herd;
        let found = match called {
            Called::Name(name) => {
                let key = key(name.trim_end_matches("'s"));
                if let Some((_, id)) = self.fixed.names.iter().find(|n| n.0 == key) {
                    return herd.animal(*id).ok_or_else(|| Stop::say(say::nobody(self, name)));
                }
                match herd.find(name) {
                    Found::One(id) => Some(id),
                    Found::Near(id) if care == Care::Reads => Some(id),
                    Found::Near(id) => {
                        let animal = herd.animal(id).ok_or_else(|| Stop::say(say::nobody(self, name)))?;
                        return Err(Stop::ask(say::near(self, name, animal), Ask::Near(key, id)));
                    }
                    Found::Several(ids) => {
                        let reply = say::which(self, name, &ids);
                        return Err(Stop::ask(reply, Ask::Which(key, ids)));
                    }
                    Found::Nobody => return Err(Stop::say(say::nobody(self, name))),
                }
            }
            Called::Number(n) => herd.animals.iter().find(|a| a.number.0 == *n).map(|a| a.id),
            Called::Pronoun(sex) => self.last_spoken_of((*sex).into()).map(|a| a.id),
            Called::Last => self.last_spoken_of(Sex::Unknown).map(|a| a.id),
        };
        match (found.and_then(|id| herd.animal(id)), called) {
            (Some(animal), _) => Ok(animal),
            (None, Called::Number(n)) => Err(Stop::say(say::nobody(self, &format!("#{n}")))),
            (None, _) => Err(Stop::say(say::whom())),
        }
    }

    /// The animal last spoken of that a pronoun of this sex fits.
    pub(super) fn last_spoken_of(&self, sex: Sex) -> Option<&'a Animal> {
        self.last
            .iter()
            .filter_map(|id| self.herd.animal(*id))
            .find(|a| sex == Sex::Unknown || a.sex == sex || a.sex == Sex::Unknown)
    }

    /// What a date means; asked where it can be read two ways, refused where there is no such day.
    pub(super) fn when(&self, said: Option<&Said>) -> Result<Option<When>, Stop> {
        let Some(said) = said else { return Ok(None) };
        match &said.meanings[..] {
            [] => Err(Stop::say(say::no_such_day())),
            [only] => Ok(Some(*only)),
            several => match self.fixed.dates.iter().find(|d| d.0 == several) {
                Some((_, chosen)) => Ok(Some(*chosen)),
                None => Err(Stop::ask(say::which_date(several), Ask::Date(several.to_vec()))),
            },
        }
    }

    /// A day; a month or year where a day is needed is refused.
    pub(super) fn day(&self, said: Option<&Said>) -> Result<Option<Date>, Stop> {
        match self.when(said)? {
            None => Ok(None),
            Some(When::Day(day)) => Ok(Some(day)),
            Some(other) => Err(Stop::say(say::day_needed(other))),
        }
    }

    /// The species of a description: said, of the place, of the genes; asked where several fit.
    pub(super) fn species_said(&self, said: &Described) -> Result<SpeciesId, Stop> {
        if let Some(id) = said.species.filter(|_| !said.worked_out || self.fixed.species.is_none()) {
            return Ok(id);
        }
        if let Some(id) = self.fixed.species {
            return Ok(id);
        }
        let fitting: Vec<SpeciesId> = if said.fitting.is_empty() {
            self.catalogue.species().iter().map(|s| s.id).collect()
        } else {
            said.fitting.clone()
        };
        Err(Stop::ask(say::which_species(self.catalogue, &fitting), Ask::Species(fitting)))
    }

    /// A description with every question about its words answered; the first open one is asked.
    pub(super) fn settled(&self, species: SpeciesId, said: &Described) -> Result<Described, Stop> {
        let of = self.catalogue.get(species);
        let mut out = said.clone();
        for question in std::mem::take(&mut out.questions) {
            let Some((_, choice)) = self.fixed.answers.iter().find(|a| same(&a.0, &question)) else {
                return Err(self.ask_gene(species, &question));
            };
            // The question may have been asked of another animal, which has it as a het where this one shows it.
            let choice = question.readings.iter().find(|own| same_genes(own, choice)).unwrap_or(choice);
            apply(of, &mut out, &question, choice);
            out.unread.retain(|w| !w.eq_ignore_ascii_case(&question.about));
        }
        Ok(out)
    }

    pub(super) fn ask_gene(&self, species: SpeciesId, question: &Question) -> Stop {
        let reading = Reading::of(crate::reading::requests::Intent::SaveAnimal, Some(species));
        let reply = sentences::question(self.catalogue, &reading, question);
        Stop::ask(reply, Ask::Gene(question.clone(), Some(species)))
    }
}

/// One kind of question is asked once, not for every row.
fn same(a: &Question, b: &Question) -> bool {
    a.kind == b.kind && a.about.eq_ignore_ascii_case(&b.about)
}

/// The same genes, whatever the copies.
fn same_genes(a: &Choice, b: &Choice) -> bool {
    match (a, b) {
        (Choice::Genes(_, a), Choice::Genes(_, b)) => a.iter().map(|g| g.0).eq(b.iter().map(|g| g.0)),
        _ => false,
    }
}

fn apply(species: &Species, said: &mut Described, question: &Question, choice: &Choice) {
    match choice {
        Choice::Genes(_, genes) => {
            for (gene, _) in genes {
                let locus = species.gene(*gene).locus;
                let full = question.kind == Unclear::TooManyAlleles;
                said.animal.genes.retain(|c| c.gene != *gene && !(full && species.gene(c.gene).locus == locus));
            }
            for (gene, copies) in genes {
                if species.place(*gene).is_none() {
                    said.animal.looks.push(*gene);
                } else {
                    said.animal.genes.push(Carried { gene: *gene, copies: *copies, chance: sure() });
                }
            }
        }
        Choice::Chance(gene, copies, chance) => {
            said.animal.genes.retain(|c| c.gene != *gene);
            said.animal.genes.push(Carried { gene: *gene, copies: *copies, chance: chance.clone() });
        }
        Choice::Species(_) | Choice::OnParent(..) | Choice::Words(_) => {}
    }
}

/// What an answer settles; `None` where the message is no answer to what was asked.
pub(in crate::conversation) fn answered(
    reader: &Reader,
    catalogue: &Catalogue,
    fixed: &Fixed,
    ask: &Ask,
    said: &str,
) -> Option<Fixed> {
    let mut fixed = fixed.clone();
    let plain = said.trim().trim_matches(|c: char| !c.is_alphanumeric() && c != '#' && c != '%').to_lowercase();
    let joined = crate::species::names::joined(&plain);
    let place = reader.place(said);
    let yes = reader.follow_up(&joined) == Some(FollowUp::Yes);
    match ask {
        Ask::Which(name, ids) => {
            let id = *place.and_then(|n| ids.get(n))?;
            fixed.names.push((name.clone(), id));
        }
        Ask::Near(name, id) if yes => fixed.names.push((name.clone(), *id)),
        Ask::Near(..) => return None,
        Ask::Gene(question, species) => {
            let choice = gene_answer(reader, catalogue, question, *species, said)?;
            fixed.answers.push((question.clone(), choice));
        }
        Ask::Species(ids) => {
            let named = catalogue.by_name(&plain).or_else(|| catalogue.by_name(plain.strip_suffix('s')?));
            fixed.species = Some(named.or_else(|| ids.get(place?).copied())?);
        }
        Ask::Date(meanings) => {
            let chosen = place.and_then(|n| meanings.get(n)).copied().or_else(|| by_word(meanings, &plain))?;
            fixed.dates.push((meanings.clone(), chosen));
        }
        Ask::Clutch(ids) => fixed.clutch = Some(*place.and_then(|n| ids.get(n))?),
        Ask::Kilos if yes || plain.starts_with('k') => fixed.kilos = true,
        Ask::Kilos => return None,
        Ask::Order(heading) => {
            let order = match (place, plain.as_str()) {
                (Some(0), _) => DayOrder::DayFirst,
                (Some(1), _) => DayOrder::MonthFirst,
                (None, words) if words.contains("day") && !words.contains("month") => DayOrder::DayFirst,
                (None, words) if words.contains("month") && !words.contains("day") => DayOrder::MonthFirst,
                (None, words) if words.starts_with("day") => DayOrder::DayFirst,
                (None, words) if words.starts_with("month") => DayOrder::MonthFirst,
                _ => return None,
            };
            fixed.orders.push((heading.clone(), order));
        }
        Ask::Merged => {
            let same = plain.contains("same") || plain.contains("merged") || plain.contains("above");
            let open = plain.starts_with("not") || plain.contains("unknown") || plain.contains("nothing");
            fixed.merged = Some(match place {
                Some(0) => true,
                Some(1) => false,
                _ if open => false,
                _ if same || yes => true,
                _ => return None,
            });
        }
        Ask::Zone(zones) => {
            let town = |name: &&String| crate::species::names::joined(&places::called(name)) == joined;
            let chosen = place.and_then(|n| zones.get(n)).or_else(|| zones.iter().find(town)).cloned();
            // Another place than those that were shown is an answer too.
            let named = || matches!(places::spoken(said), Spoken::Zone(_)).then(|| said.trim().to_owned());
            fixed.place = Some(chosen.or_else(named)?);
        }
        // Whatever is said is looked for among places; what is none is asked for again.
        Ask::Home if said.split_whitespace().count() <= 8 => fixed.place = Some(place_in(said)),
        Ask::Home => return None,
        Ask::What => fixed.what = Some(said.trim().to_owned()),
        Ask::Day(days) => {
            let fits = |day: &&Date| {
                let words = When::Day(**day).words().to_lowercase();
                plain.split_whitespace().any(|w| words.split(' ').any(|x| x == w || w.len() >= 3 && x.starts_with(w)))
            };
            let mut named = days.iter().filter(fits);
            let by_word = named.next().filter(|_| named.next().is_none());
            let chosen = *place.and_then(|n| days.get(n)).or(by_word)?;
            fixed.days.push((days.clone(), chosen));
        }
        Ask::Hour(hours) => {
            let late = ["pm", "p.m", "evening", "afternoon", "abends"].iter().any(|w| plain.ends_with(w));
            let early = ["am", "a.m", "morning", "morgens"].iter().any(|w| plain.ends_with(w));
            let by_word = if late { hours.last() } else { hours.first().filter(|_| early) };
            let by_clock = hours.iter().find(|h| h.strftime("%H:%M").to_string() == plain);
            fixed.hour = Some(*place.and_then(|n| hours.get(n)).or(by_clock).or(by_word)?);
        }
        Ask::Unit(heading) => {
            let by_sign = || Unit::ALL.into_iter().find(|u| u.sign() == plain || plain.starts_with(u.name()));
            let unit = place.and_then(|n| Unit::ALL.get(n)).copied().or_else(by_sign)?;
            fixed.units.push((heading.clone(), unit));
        }
    }
    Some(fixed)
}

/// "I'm in Berlin" is "Berlin".
fn place_in(said: &str) -> String {
    let said = said.trim().trim_end_matches(['.', '!']);
    let lead =
        ["my time zone is ", "my timezone is ", "i'm in ", "im in ", "i am in ", "i live in ", "in ", "ich bin in "];
    let lower = said.to_lowercase();
    let start = lead.iter().find(|lead| lower.starts_with(**lead)).map_or(0, |lead| lead.len());
    said.get(start..).unwrap_or(said).to_owned()
}

/// "the april one", "2023", "today".
fn by_word(meanings: &[When], said: &str) -> Option<When> {
    let fits: Vec<When> = meanings
        .iter()
        .copied()
        .filter(|w| {
            let words = w.words().to_lowercase();
            said.split_whitespace().any(|s| s.len() >= 3 && words.split([' ', '/']).any(|x| x.starts_with(s) || x == s))
        })
        .collect();
    match fits[..] {
        [only] => Some(only),
        _ => None,
    }
}

fn gene_answer(
    reader: &Reader,
    catalogue: &Catalogue,
    question: &Question,
    species: Option<SpeciesId>,
    said: &str,
) -> Option<Choice> {
    if question.kind == Unclear::HetChance
        && let Some(share) = reader.share(said)
        && let Some(Choice::Chance(gene, copies, _)) = question.readings.first()
    {
        return Some(Choice::Chance(*gene, *copies, share));
    }
    if let Some(place) = reader.place(said) {
        return question.readings.get(place).cloned();
    }
    let key = crate::species::names::joined(said);
    if question.kind == Unclear::HetChance
        && ["dontknow", "idontknow", "unknown", "noidea", "notsure"].contains(&key.as_str())
        && let Some(Choice::Chance(gene, copies, _)) = question.readings.first()
    {
        // Half is what a keeper who knows nothing can say; the reply shows it, and it can be corrected.
        return Some(Choice::Chance(*gene, *copies, crate::engine::odds::half()));
    }
    // By a word of the reading ("vpi", "the kahl one"), or by a gene of its own.
    let named = |choice: &&Choice| match choice {
        Choice::Genes(name, _) => {
            let name = crate::species::names::joined(name);
            key.len() >= 2 && (name == key || name.contains(&key) || key.contains(&name))
        }
        Choice::Words(words) => crate::species::names::joined(words) == key,
        _ => false,
    };
    let fits: Vec<&Choice> = question.readings.iter().filter(named).collect();
    if let [only] = fits[..] {
        return Some(only.clone());
    }
    let read = reader.describe(catalogue, said, species);
    if read.questions.is_empty() && !read.animal.genes.is_empty() {
        let genes = read.animal.genes.iter().map(|c| (c.gene, c.copies)).collect();
        return Some(Choice::Genes(said.trim().to_owned(), genes));
    }
    // "skip it", "leave it out": the word is no gene.
    ["none", "skip", "skipit", "leaveitout", "nothing", "nogene", "ignore", "ignoreit"]
        .contains(&key.as_str())
        .then(|| Choice::Words(said.trim().to_owned()))
}
