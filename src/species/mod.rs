//! What is known of each species: genes, alleles, names, cautions and care numbers, from `config/species/*.toml`.
//!
//! In: catalogue files ([`entries`]). Out: a checked [`Catalogue`]; only checked ones travel.
//! May touch: `engine`. Never: a chat, a database, a word of a message. Files are read in [`Catalogue::with_folder`] alone.
//! Invariant: every id that an entry names exists, an animal fits its two alleles a locus, and no name means two things
//! unless the file says which (see `check`). Start at [`Catalogue::builtin`].

pub mod care; // care numbers: ranges with unit and source
pub mod check; // every rule for a catalogue file
pub mod entries; // the catalogue files as they are written
pub mod genetics; // a species' loci for the engine
pub mod names; // the form in which names are compared
pub mod show; // one gene on a card

use std::collections::HashMap;
use std::path::Path;

use thiserror::Error;

use check::Problem;
use entries::Inheritance;

/// A species of the catalogue, by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SpeciesId(pub u8);

/// A gene of one species, by its place in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct GeneId(pub u16);

/// Why a catalogue cannot be used.
#[derive(Debug, Error)]
pub enum CatalogueError {
    /// Files with mistakes, all of them listed.
    #[error("{}", check::list(.0))]
    Invalid(Vec<Problem>),
    /// A folder or file that cannot be read.
    #[error("{path}: {source}; give a folder with catalogue files (*.toml)")]
    Unreadable {
        /// The path.
        path: String,
        /// What the system says.
        source: std::io::Error,
    },
}

/// One gene: the entry with its place at its locus.
#[derive(Debug, Clone)]
pub struct Gene {
    /// The entry as written.
    pub entry: entries::Gene,
    /// Its locus, by place in [`Species::loci`]; none for line-bred looks.
    pub locus: Option<usize>,
    /// Its allele number at the locus, from 1; 0 is the wild type.
    pub allele: u8,
}

impl Gene {
    /// Whether it shows with two copies only.
    #[must_use]
    pub fn is_recessive(&self) -> bool {
        self.entry.inheritance == Inheritance::Recessive
    }

    /// Copies that the bare name means.
    #[must_use]
    pub fn bare_copies(&self) -> u8 {
        match self.entry.bare_name_copies {
            Some(2) => 2,
            Some(_) => 1,
            None => 1 + u8::from(self.is_recessive()),
        }
    }

    /// The label of an animal with so many copies.
    #[must_use]
    pub fn label(&self, copies: u8) -> &str {
        let label = if copies >= 2 { &self.entry.two_copies } else { &self.entry.one_copy };
        label.as_deref().unwrap_or(&self.entry.name)
    }
}

/// A locus with its genes in allele order.
#[derive(Debug, Clone)]
pub struct Locus {
    /// Its id: that of its only gene, or of its complex.
    pub id: String,
    /// The name of the complex, or of the gene.
    pub name: String,
    /// Its genes; the first is allele 1.
    pub genes: Vec<GeneId>,
}

/// One reading of an ambiguous word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Candidate {
    /// A gene, with copies where the entry says them.
    Gene {
        /// The gene.
        gene: GeneId,
        /// Its copies.
        copies: Option<u8>,
    },
    /// A combination, by place in the file.
    Combo(usize),
    /// An allele pair, by place in the file.
    Pair(usize),
    /// Not a gene at all.
    Term(String),
}

/// A checked species.
#[derive(Debug, Clone)]
pub struct Species {
    /// Its place in the catalogue.
    pub id: SpeciesId,
    file: entries::File,
    genes: Vec<Gene>,
    loci: Vec<Locus>,
    by_id: HashMap<String, GeneId>,
}

impl Species {
    fn new(id: SpeciesId, file: entries::File) -> Self {
        let mut loci: Vec<Locus> = Vec::new();
        let mut genes = Vec::with_capacity(file.gene.len());
        let mut by_id = HashMap::new();
        for (n, entry) in (0..=u16::MAX).zip(&file.gene) {
            let gene = GeneId(n);
            by_id.insert(entry.id.clone(), gene);
            let place = entry.locus.as_ref().map(|locus| {
                let at = loci.iter().position(|l| l.id == *locus).unwrap_or_else(|| {
                    let name = file.complex.iter().find(|c| c.locus == *locus).map_or(&entry.name, |c| &c.name);
                    loci.push(Locus { id: locus.clone(), name: name.clone(), genes: Vec::new() });
                    loci.len() - 1
                });
                loci[at].genes.push(gene);
                at
            });
            let allele = place.map_or(0, |at| u8::try_from(loci[at].genes.len()).unwrap_or(u8::MAX));
            genes.push(Gene { entry: entry.clone(), locus: place, allele });
        }
        Self { id, file, genes, loci, by_id }
    }

    /// The file it was read from.
    #[must_use]
    pub fn file(&self) -> &entries::File {
        &self.file
    }

    /// Its care numbers.
    #[must_use]
    pub fn care(&self) -> &care::Care {
        &self.file.care
    }

    /// Its id: the file's name, `ball_python`.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.file.meta.species
    }

    /// Its name in words.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.file.meta.name
    }

    /// All genes and line-bred looks, by [`GeneId`].
    #[must_use]
    pub fn genes(&self) -> &[Gene] {
        &self.genes
    }

    /// One gene. A [`GeneId`] of another species gives some other gene, or panics.
    #[must_use]
    pub fn gene(&self, gene: GeneId) -> &Gene {
        &self.genes[usize::from(gene.0)]
    }

    /// A gene by its id.
    #[must_use]
    pub fn gene_by_id(&self, id: &str) -> Option<GeneId> {
        self.by_id.get(id).copied()
    }

    /// All loci.
    #[must_use]
    pub fn loci(&self) -> &[Locus] {
        &self.loci
    }

    /// The readings of an ambiguous word.
    #[must_use]
    pub fn candidates(&self, entry: &entries::Ambiguous) -> Vec<Candidate> {
        entry.candidates.iter().filter_map(|text| self.candidate(text)).collect()
    }

    /// One reading as an entry writes it: `gene`, `gene*2`, `combo:id`, `pair:id`, `term:word`.
    #[must_use]
    pub fn candidate(&self, text: &str) -> Option<Candidate> {
        if let Some((kind, id)) = text.split_once(':') {
            return match kind {
                "combo" => self.file.combo.iter().position(|c| c.id == id).map(Candidate::Combo),
                "pair" => self.file.allele_pair.iter().position(|p| p.id == id).map(Candidate::Pair),
                "term" => Some(Candidate::Term(id.to_owned())),
                _ => None,
            };
        }
        let (id, copies) = text.split_once('*').map_or((text, None), |(id, n)| (id, n.parse().ok()));
        Some(Candidate::Gene { gene: self.gene_by_id(id)?, copies })
    }
}

/// Every species the program knows.
#[derive(Debug, Clone)]
pub struct Catalogue {
    species: Vec<Species>,
}

/// The catalogues that come with the program: file name and text.
pub const BUILTIN: [(&str, &str); 5] = [
    ("ball_python.toml", include_str!("../../config/species/ball_python.toml")),
    ("corn_snake.toml", include_str!("../../config/species/corn_snake.toml")),
    ("western_hognose.toml", include_str!("../../config/species/western_hognose.toml")),
    ("leopard_gecko.toml", include_str!("../../config/species/leopard_gecko.toml")),
    ("boa.toml", include_str!("../../config/species/boa.toml")),
];

/// How far a file is looked at before it is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Trust {
    /// It comes with the program: the tests hold it to every rule, so a start reads it only.
    Builtin,
    /// Somebody wrote it: every rule, at every start.
    Unknown,
}

impl Catalogue {
    /// The catalogues that come with the program.
    ///
    /// # Errors
    /// [`CatalogueError::Invalid`] when one of them cannot be read; a test keeps that from being handed out.
    pub fn builtin() -> Result<Self, CatalogueError> {
        Self::of(BUILTIN.iter().map(|(name, text)| (*name, *text, Trust::Builtin)))
    }

    /// The builtin catalogues with those of a folder: a file of the same name replaces one, another name adds a species.
    ///
    /// # Errors
    /// [`CatalogueError::Unreadable`] for the folder or a file, [`CatalogueError::Invalid`] with every problem found.
    pub fn with_folder(folder: &Path) -> Result<Self, CatalogueError> {
        let own = read_folder(folder)?;
        let builtin = BUILTIN.iter().map(|(name, text)| match own.iter().find(|f| f.0 == *name) {
            Some((name, text)) => (name.as_str(), text.as_str(), Trust::Unknown),
            None => (*name, *text, Trust::Builtin),
        });
        let added = own.iter().filter(|f| !BUILTIN.iter().any(|(name, _)| *name == f.0));
        Self::of(builtin.chain(added.map(|(name, text)| (name.as_str(), text.as_str(), Trust::Unknown))))
    }

    /// A catalogue of these files: name and text, every rule checked.
    ///
    /// # Errors
    /// [`CatalogueError::Invalid`] with every problem found.
    pub fn from_files(files: &[(String, String)]) -> Result<Self, CatalogueError> {
        Self::of(files.iter().map(|(name, text)| (name.as_str(), text.as_str(), Trust::Unknown)))
    }

    fn of<'a>(files: impl Iterator<Item = (&'a str, &'a str, Trust)>) -> Result<Self, CatalogueError> {
        let mut problems = Vec::new();
        let mut read = Vec::new();
        for (name, text, trust) in files {
            let file = match trust {
                Trust::Builtin => check::shape_only(name, text),
                Trust::Unknown => check::file(name, text),
            };
            match file {
                Ok(file) => read.push((name, file)),
                Err(found) => problems.extend(found),
            }
        }
        problems.extend(check::across(&read));
        if !problems.is_empty() {
            return Err(CatalogueError::Invalid(problems));
        }
        // Ids cannot run over: `check` bounds species, genes and alleles.
        let species = (0..=u8::MAX).zip(read).map(|(n, (_, file))| Species::new(SpeciesId(n), file)).collect();
        Ok(Self { species })
    }

    /// All species.
    #[must_use]
    pub fn species(&self) -> &[Species] {
        &self.species
    }

    /// One species.
    #[must_use]
    pub fn get(&self, id: SpeciesId) -> &Species {
        &self.species[usize::from(id.0)]
    }

    /// A species by its id or any of its names.
    #[must_use]
    pub fn by_name(&self, name: &str) -> Option<SpeciesId> {
        let wanted = names::joined(name);
        self.species
            .iter()
            .find(|s| {
                let meta = &s.file.meta;
                names::joined(&meta.species) == wanted
                    || names::joined(&meta.name) == wanted
                    || meta.names.iter().any(|n| names::joined(n) == wanted)
            })
            .map(|s| s.id)
    }
}

/// The catalogue files of a folder, by name.
///
/// # Errors
/// [`CatalogueError::Unreadable`] with the path.
pub fn read_folder(folder: &Path) -> Result<Vec<(String, String)>, CatalogueError> {
    let unreadable = |path: &Path, source| CatalogueError::Unreadable { path: path.display().to_string(), source };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|e| unreadable(folder, e))? {
        let path = entry.map_err(|e| unreadable(folder, e))?.path();
        if path.extension().is_some_and(|e| e == "toml") {
            let text = std::fs::read_to_string(&path).map_err(|e| unreadable(&path, e))?;
            files.push((path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned()), text));
        }
    }
    files.sort();
    Ok(files)
}
