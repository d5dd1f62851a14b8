//! The catalogue files as they are written: one struct a table of `config/species/*.toml`, nothing checked but the shape.
//!
//! In: TOML text. Out: [`File`], literal. The checked form is [`super::Species`]; only that one travels.
//! Unknown keys are refused, so that a slip in a community's own file is found at start.

use serde::Deserialize;

use super::care::Care;

/// One catalogue file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct File {
    /// The species itself.
    pub meta: Meta,
    /// Published sources.
    #[serde(default)]
    pub citation: Vec<Citation>,
    /// Loci with several alleles.
    #[serde(default)]
    pub complex: Vec<Complex>,
    /// Words that cover several lines.
    #[serde(default)]
    pub family: Vec<Family>,
    /// Genes and line-bred looks.
    #[serde(default)]
    pub gene: Vec<Gene>,
    /// Two alleles of one locus with a name or look of their own.
    #[serde(default)]
    pub allele_pair: Vec<AllelePair>,
    /// Genes that should not meet.
    #[serde(default)]
    pub pair_warning: Vec<PairWarning>,
    /// Coined names for several genes.
    #[serde(default)]
    pub combo: Vec<Combo>,
    /// Words with more than one reading.
    #[serde(default)]
    pub ambiguous: Vec<Ambiguous>,
    /// Sizes, seasons, clutches and lifetimes.
    #[serde(default)]
    pub care: Care,
}

/// `[meta]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Meta {
    pub schema: i64,
    pub species: String,
    pub name: String,
    pub latin: String,
    pub names: Vec<String>,
    pub sex_system: SexSystemName,
    pub sex_system_source: Vec<String>,
    pub sex_system_note: Option<String>,
    pub young: Young,
    pub note: Option<String>,
}

/// How sex is decided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum SexSystemName {
    Xy,
    Zw,
    Temperature,
}

/// What a clutch is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Young {
    Eggs,
    Live,
}

/// How far a citation was checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Checked {
    Abstract,
    Memory,
}

/// How sure the trade is of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Confidence {
    High,
    Medium,
    Low,
}

/// Mode of inheritance against the wild type.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Inheritance {
    Recessive,
    IncompleteDominant,
    Dominant,
    Polygenic,
}

/// A limit on breeding more of a gene.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum BreedingLimit {
    NoFemales,
    NoMales,
    Discouraged,
}

/// How well the loss of two-copy young is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum LethalStatus {
    Reported,
    Suspected,
}

/// When two-copy young are lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum LethalStage {
    Unborn,
    Young,
    Unknown,
}

/// What kind of harm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum WelfareKind {
    Neurological,
    Skeleton,
    Eyes,
    Light,
    Skin,
    Tumour,
    Fertility,
    Frailty,
}

/// Which animals a caution applies to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum AppliesTo {
    OneCopy,
    TwoCopies,
    AnyCopies,
}

/// When a caution is said: on request, always, or first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Severity {
    Note,
    Caution,
    Serious,
}

/// A sex, as written in a catalogue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum SexName {
    Male,
    Female,
}

/// What happens when two genes meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Effect {
    Lethal,
    Harm,
    Mixing,
    Ask,
}

/// What to do with an ambiguous word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)] // each value is explained in config/species/README.md
pub enum Then {
    Ask,
    Assume,
}

/// `[[citation]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Citation {
    pub id: String,
    pub text: String,
    pub checked: Checked,
}

/// `[[complex]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Complex {
    pub locus: String,
    pub name: String,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub published_gene: Option<String>,
    pub note: Option<String>,
}

/// `[[family]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Family {
    pub id: String,
    pub name: String,
    pub words: Vec<String>,
    pub bare: String,
    pub note: Option<String>,
}

/// `[[gene]]`: an allele, or a line-bred look.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Gene {
    pub id: String,
    pub name: String,
    pub inheritance: Inheritance,
    pub locus: Option<String>,
    pub computed: Option<bool>,
    #[serde(default)]
    pub carries: Vec<Part>,
    pub one_copy: Option<String>,
    pub two_copies: Option<String>,
    pub visible_with_one_copy: Option<bool>,
    pub two_copies_look_like_one: Option<bool>,
    pub bare_name_copies: Option<i64>,
    pub aliases: Vec<String>,
    #[serde(default)]
    pub one_copy_aliases: Vec<String>,
    #[serde(default)]
    pub two_copies_aliases: Vec<String>,
    #[serde(default)]
    pub misspellings: Vec<String>,
    #[serde(default)]
    pub everyday_words: Vec<String>,
    pub family: Option<String>,
    #[serde(default)]
    pub line_tags: Vec<String>,
    #[serde(default)]
    pub not_compatible_with: Vec<String>,
    #[serde(default)]
    pub compatibility_unknown_with: Vec<String>,
    #[serde(default)]
    pub possible_allele_of: Vec<String>,
    #[serde(default)]
    pub seen_with: Vec<String>,
    pub published_gene: Option<String>,
    pub health_trait: Option<bool>,
    pub breeding_limit: Option<BreedingLimit>,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub note: Option<String>,
    pub homozygous_lethal: Option<Lethal>,
    pub sex_linked: Option<SexLinked>,
    #[serde(default)]
    pub welfare: Vec<Welfare>,
}

/// `[gene.homozygous_lethal]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Lethal {
    pub status: LethalStatus,
    pub stage: LethalStage,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub note: Option<String>,
}

/// `[gene.sex_linked]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct SexLinked {
    pub recombination: f64,
    pub recombination_range: Vec<f64>,
    pub recombination_confidence: Confidence,
    pub recombination_source: Vec<String>,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub rules: Vec<String>,
    pub note: Option<String>,
}

/// `[[gene.welfare]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Welfare {
    pub kind: WelfareKind,
    pub issue: String,
    pub applies_to: AppliesTo,
    pub sex: Option<SexName>,
    #[serde(default)]
    pub with: Vec<String>,
    pub severity: Severity,
    pub confidence: Confidence,
    pub source: Vec<String>,
}

/// One part of a combination: a gene, or one gene of a family, with its copies.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Part {
    pub id: Option<String>,
    pub one_of: Option<String>,
    pub copies: i64,
}

/// `[[allele_pair]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct AllelePair {
    pub id: String,
    pub name: String,
    pub locus: String,
    pub alleles: Vec<String>,
    pub aliases: Vec<String>,
    #[serde(default)]
    pub misspellings: Vec<String>,
    #[serde(default)]
    pub everyday_words: Vec<String>,
    pub look: String,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub note: Option<String>,
}

/// `[[pair_warning]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct PairWarning {
    pub genes: Vec<String>,
    pub effect: Effect,
    pub issue: String,
    pub confidence: Confidence,
    pub source: Vec<String>,
}

/// `[[combo]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Combo {
    pub id: String,
    pub name: String,
    pub aliases: Vec<String>,
    #[serde(default)]
    pub misspellings: Vec<String>,
    #[serde(default)]
    pub everyday_words: Vec<String>,
    pub genes: Vec<Part>,
    #[serde(default)]
    pub looks: Vec<String>,
    pub confidence: Confidence,
    pub source: Vec<String>,
    pub note: Option<String>,
}

/// `[[ambiguous]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // each key is explained in config/species/README.md
pub struct Ambiguous {
    pub words: Vec<String>,
    pub candidates: Vec<String>,
    pub then: Then,
    pub usual: Option<String>,
    pub note: Option<String>,
}
