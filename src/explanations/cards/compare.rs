//! Two or three things side by side: what each is, and how two genes stand to each other.

use super::{Card, Shown};
use crate::explanations::language::fill;
use crate::explanations::things;
use crate::reading::requests::SexSaid;
use crate::reply::Reply;
use crate::species::show::Entry;
use crate::species::{Gene, GeneId};

impl Card<'_> {
    pub(super) fn compare(&self, things: &[Entry]) -> (Reply, Option<Shown>) {
        let names: Vec<String> = things.iter().map(|t| things::name(self.species, *t).to_owned()).collect();
        let mut reply = self.headed(&self.desk.spoken.language.list(&names));
        for thing in things {
            let name = things::name(self.species, *thing);
            let what = match thing {
                Entry::Gene(id) => {
                    let gene = self.species.gene(*id);
                    // "See lesser." is said by the other line.
                    let note = gene.entry.note.as_deref().filter(|n| !n.starts_with("See "));
                    let note = note.map_or_else(String::new, |n| format!(" {n}"));
                    format!("{name}: {}{note}", self.inheritance(gene))
                }
                other => {
                    let file = self.species.file();
                    let (told, _) = match *other {
                        Entry::Combo(n) => self.combo(&file.combo[n]),
                        Entry::Pair(n) => self.pair(&file.allele_pair[n]),
                        Entry::Family(n) => self.family(n),
                        Entry::Complex(n) => self.complex(n),
                        Entry::Word(n) => self.word(n),
                        Entry::Gene(id) => self.gene(id),
                    };
                    reply.cautions.extend(told.cautions);
                    told.answer.into_iter().next().unwrap_or_default()
                }
            };
            reply.answer.push(what);
        }
        let genes: Vec<GeneId> =
            things.iter().filter_map(|t| if let Entry::Gene(g) = t { Some(*g) } else { None }).collect();
        reply.cautions.extend(self.cautions(&genes.iter().map(|g| (*g, 1)).collect::<Vec<_>>()));
        let [a, b] = genes[..] else { return (reply, None) };
        reply.answer.push(self.stand(a, b));
        let mut sources = self.species.gene(a).entry.source.clone();
        sources.extend(
            self.species.gene(b).entry.source.iter().filter(|s| !sources.contains(s)).cloned().collect::<Vec<_>>(),
        );
        reply.notes.push(fill(&self.phrases.grade, &[("grade", &self.grade(&sources))]));
        let parts = [(a, 1), (b, 1)];
        let bare = |g: GeneId| self.animal(&[(g, self.species.gene(g).bare_copies())], SexSaid::Unknown);
        let computed = genes.iter().all(|g| self.species.gene(*g).locus.is_some());
        let example = (computed && self.may_be_bred(&parts))
            .then(|| (self.phrases.together.clone(), self.pairing(bare(a), bare(b))));
        (reply, example)
    }

    /// How two genes stand to each other.
    pub(super) fn stand(&self, a: GeneId, b: GeneId) -> String {
        let (x, y) = (self.species.gene(a), self.species.gene(b));
        let names = [("a", x.entry.name.as_str()), ("b", y.entry.name.as_str())];
        let both = |of: &dyn Fn(&Gene) -> Vec<String>| of(x).contains(&y.entry.id) || of(y).contains(&x.entry.id);
        if x.locus.is_some() && x.locus == y.locus {
            let pair = self.species.file().allele_pair.iter();
            let pair = pair.into_iter().find(|p| p.alleles.contains(&x.entry.id) && p.alleles.contains(&y.entry.id));
            let together = pair.map_or_else(String::new, |p| {
                " ".to_owned() + &fill(&self.phrases.alleles_together, &[("pair", &p.name), ("look", &p.look)])
            });
            return fill(&self.phrases.alleles, &names) + &together;
        }
        let phrase = if both(&|g| g.entry.not_compatible_with.clone()) {
            &self.phrases.no_match
        } else if both(&|g| g.entry.compatibility_unknown_with.clone()) {
            &self.phrases.match_unknown
        } else if both(&|g| g.entry.possible_allele_of.clone()) {
            &self.phrases.maybe_allele
        } else {
            return fill(&self.phrases.separate, &names);
        };
        format!("{}: {}", names[0].1, fill(phrase, &[("names", names[1].1)]))
    }
}
