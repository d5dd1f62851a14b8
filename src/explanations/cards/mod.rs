//! Cards: one gene, named pair, combination, family of lines or complex as a reply, and two things side by side.
//!
//! In: a [`Entry`] of a species and a [`Desk`]. Out: a [`Reply`]: cautions with their grade and source first, then how it
//! is inherited, its company, how well all that is known, and an example that the engine works out.
//! Invariant: an example never pairs animals against a caution. The long card in plain text is `species::show`.

mod compare; // two or three things side by side
mod example; // a pairing to work out, never against a caution
mod harm; // cautions with grade and source
mod kinds; // a card for each kind of entry

use super::language::{Phrases, fill};
use super::show::{Desk, MOST_CHARACTERS, MOST_WITH_EXAMPLE};
use crate::reading::requests::Reading;
use crate::reply::Reply;
use crate::species::entries::Inheritance;
use crate::species::show::Entry;
use crate::species::{Gene, GeneId, Species};

/// Names of a list, from as many as there is room for down to none.
const LIST_LENGTHS: [usize; 6] = [14, 9, 6, 4, 2, 0];

impl Desk<'_> {
    /// The card of one entry: at most [`MOST_WITH_EXAMPLE`] characters, [`MOST_CHARACTERS`] of them beside the cautions
    /// and the example.
    #[must_use]
    pub fn card(&self, species: &Species, thing: Entry) -> Reply {
        let of = |most: usize| {
            let card = Card { desk: self, species, phrases: &self.spoken.language.phrases, most };
            match thing {
                Entry::Gene(gene) => card.gene(gene),
                Entry::Combo(n) => card.combo(&species.file().combo[n]),
                Entry::Pair(n) => card.pair(&species.file().allele_pair[n]),
                Entry::Family(n) => card.family(n),
                Entry::Complex(n) => card.complex(n),
                Entry::Word(n) => card.word(n),
            }
        };
        let mut card = of(0);
        for most in LIST_LENGTHS {
            card = of(most);
            let cautions = std::mem::take(&mut card.0.cautions);
            let length = card.0.length();
            card.0.cautions = cautions;
            if length <= MOST_CHARACTERS {
                break;
            }
        }
        self.with_example(species, card)
    }

    /// Two or three things side by side: what each is, and how they stand to each other.
    #[must_use]
    pub fn compare(&self, species: &Species, things: &[Entry]) -> Reply {
        let card = Card { desk: self, species, phrases: &self.spoken.language.phrases, most: 4 };
        let compared = card.compare(things);
        self.with_example(species, compared)
    }

    fn with_example(&self, species: &Species, (reply, example): (Reply, Option<Shown>)) -> Reply {
        let mut reply = reply;
        // Cautions are said in full, whatever room the rest is left.
        let cautions = std::mem::take(&mut reply.cautions);
        let mut reply = reply.fitted(MOST_CHARACTERS);
        if let Some((lead, asked)) = example {
            reply.answer.push(lead);
            self.work_out(species, &asked, &mut reply);
        }
        // The card says with its sources what the pairing says in short.
        if !cautions.is_empty() {
            reply.cautions = cautions;
        }
        reply.fitted(MOST_WITH_EXAMPLE)
    }
}

/// An example: what stands above it, and the pairing.
type Shown = (String, Reading);

struct Card<'a> {
    desk: &'a Desk<'a>,
    species: &'a Species,
    phrases: &'a Phrases,
    /// Names in a list.
    most: usize,
}

impl Card<'_> {
    fn headed(&self, name: &str) -> Reply {
        let title = fill(&self.phrases.title, &[("name", name), ("species", self.species.name())]);
        Reply { understood: title, ..Reply::default() }
    }

    fn inheritance(&self, gene: &Gene) -> String {
        let phrases = self.phrases;
        match gene.entry.inheritance {
            Inheritance::Recessive => phrases.recessive.clone(),
            Inheritance::IncompleteDominant => {
                fill(&phrases.incomplete_dominant, &[("one", gene.label(1)), ("two", gene.label(2))])
            }
            Inheritance::Dominant => phrases.dominant.clone(),
            Inheritance::Polygenic => phrases.line_bred.clone(),
        }
    }

    fn complex_of(&self, id: GeneId) -> Option<String> {
        let locus = self.species.loci().get(self.species.gene(id).locus?).filter(|l| l.genes.len() > 1)?;
        let others: Vec<String> = locus.genes.iter().filter(|g| **g != id).map(|g| self.name(*g).to_owned()).collect();
        let name = locus.name.split(" (").next().unwrap_or(&locus.name);
        let others = self.shortened(others);
        Some(fill(&self.phrases.complex, &[("complex", name), ("others", &self.desk.spoken.language.list(&others))]))
    }

    /// Genes that look alike and are others, from either side's entry.
    fn no_match(&self, id: GeneId) -> Vec<String> {
        let entry = &self.species.gene(id).entry;
        let mut names = self.named(&entry.not_compatible_with);
        for other in self.species.genes().iter().filter(|g| g.entry.not_compatible_with.contains(&entry.id)) {
            if !names.contains(&other.entry.name) {
                names.push(other.entry.name.clone());
            }
        }
        names
    }

    fn named(&self, ids: &[String]) -> Vec<String> {
        ids.iter().filter_map(|id| self.species.gene_by_id(id)).map(|g| self.name(g).to_owned()).collect()
    }

    fn name(&self, gene: GeneId) -> &str {
        &self.species.gene(gene).entry.name
    }

    /// The label of so many copies; a recessive that shows is called visual.
    fn label(&self, gene: GeneId, copies: u8) -> String {
        let it = self.species.gene(gene);
        if it.is_recessive() && copies == 2 {
            return fill(&self.phrases.visual, &[("name", it.label(2))]);
        }
        it.label(copies).to_owned()
    }

    fn push_list(&self, reply: &mut Reply, phrase: &str, names: Vec<String>) {
        if !names.is_empty() && self.most > 0 {
            let names = self.shortened(names);
            reply.answer.push(fill(phrase, &[("names", &self.desk.spoken.language.list(&names))]));
        }
    }

    /// As many names as there is room for, and how many more there are.
    fn shortened(&self, mut names: Vec<String>) -> Vec<String> {
        let most = self.most.max(2);
        if names.len() > most {
            let left = names.len() - most;
            names.truncate(most);
            #[expect(clippy::cast_precision_loss, reason = "a count of names")]
            names.push(self.desk.spoken.language.count(left as f64, "more"));
        }
        names
    }

    /// How well something is known, with its published sources in short.
    fn grade(&self, sources: &[String]) -> String {
        let citation = |s: &&String| self.species.file().citation.iter().find(|c| c.id == **s);
        let published: Vec<String> = sources.iter().filter_map(|s| citation(&s)).map(|c| brief(&c.text)).collect();
        if !published.is_empty() {
            return fill(&self.phrases.published, &[("sources", &published.join("; "))]);
        }
        let memory = sources.iter().all(|s| s == "memory");
        if memory { self.phrases.from_memory.clone() } else { self.phrases.keepers_report.clone() }
    }
}

/// Who, when and where of a citation that has the title between them.
fn brief(citation: &str) -> String {
    let parts: Vec<&str> = citation.split(". ").collect();
    let Some(at) = parts.iter().position(|p| ends_in_year(p)) else { return citation.to_owned() };
    let who = parts[..=at].join(". ");
    match parts.get(at + 2) {
        Some(place) if place.chars().any(|c| c.is_ascii_digit()) => format!("{who}, {}", place.trim_end_matches('.')),
        _ => who,
    }
}

fn ends_in_year(part: &str) -> bool {
    let year = part.rsplit(' ').next().unwrap_or_default();
    year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_citation_in_short_keeps_who_when_and_where() {
        let full = "Starck JM et al. 2022. Malformations of the sacculus. PLoS ONE 17: e0262788.";
        assert_eq!(brief(full), "Starck JM et al. 2022, PLoS ONE 17: e0262788");
        assert_eq!(brief("Somebody 1999. A title."), "Somebody 1999");
        assert_eq!(brief("no year"), "no year");
    }
}
