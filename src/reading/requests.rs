//! What a message asks: the reader's product, which the conversation answers.
//!
//! Invariant: every word of the message ended as meaning, as known filler, as an [`Assumed`], as a [`Question`] or as an unread word.

use crate::engine::odds::Odds;
use crate::species::{GeneId, SpeciesId};

/// What kind of thing a message asks for. One list feeds the reader, the help and the machine interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Intent {
    /// Odds of a pairing, in any form.
    Odds,
    /// Phases of a project towards a goal.
    Plan,
    /// Who goes to whom.
    NextPairing,
    /// An animal to be kept in the collection, or a change to one.
    SaveAnimal,
    /// A list or card from the collection.
    ListCollection,
    /// A weight.
    RecordWeight,
    /// A pairing that took place, or a reproductive sign.
    RecordPairing,
    /// Eggs laid or young hatched.
    RecordClutch,
    /// What a clutch says about a possible het.
    ProveOut,
    /// Dates of the season.
    SeasonCalendar,
    /// What a word or a number means.
    Explain,
    /// How to use the bot.
    Help,
    /// A copy of what is kept.
    Export,
    /// Erase what is kept.
    Forget,
    /// Talk among people: stay silent.
    SmallTalk,
    /// Spoken to, but not understood, or outside the job.
    Unknown,
}

impl Intent {
    /// Every intent, in the order of the help.
    pub const ALL: [Self; 16] = [
        Self::Odds,
        Self::Plan,
        Self::NextPairing,
        Self::SaveAnimal,
        Self::ListCollection,
        Self::RecordWeight,
        Self::RecordPairing,
        Self::RecordClutch,
        Self::ProveOut,
        Self::SeasonCalendar,
        Self::Explain,
        Self::Help,
        Self::Export,
        Self::Forget,
        Self::SmallTalk,
        Self::Unknown,
    ];

    /// Its name in the machine interface.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::Odds => "odds",
            Self::Plan => "plan",
            Self::NextPairing => "next_pairing",
            Self::SaveAnimal => "save_animal",
            Self::ListCollection => "list_collection",
            Self::RecordWeight => "record_weight",
            Self::RecordPairing => "record_pairing",
            Self::RecordClutch => "record_clutch",
            Self::ProveOut => "prove_out",
            Self::SeasonCalendar => "season_calendar",
            Self::Explain => "explain",
            Self::Help => "help",
            Self::Export => "export",
            Self::Forget => "forget",
            Self::SmallTalk => "small_talk",
            Self::Unknown => "unknown",
        }
    }
}

/// The sex of an animal as far as the message says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum SexSaid {
    /// Male.
    Male,
    /// Female.
    Female,
    /// Not said.
    #[default]
    Unknown,
}

impl SexSaid {
    /// The other sex; unknown stays unknown.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Male => Self::Female,
            Self::Female => Self::Male,
            Self::Unknown => Self::Unknown,
        }
    }
}

/// One gene of one animal: so many copies, with this chance. Two entries of one gene are alternatives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// The gene.
    pub gene: GeneId,
    /// Copies, 1 or 2.
    pub copies: u8,
    /// Exact chance that the animal carries these copies.
    pub chance: Odds,
}

/// On which sex chromosome a male's copy of a sex-linked gene sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// From his mother: the "female maker".
    X,
    /// From his father: the "male maker".
    Y,
}

/// One animal of a message.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Animal {
    /// Its sex as said or implied.
    pub sex: SexSaid,
    /// Its genes, sorted by id.
    pub genes: Vec<Carried>,
    /// Line-bred looks that were named: no odds are given for them.
    pub looks: Vec<GeneId>,
    /// The side of a male's sex-linked gene, where said.
    pub side: Option<Side>,
    /// Its name, where the message calls it by one.
    pub name: Option<String>,
    /// Its weight in grams, where said.
    pub weight_g: Option<u32>,
    /// Its age in months, where said.
    pub age_months: Option<u32>,
    /// The words it was read from.
    pub said: String,
}

/// What is wanted of the young: at least these copies of each gene ("a pastel clown").
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Target {
    /// Genes with the copies that count: exactly two, or (for one copy of a visible gene) at least one.
    pub genes: Vec<(GeneId, u8)>,
    /// Only young of this sex count.
    pub sex: SexSaid,
    /// "Het" was said: exactly one copy of these.
    pub hets: Vec<GeneId>,
}

/// What about the pairing is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Aspect {
    /// The table of young.
    #[default]
    Table,
    /// Whether the target is possible.
    Possible,
    /// Why none of the target came.
    WhyNone,
    /// How many eggs or clutches the target takes.
    HowMany,
    /// The best animal this pairing can make.
    Best,
    /// The square of the pairing.
    Square,
    /// Whether it is safe.
    Safe,
    /// The het labels.
    Hets,
}

/// How the young are to be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// Leave out young without a visible gene.
    pub without_normals: bool,
    /// Every kind, not only the first rows.
    pub all: bool,
}

/// Something to be asked back before odds are given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The word or thing that is unclear, as written.
    pub about: String,
    /// What kind of thing is unclear.
    pub kind: Unclear,
    /// The readings to choose from.
    pub readings: Vec<Choice>,
    /// Which parent it is about: 0 or 1; 2 for the target or the message as a whole.
    pub animal: usize,
}

/// Why a question is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unclear {
    /// A word with several readings that change the odds.
    Word,
    /// A family word without its line.
    Line,
    /// A possible het without a chance.
    HetChance,
    /// A possible two-copy animal whose parents are not known.
    SuperChance,
    /// A word that is no gene known here.
    UnknownGene,
    /// More than two alleles at one locus.
    TooManyAlleles,
    /// A double or triple het whose genes are not named, or not as many.
    HetCount,
    /// Only one parent was named.
    OtherParent,
    /// Which of the two is to have it.
    WhichParent,
    /// Littermates whose parents are not told.
    Siblings,
    /// Both parents are of one sex.
    Sexes,
    /// Genes of several species.
    Species,
    /// The same gene or word twice.
    Twice,
    /// "super" where there is none.
    NoSuper,
    /// More than a question may hold.
    Limit,
}

/// One reading that answers a [`Question`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    /// These genes with these copies.
    Genes(String, Vec<(GeneId, u8)>),
    /// The gene with these copies at this chance; otherwise one copy of a gene that was to have two, or none.
    Chance(GeneId, u8, Odds),
    /// A species.
    Species(SpeciesId),
    /// These genes on this parent, 0 or 1.
    OnParent(usize, Vec<(GeneId, u8)>),
    /// A reading in words.
    Words(String),
}

/// Something taken for granted that the reply says aloud.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Assumed {
    /// A combination name and what it stands for.
    Combo(String, Vec<(GeneId, u8)>),
    /// An ambiguous word in its usual reading.
    Usual(String, Vec<(GeneId, u8)>),
    /// A slip of the pen, healed.
    Spelling(String, String),
    /// "het" taken to govern every recessive after it.
    HetGoverns(Vec<GeneId>),
    /// "het" said of a gene that shows with one copy.
    HetShows(GeneId),
    /// "super" said of a recessive, or of a dominant whose copies look alike.
    SuperIs(GeneId),
    /// The first-named animal is the male.
    FirstIsMale,
    /// A line-bred look: no odds.
    NoOddsFor(GeneId),
    /// The species, worked out from the genes.
    Species(SpeciesId),
    /// Genes that follow from the parents that were named.
    FromParents(Vec<Carried>),
    /// "visual" or "het" took its gene from the other animal.
    SameGene(GeneId),
    /// A family word or a word of many meanings, taken as what the pairing can make.
    LineFits(String, Vec<(GeneId, u8)>),
    /// A ratio such as 1:3 read as one in four.
    Ratio(u32, u32),
}

/// A pairing with everything asked about it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pairing {
    /// The parents in the order of the text; one or two.
    pub parents: Vec<Animal>,
    /// The young asked for.
    pub target: Option<Target>,
    /// What is asked.
    pub aspect: Aspect,
    /// Eggs in the clutch.
    pub clutch_size: Option<u32>,
    /// Number of clutches.
    pub clutches: Option<u32>,
    /// The certainty wanted, for "how many eggs".
    pub certainty: Option<Odds>,
    /// How the young are shown.
    pub shown: Shown,
    /// At least one male and one female are asked for.
    pub both_sexes: bool,
}

/// A possible het that is being proven: what is believed of it, whom it was bred to, what hatched.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Trial {
    /// The gene, where it was named; the odds are those of any recessive.
    pub gene: Option<GeneId>,
    /// The animals in question, one or two.
    pub tested: Vec<Tested>,
    /// The other parent of a single animal in question.
    pub mate: Mate,
    /// Young that look normal.
    pub normals: u32,
    /// Young that show the gene.
    pub visuals: u32,
    /// How many eggs it takes is asked.
    pub how_many: bool,
    /// How sure the keeper wants to be.
    pub certainty: Option<Odds>,
    /// "Possible het" was said without a share.
    pub open: bool,
}

/// An animal that may carry one copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tested {
    /// Its sex, where said.
    pub sex: SexSaid,
    /// The chance that it carries, before what hatched.
    pub carries: Odds,
}

/// What is known of the other parent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mate {
    /// Nothing was said.
    #[default]
    Untold,
    /// It shows the gene.
    Visual,
    /// It carries one copy for sure.
    Het,
    /// It does not carry.
    Normal,
}

/// Everything that was read from one message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The species, where it is known.
    pub species: Option<SpeciesId>,
    /// What the message asks for.
    pub intent: Intent,
    /// The pairing, for [`Intent::Odds`] and where one was named beside another wish.
    pub pairing: Pairing,
    /// A second pairing to compare with.
    pub compare: Option<Pairing>,
    /// What must be asked back. Not empty means that no odds are given yet.
    pub questions: Vec<Question>,
    /// What the reply says it took for granted.
    pub assumed: Vec<Assumed>,
    /// Words that were not understood.
    pub unread: Vec<String>,
    /// For [`Intent::Unknown`] outside the job: what it is about.
    pub outside: Option<Outside>,
    /// For [`Intent::ProveOut`]: what is being proven.
    pub trial: Option<Trial>,
    /// For [`Intent::Explain`] and single genes: the genes that were named.
    pub named: Vec<GeneId>,
}

/// Things the bot does not do, each with somebody who can.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Illness and injuries.
    Illness,
    /// Doses of drugs.
    Dose,
    /// Market prices.
    Price,
    /// What an animal on a photo is.
    Photo,
    /// Law and permits.
    Law,
}

impl Reading {
    /// A reading of nothing.
    #[must_use]
    pub fn of(intent: Intent, species: Option<SpeciesId>) -> Self {
        Self {
            species,
            intent,
            pairing: Pairing::default(),
            compare: None,
            questions: Vec::new(),
            assumed: Vec::new(),
            unread: Vec::new(),
            outside: None,
            trial: None,
            named: Vec::new(),
        }
    }
}
