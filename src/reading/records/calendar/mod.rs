//! Questions about dates, and the numbers they are counted by. An example a line:
//!   "when is Nala due", "when do the Nala eggs hatch", "when will she lay"     what follows from her records
//!   "is she late?"                                                             how it stands
//!   "day 40 for the Nala eggs, how much longer"                                eggs by their day
//!   "eggs laid 12 April, when do they hatch", "Nova ovulated today, when …"    from what the message tells
//!   "when can I pair Olive again"                                              when she is ready
//!   "when do I start cooling in the UK", "which months do I pair my boas"      the season of a species
//!   "the year", "what's due this month", "Nala's year"                         the year at a glance
//!   "export my calendar"                                                       a file for calendar programs
//!   "my ball pythons hatch at 60 days", "the Nala eggs take 62 days"           a number of the keeper's own
//!   "use mine", "use the default", "my numbers"

mod own; // numbers of the keeper's own
mod season; // months of a species, the year

use own::numbers;
use season::{half, season, span, year};

use super::amounts::pattern;
use super::kinds::Stage;
use super::message::{Called, Msg};
use crate::reading::dates::{Said, month_name};
use crate::reading::places::{self, Half, Spoken};
use crate::reading::requests::SexSaid;
use crate::species::SpeciesId;

/// Longer talk that holds such a word is about something else.
const MOST_WORDS: usize = 24;
/// What is asked without a name is shorter.
const SHORT: usize = 9;

/// Which months of a season are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// When the animals are cooled.
    Cooling,
    /// When they are put together.
    Pairing,
    /// When eggs or young come.
    Laying,
    /// All of it.
    All,
}

/// Which part of the year is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    /// Twelve months from now.
    Year,
    /// This month, or the one so many months later.
    Month(i8),
    /// The next month of this number.
    Named(i8),
}

/// An item of the care numbers that a keeper can set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemSaid {
    /// Days of incubation.
    Incubation,
    /// Temperature of the eggs.
    Warmth,
    /// Days from the shed before laying to the eggs, or to birth.
    ShedToLaying,
    /// Days from ovulation to that shed.
    OvulationToShed,
    /// Days from ovulation to the eggs.
    OvulationToLaying,
    /// Days from mating to the eggs.
    MatingToLaying,
}

/// What is asked about dates, or told of the numbers they are counted by.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)] // the fields are what the message said, by the names of their types
pub enum CalendarAsked {
    /// When something of an animal or its eggs is due; without a stage whatever is next.
    Due { who: Called, stage: Option<Stage> },
    /// Whether she is late.
    Late { who: Called },
    /// Eggs on a day of their incubation.
    DayOf { who: Option<Called>, day: i64, species: Option<SpeciesId> },
    /// What follows from an event that the message tells.
    After {
        who: Option<Called>,
        event: Stage,
        on: Option<Said>,
        stage: Option<Stage>,
        species: Option<SpeciesId>,
        warmth: Option<i64>,
    },
    /// When an animal can be paired again.
    Again { who: Called },
    /// The season of a species; without one that of all that are kept.
    Season { species: Option<SpeciesId>, part: Part, half: Option<Half>, place: Option<String> },
    /// The year of an animal, or of all.
    Year { who: Option<Called>, span: Span, half: Option<Half> },
    /// All dates as a file.
    File,
    /// A number of the keeper's own, in tenths: the least, the usual, the most.
    Own { item: ItemSaid, species: Option<SpeciesId>, clutch: Option<Called>, tenths: (Option<i64>, i64, Option<i64>) },
    /// The medians of the keeper's own records from now on.
    UseMine { species: Option<SpeciesId> },
    /// The defaults again.
    UseDefault { species: Option<SpeciesId> },
    /// The numbers that are counted by.
    Numbers { species: Option<SpeciesId> },
}

/// Reads what stands by itself.
pub(super) fn asked(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let (p, text) = (msg.phrases, msg.text());
    let n_words = text.split_whitespace().count();
    if p.remind.is_match(text) || n_words > MOST_WORDS {
        return None;
    }
    if p.calendar_out.is_match(text) && n_words <= SHORT {
        return Some(CalendarAsked::File);
    }
    numbers(msg)
        .or_else(|| day_of(msg))
        .or_else(|| late(msg))
        .or_else(|| again(msg))
        .or_else(|| from_told(msg))
        .or_else(|| due(msg))
        .or_else(|| year(msg))
        .or_else(|| season(msg).filter(|_| msg.question))
}

/// A message that was read as one about dates, in words of its own.
pub(super) fn by_intent(msg: &Msg<'_>) -> Option<CalendarAsked> {
    if msg.phrases.remind.is_match(msg.text()) {
        return None;
    }
    if let Some(who) = whom(msg) {
        return Some(CalendarAsked::Due { who, stage: stage(msg.text(), msg) });
    }
    season(msg).or_else(|| {
        let species = super::look::species_named(msg, msg.text());
        Some(match species {
            Some(id) => {
                CalendarAsked::Season { species: Some(id), part: Part::All, half: half(msg).0, place: half(msg).1 }
            }
            None => CalendarAsked::Year { who: None, span: span(msg), half: half(msg).0 },
        })
    })
}

/// The animal that is asked about: by name, by a pronoun, or by a name that nobody has.
fn whom(msg: &Msg<'_>) -> Option<Called> {
    let named = msg.animals().first().map(|m| m.called.clone());
    named.or_else(|| stranger(msg)).or_else(|| msg.pronoun().filter(|p| *p != Called::Pronoun(SexSaid::Unknown)))
}

/// "when is Zorro due": a name that nobody here has.
fn stranger(msg: &Msg<'_>) -> Option<Called> {
    let p = msg.phrases;
    let gone = [&p.hatches, &p.lays, &p.sheds, &p.ovulates, &p.pips, &p.eats, &p.eggs, &p.cools, &p.late, &p.again];
    let written = |name: &String| {
        let place = species_in(msg, name).is_some() || !matches!(places::spoken(name), Spoken::Unknown(_));
        name.starts_with(char::is_uppercase) && !place && !is_calendar_word(name)
    };
    msg.strange_names(&gone).into_iter().find(written).map(Called::Name)
}

/// A month or weekday is no name.
fn is_calendar_word(name: &str) -> bool {
    let small = name.to_lowercase();
    (1..=12).any(|m| month_name(m).to_lowercase().starts_with(&small) && small.len() >= 3)
        || matches!(small.as_str(), "ics" | "ical" | "day" | "when" | "day's" | "due" | "year")
}

fn species_in(msg: &Msg<'_>, text: &str) -> Option<SpeciesId> {
    super::look::species_named(msg, &text.to_lowercase())
}

/// The species that a message names.
fn species(msg: &Msg<'_>) -> Option<SpeciesId> {
    super::look::species_named(msg, msg.text()).or_else(|| {
        // "my balls", "hogs": what people say short.
        let short = pattern!(r"\b(balls|bps?|royals?|corns?|hoggies|hogs?|hognoses?|leos?|geckos?|boas?|bcis?)\b")?;
        let word = short.captures(msg.text())?.get(1)?.as_str().to_owned();
        let name = match word.trim_end_matches('s') {
            "ball" | "bp" | "royal" => "ball python",
            "corn" => "corn snake",
            "hoggie" | "hog" | "hognose" => "western hognose",
            "leo" | "gecko" => "leopard gecko",
            _ => "boa",
        };
        msg.catalogue.by_name(name)
    })
}

/// What is asked for: the event that is to come.
fn stage(text: &str, msg: &Msg<'_>) -> Option<Stage> {
    let p = msg.phrases;
    if p.pips.is_match(text) {
        Some(Stage::Pip)
    } else if p.lays.is_match(text) {
        Some(Stage::Laying)
    } else if p.hatches.is_match(text) {
        Some(Stage::Hatch)
    } else if p.eats.is_match(text) {
        Some(Stage::FirstMeal)
    } else if p.ovulates.is_match(text) {
        Some(Stage::Ovulation)
    } else if p.sheds.is_match(text) {
        Some(if pattern!(r"\bfirst\s+shed|\bshed\s+(?:for\s+the\s+)?first\b").is_some_and(|x| x.is_match(text)) {
            Stage::FirstShed
        } else {
            Stage::Shed
        })
    } else if p.eggs.is_match(text) {
        Some(Stage::Hatch)
    } else {
        None
    }
}

/// A question when something will be.
fn asks_when(text: &str) -> bool {
    pattern!(
        r"\b(?:when|wen|whens|what\s+day|which\s+day|what\s+date|due|how\s+(?:much\s+)?long(?:er)?|how\s+many\s+(?:more\s+)?days|expected|wann|wie\s+lange|cuando|cuanto\s+falta)\b"
    )
    .is_some_and(|x| x.is_match(text))
}

fn due(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let text = msg.text();
    let told = pattern!(r"\bwhen\s+(?:did|was|were|had|have|has)\b").is_some_and(|x| x.is_match(text));
    if !asks_when(text) || told {
        return None;
    }
    let stage = stage(text, msg);
    let due = pattern!(r"\b(?:due|expected|longer|how\s+long|how\s+many\s+(?:more\s+)?days)\b")
        .is_some_and(|x| x.is_match(text));
    if stage.is_none() && !due || msg.phrases.cools.is_match(text) {
        return None;
    }
    // "what is due this month" asks for all.
    if msg.mentions.is_empty() && msg.phrases.coming_up.is_match(text) {
        return None;
    }
    let who = whom(msg).or_else(|| {
        // "how much longer?", "when do they hatch": of what was talked of last.
        let of_last =
            pattern!(r"\b(?:they|it|the\s+(?:eggs|babies|young|clutch))\b|^\W*(?:and\s+)?how\s+much\s+longer\W*$");
        let general = msg.phrases.species_calendar.is_match(text) || species(msg).is_some();
        (!general && of_last.is_some_and(|x| x.is_match(text))).then_some(Called::Last)
    })?;
    Some(CalendarAsked::Due { who, stage })
}

fn late(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let text = msg.text();
    let hit = msg.phrases.late.is_match(text) && text.split_whitespace().count() <= SHORT;
    let asks = msg.question || pattern!(r"^\W*(?:is|are|isn'?t)\b").is_some_and(|x| x.is_match(text));
    if !hit || !asks {
        return None;
    }
    let who = whom(msg).unwrap_or(Called::Last);
    Some(CalendarAsked::Late { who })
}

/// "day 40 for the Nala eggs, how much longer", "45 days in, how long for eggs".
fn day_of(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let text = msg.text();
    let hit = pattern!(r"\b(?:day|tag|dia)\s+(\d{1,3})\b|\b(\d{1,3})\s+days?\s+(?:in|old|along|incubated)\b")?
        .captures(text)?;
    let day = hit.get(1).or_else(|| hit.get(2))?.as_str().parse().ok()?;
    let longer =
        pattern!(r"\b(?:how\s+(?:much\s+)?long(?:er)?|how\s+many\s+(?:more\s+)?days|when|left|to\s+go|wie\s+lange)\b")
            .is_some_and(|x| x.is_match(text));
    if !msg.phrases.eggs.is_match(text) && !longer {
        return None;
    }
    Some(CalendarAsked::DayOf { who: whom(msg), day, species: species(msg) })
}

/// "when can I pair Olive again", "when is she ready to breed".
fn again(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let text = msg.text();
    let asks = pattern!(
        r"\b(?:when|how\s+soon|wann|cuando)\b.{0,30}\b(?:pair(?:ed)?|breed|bred|use|put|introduce|ready|verpaaren|cruzar)\b"
    )?
    .is_match(text);
    let named = whom(msg)?;
    (asks && !pattern!(r"\bwhen\s+(?:did|was|were)\b")?.is_match(text)).then_some(CalendarAsked::Again { who: named })
}

/// An event that the message tells, with a question behind it.
fn from_told(msg: &Msg<'_>) -> Option<CalendarAsked> {
    let (p, text) = (msg.phrases, msg.text());
    let on = msg.when();
    if !asks_when(text) || on.is_none() {
        return None;
    }
    let laid = pattern!(
        r"\b(?:laid|layed|dropped|laid\s+on|eggs?\s+(?:from|of)|eier\s+vom|gelegt|puso|had\s+(?:her\s+)?(?:eggs|litter))\b"
    );
    let event = if p.prelay_shed.is_match(text) {
        Stage::Shed
    } else if p.ovulation.is_match(text) {
        Stage::Ovulation
    } else if pattern!(r"\b(?:pipped|pipping)\b").is_some_and(|x| x.is_match(text)) {
        Stage::Pip
    } else if pattern!(r"\b(?:hatched|were\s+born|was\s+born|born)\b").is_some_and(|x| x.is_match(text)) {
        Stage::Hatch
    } else if laid.is_some_and(|x| x.is_match(text)) {
        Stage::Laying
    } else if p.lock.is_match(text) {
        Stage::Paired
    } else {
        return None;
    };
    // What is asked stands apart from what is told.
    let asked =
        pattern!(r"\b(?:when|wen|what\s+day|which\s+day|how\s+(?:much\s+)?long(?:er)?|how\s+many|wann|cuando)\b")?
            .find(text)?;
    let end = text[asked.start()..].find([',', '?']).map_or(text.len(), |n| asked.start() + n);
    let stage = stage(&text[asked.start()..end], msg).filter(|stage| *stage > event);
    let warmth = super::clutch::warmth(text);
    Some(CalendarAsked::After { who: whom(msg), event, on, stage, species: species(msg), warmth })
}
