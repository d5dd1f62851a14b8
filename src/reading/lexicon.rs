//! The names in the gene catalogues as one dictionary over all species.
//!
//! In: the [`Catalogue`]. Out: [`Lexicon`], from a joined name to every [`Sense`] it has, in every species.
//! A family word with its line ("vpi axanthic", "axanthic vpi line") is an entry of its own, so that the longest name wins.
//! Not here: which sense is meant (`animals`), everyday words (`vocabulary`), slips (`spelling`).

use rustc_hash::FxHashMap;

use crate::species::names::joined;
use crate::species::{Catalogue, GeneId, Species, SpeciesId};

/// Copies that a name itself says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    /// Nothing: the bare name.
    Bare,
    /// One copy ("het ivory").
    One,
    /// Two copies ("superconda").
    Two,
}

/// What a name can mean in one species.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Meaning {
    /// A gene.
    Gene(GeneId, Said),
    /// A line-bred look.
    Look(GeneId),
    /// A coined combination, by its place in the catalogue; the gene is the line that a tag gave to its open part.
    Combo(usize, Option<GeneId>),
    /// Two alleles of one locus.
    Pair(usize),
    /// A word with several readings.
    Ambiguous(usize),
    /// A word that covers several lines.
    Family(usize),
    /// A line tag alone: a gene only beside its family's word.
    Tag(GeneId),
}

/// One sense of a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sense {
    /// The species.
    pub species: SpeciesId,
    /// The meaning there.
    pub meaning: Meaning,
    /// Also an ordinary word: a gene only beside another gene, a het word, a sex mark or a pairing word.
    pub everyday: bool,
    /// A frequent slip listed in the catalogue.
    pub slip: bool,
}

/// Every name of every catalogue.
#[derive(Debug, Default)]
pub(super) struct Lexicon {
    senses: FxHashMap<String, Vec<Sense>>,
    species: FxHashMap<String, SpeciesId>,
    longest: usize,
}

impl Lexicon {
    /// The dictionary of a catalogue.
    #[must_use]
    pub(super) fn new(catalogue: &Catalogue) -> Self {
        let mut all = Self::default();
        for species in catalogue.species() {
            for name in &species.file().meta.names {
                all.species.insert(joined(name), species.id);
            }
            all.add_species(species);
        }
        all.longest = all.senses.keys().map(String::len).max().unwrap_or(0);
        all
    }

    /// Every sense of a joined name.
    #[must_use]
    pub(super) fn senses(&self, key: &str) -> Option<&[Sense]> {
        self.senses.get(key).map(Vec::as_slice)
    }

    /// The species that a joined word names.
    #[must_use]
    pub(super) fn species(&self, key: &str) -> Option<SpeciesId> {
        self.species.get(key).copied()
    }

    /// All joined names of species, for the spelling layer.
    pub(super) fn species_names(&self) -> impl Iterator<Item = (&str, SpeciesId)> {
        self.species.iter().map(|(name, id)| (name.as_str(), *id))
    }

    /// Length in bytes of the longest name.
    #[must_use]
    pub(super) fn longest(&self) -> usize {
        self.longest
    }

    /// All joined names with their senses, for the spelling layer.
    pub(super) fn names(&self) -> impl Iterator<Item = (&str, &[Sense])> {
        self.senses.iter().map(|(name, senses)| (name.as_str(), senses.as_slice()))
    }

    fn add(&mut self, name: &str, sense: Sense) {
        let key = joined(name);
        if key.is_empty() {
            return;
        }
        let senses = self.senses.entry(key).or_default();
        if matches!(sense.meaning, Meaning::Ambiguous(_)) {
            // An entry for an ambiguous word wins over the same word as a name.
            senses.retain(|s| s.species != sense.species);
            senses.push(sense);
        } else if !senses.iter().any(|s| {
            s.species == sense.species
                && (s.meaning == sense.meaning
                    || matches!(s.meaning, Meaning::Ambiguous(_))
                    || matches!(sense.meaning, Meaning::Tag(_)))
        }) {
            senses.retain(|s| s.species != sense.species || !matches!(s.meaning, Meaning::Tag(_)));
            senses.push(sense);
        }
    }

    fn add_species(&mut self, species: &Species) {
        let id = species.id;
        let file = species.file();
        for (i, entry) in file.ambiguous.iter().enumerate() {
            for word in &entry.words {
                // Not one of these is safe as a gene in plain talk: "bee", "stripe", "desert", "snow glow".
                self.add(
                    word,
                    Sense { species: id, meaning: Meaning::Ambiguous(i), everyday: is_plain(word), slip: false },
                );
            }
        }
        for (i, gene) in species.genes().iter().enumerate() {
            let gene_id = GeneId(u16::try_from(i).unwrap_or(u16::MAX));
            let entry = &gene.entry;
            let everyday = |name: &str| entry.everyday_words.iter().any(|w| joined(w) == joined(name));
            let bare = if gene.locus.is_some() { Meaning::Gene(gene_id, Said::Bare) } else { Meaning::Look(gene_id) };
            let mut put = |name: &str, meaning, slip| {
                self.add(name, Sense { species: id, meaning, everyday: everyday(name), slip });
            };
            put(&entry.name, bare, false);
            put(&entry.id, bare, false);
            entry.aliases.iter().for_each(|n| put(n, bare, false));
            entry.one_copy_aliases.iter().for_each(|n| put(n, Meaning::Gene(gene_id, Said::One), false));
            entry.two_copies_aliases.iter().for_each(|n| put(n, Meaning::Gene(gene_id, Said::Two), false));
            entry.misspellings.iter().for_each(|n| put(n, bare, true));
            if let (Some(label), false) = (&entry.two_copies, gene.is_recessive()) {
                let own = joined(label);
                if own != joined(&entry.name) && own != format!("super{}", joined(&entry.name)) && !label.contains('(')
                {
                    put(label, Meaning::Gene(gene_id, Said::Two), false);
                }
            }
            for tag in &entry.line_tags {
                self.add(tag, Sense { species: id, meaning: Meaning::Tag(gene_id), everyday: true, slip: false });
            }
            if let Some(family) = entry.family.as_ref().and_then(|f| file.family.iter().find(|x| x.id == *f)) {
                for tag in &entry.line_tags {
                    let words = family.words.iter().flat_map(|w| {
                        [
                            format!("{tag}{w}"),
                            format!("{w}{tag}"),
                            format!("{tag}line{w}"),
                            format!("{tag}strain{w}"),
                            format!("{w}{tag}line"),
                            format!("{w}{tag}strain"),
                            format!("{w}line{tag}"),
                        ]
                    });
                    for name in words.chain([format!("{tag}line"), format!("{tag}strain")]) {
                        self.add(&name, Sense { species: id, meaning: bare, everyday: false, slip: false });
                    }
                    for (c, combo) in file.combo.iter().enumerate() {
                        if combo.genes.iter().any(|p| p.one_of.as_ref() == Some(&family.id)) {
                            for name in std::iter::once(&combo.name).chain(&combo.aliases) {
                                for form in [
                                    format!("{tag}{name}"),
                                    format!("{name}{tag}"),
                                    format!("{tag}line{name}"),
                                    format!("{name}{tag}line"),
                                ] {
                                    self.add(
                                        &form,
                                        Sense {
                                            species: id,
                                            meaning: Meaning::Combo(c, Some(gene_id)),
                                            everyday: false,
                                            slip: false,
                                        },
                                    );
                                }
                            }
                        }
                    }
                }
            }
        }
        for (i, family) in file.family.iter().enumerate() {
            family.words.iter().for_each(|w| {
                self.add(w, Sense { species: id, meaning: Meaning::Family(i), everyday: is_plain(w), slip: false });
            });
        }
        for (i, pair) in file.allele_pair.iter().enumerate() {
            self.add_coined(id, Meaning::Pair(i), &pair.name, &pair.aliases, &pair.misspellings, &pair.everyday_words);
        }
        for (i, combo) in file.combo.iter().enumerate() {
            self.add_coined(
                id,
                Meaning::Combo(i, None),
                &combo.name,
                &combo.aliases,
                &combo.misspellings,
                &combo.everyday_words,
            );
        }
    }

    fn add_coined(
        &mut self,
        species: SpeciesId,
        meaning: Meaning,
        name: &str,
        aliases: &[String],
        slips: &[String],
        everyday: &[String],
    ) {
        let everyday = |n: &str| everyday.iter().any(|w| joined(w) == joined(n));
        for n in std::iter::once(name).chain(aliases.iter().map(String::as_str)) {
            self.add(n, Sense { species, meaning, everyday: everyday(n), slip: false });
        }
        for n in slips {
            self.add(n, Sense { species, meaning, everyday: false, slip: true });
        }
    }
}

/// Words of the ambiguous and family entries that people also say of other things.
fn is_plain(word: &str) -> bool {
    super::vocabulary::is_english(word) || word.contains(' ') && word.split(' ').all(super::vocabulary::is_english)
}
