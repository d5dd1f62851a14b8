//! Goals and their limits, and questions about the plan towards one. An example a line:
//!   "goal: clown pied, a pair, by 2031, without spider"      a goal with limits
//!   "goal 2: room for 20, at most 3 clutches a season"        limits of a goal that is there
//!   "make goal 2 first", "call goal 1 Dreamsicle"              its rank, its name
//!   "plan a clown pied", "plan goal 2"                         the plan from what is kept
//!   "why not faster", "show the risk", "phase 2"               more about the last plan
//!   "what if I buy a visual pied het clown"                    the last plan with a purchase
//!   "what if I buy a visual het for the other"                 the same, by its part in the goal
//!   "what if I buy a clown male for 400 or a pied female for 500"   the last plan at prices
//!   "what does it cost at 120 a year each"                     its money by year

use super::Record;
use super::amounts::pattern;
use super::described::Described;
use super::look::{Filter, Listed};
use super::message::Msg;
use super::money::{BuySaid, CostSaid, costs, offers};
use crate::engine::odds::{Odds, odds};
use crate::reading::requests::{Animal, Reading, SexSaid, Target};

/// Within what a goal is to be reached, as said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LimitsSaid {
    /// The last year.
    pub by_year: Option<i16>,
    /// Within so many years from now.
    pub years: Option<u16>,
    /// Money in hundredths.
    pub budget_cents: Option<i64>,
    /// Clutches a season.
    pub clutches: Option<u16>,
    /// Animals there is room for.
    pub room: Option<u16>,
    /// Words of genes that are not wanted.
    pub without: Option<String>,
    /// Pairs of this kinship or closer are left out.
    pub kinship: Option<Odds>,
    /// Purchases that are allowed.
    pub purchases: Option<u8>,
    /// Nothing that is kept counts.
    pub scratch: bool,
    /// A male and a female.
    pub pair: bool,
}

/// What is said of a goal that is there.
#[derive(Debug, Clone, PartialEq)]
pub enum GoalEdit {
    /// Its limits.
    Limits(LimitsSaid),
    /// Its name.
    Name(String),
    /// Its place among the goals, from 1.
    Rank(usize),
}

/// Which animal a plan is for.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanFor {
    /// A goal that is saved, by its place in the list; the first where none is said.
    Goal(Option<usize>),
    /// One that is told.
    Told(Box<Reading>, Target),
}

/// More about the last plan.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanMore {
    /// What holds it up.
    Faster,
    /// The chance by each season.
    Risk,
    /// Other ways side by side.
    Alternatives,
    /// One pairing in detail, from 1.
    Phase(usize),
    /// With an animal that is bought.
    Buy(String),
    /// With what can be bought, at its prices.
    Offers(BuySaid),
    /// With so many females kept of every round.
    Females(u16),
    /// The money by year, at what keeping costs and what is paid once.
    Money(CostSaid),
}

/// An animal by its part in a project, where its genes follow from the goal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// "a visual het for the other".
    VisualHet,
    /// "a double het".
    DoubleHet,
}

/// The part that these words name, if they name no gene.
#[must_use]
pub fn part(words: &str) -> Option<Part> {
    let is = |pattern: Option<&regex::Regex>| pattern.is_some_and(|pattern| pattern.is_match(words));
    if is(pattern!(
        r"(?i)^\W*(?:(?:fe)?male\s+)?visual,?\s+(?:(?:that|who|which)\s+is\s+)?het(?:\s+for)?\s+(?:the\s+)?others?\W*$"
    )) {
        return Some(Part::VisualHet);
    }
    is(pattern!(r"(?i)^\W*(?:(?:fe)?male\s+)?double\s+hets?\W*$")).then_some(Part::DoubleHet)
}

/// A number in figures or words.
pub(super) const N: &str = r"(\d{1,3}|an?|one|two|three|four|five|six|eight|ten)";

pub(super) fn number(said: &str) -> Option<u16> {
    Some(match said {
        "a" | "an" | "one" => 1,
        "two" => 2,
        "three" => 3,
        "four" => 4,
        "five" => 5,
        "six" => 6,
        "eight" => 8,
        "ten" => 10,
        figures => return figures.parse().ok(),
    })
}

/// Takes the limits out of a text in small letters; what is left is the animal.
pub(super) fn limits(text: &str) -> (LimitsSaid, String) {
    let mut rest = text.to_owned();
    let mut said = LimitsSaid::default();
    let mut take = |pattern: Option<&'static regex::Regex>| -> Option<Vec<Option<String>>> {
        let pattern = pattern?;
        let hit: Vec<Option<String>> =
            pattern.captures(&rest)?.iter().map(|m| m.map(|m| m.as_str().to_owned())).collect();
        // A comma keeps what stood on either side apart.
        rest = pattern.replace(&rest, " , ").into_owned();
        Some(hit)
    };
    let group = |hit: &[Option<String>], n: usize| hit.get(n).cloned().flatten();
    if let Some(hit) =
        take(pattern!(r"\b(?:by|until|before|till|bis|en)\s+(?:the\s+)?(?:end\s+of\s+|year\s+)?((?:19|20)\d\d)\b"))
    {
        said.by_year = group(&hit, 1).and_then(|y| y.parse().ok());
    }
    if let Some(hit) =
        take(pattern!(format!(r"\b(?:within|in(?:\s+at\s+most)?)\s+{N}\s+(?:years?|seasons?|jahren?)\b")))
    {
        said.years = group(&hit, 1).and_then(|n| number(&n));
    }
    if let Some(hit) = take(pattern!(
        r"\b(?:with\s+)?(?:an?\s+)?budget\s*(?:of|is|:)?\s*(?:eur|usd|gbp|[€$£])?\s*(\d[\d,.]*)\s*(k)?\s*(?:euros?|eur|usd|gbp|dollars?|[€$£])?"
    )) {
        let digits: String = group(&hit, 1).unwrap_or_default().chars().filter(char::is_ascii_digit).collect();
        let thousand = if group(&hit, 2).is_some() { 1000 } else { 1 };
        said.budget_cents = digits.parse::<i64>().ok().and_then(|n| n.checked_mul(thousand * 100));
    }
    if let Some(hit) = take(pattern!(format!(
        r"\b(?:at\s+most|max(?:imum)?(?:\s+of)?|no\s+more\s+than|only|up\s+to)\s+{N}\s+clutch(?:es)?(?:\s+(?:a|per|each)\s+(?:season|year))?"
    ))) {
        said.clutches = group(&hit, 1).and_then(|n| number(&n));
    }
    if let Some(hit) = take(pattern!(format!(
        r"\b(?:(?:rack\s+)?(?:room|space)|tubs)\s+for\s+(?:only\s+)?{N}(?:\s+(?:young|animals|snakes|holdbacks|more))?\b"
    ))) {
        said.room = group(&hit, 1).and_then(|n| number(&n));
    }
    if let Some(hit) = take(pattern!(
        r"\b(?:nothing|none|no\s+pairs?|no\s+pairings?|not)\s+(?:is\s+)?closer\s+(?:related\s+)?than\s+(half[- ]?siblings?|(?:full\s+)?siblings?|(?:first\s+)?cousins?|\d{1,2}(?:\.\d)?\s*%)|\bno\s+(inbreeding|related\s+pairings?|siblings?\s+pairings?)"
    )) {
        said.kinship = closer_than(group(&hit, 1).as_deref(), group(&hit, 2).as_deref());
    }
    if take(pattern!(r"\b(?:with\s+)?only\s+(?:with\s+)?what\s+i(?:'ve|\s+have)?(?:\s+got|\s+own)?\b|\bno\s+purchases?\b|\bwithout\s+buying(?:\s+anything)?\b|\bfrom\s+what\s+i(?:'ve|\s+have)(?:\s+got)?\b")).is_some() {
        said.purchases = Some(0);
    }
    if let Some(hit) =
        take(pattern!(format!(r"\b(?:and\s+)?i\s+(?:can|could|may|would)\s+buy\s+{N}(?:\s+animals?)?\b")))
    {
        said.purchases = group(&hit, 1).and_then(|n| number(&n)).and_then(|n| u8::try_from(n).ok());
    }
    if take(pattern!(r"\bfrom\s+scratch\b")).is_some() {
        said.scratch = true;
    }
    if take(pattern!(r"\b(?:a\s+)?(?:breeding\s+)?pair(?:\s+of\s+(?:them|those|these))?\b|\bboth\s+sexes\b|\b1\.1\b"))
        .is_some()
    {
        said.pair = true;
    }
    if let Some(hit) = take(pattern!(
        r"\b(?:without|not?|ohne|sin)\s+(?:any\s+|the\s+)?([\p{L}][\p{L} ]{1,40}?)\s*(?:genes?|in it)?\s*(?:,|;|\.|$)"
    )) {
        said.without = group(&hit, 1);
    }
    (said, rest)
}

/// "Nothing closer than half siblings": half siblings are still allowed, what is closer is not.
fn closer_than(kind: Option<&str>, none: Option<&str>) -> Option<Odds> {
    if none.is_some() {
        return Some(odds(0, 1));
    }
    let kind = kind?;
    if let Some(share) = kind.strip_suffix('%') {
        let tenths: f64 = share.trim().parse().ok()?;
        #[expect(clippy::cast_possible_truncation)] // within 0 and 1000
        return Some(odds((tenths * 10.0).round() as i64, 1000));
    }
    Some(if kind.starts_with("half") {
        odds(1, 8)
    } else if kind.contains("cousin") {
        odds(1, 16)
    } else {
        odds(1, 4)
    })
}

/// What is said of a goal that is there: that it is none any more, its rank, its name, its limits.
pub(super) fn of_goal(msg: &Msg<'_>) -> Option<Record> {
    let text = msg.text();
    let at = |hit: &regex::Captures<'_>, n: usize| hit.get(n).and_then(|m| m.as_str().parse().ok());
    if pattern!(r"^\W*(?:show\s+(?:me\s+)?|list\s+)?(?:all\s+)?(?:my\s+|the\s+)?goals\W*$")?.is_match(text) {
        return Some(Record::List(Listed::Goals, Filter::default()));
    }
    if let Some(hit) =
        pattern!(r"^\W*(?:please\s+)?(?:remove|delete|drop|forget)\s+(?:my\s+)?goal\s*#?(\d{1,2})?")?.captures(text)
    {
        return Some(Record::GoalGone { number: at(&hit, 1) });
    }
    if let Some(hit) = pattern!(r"^\W*(?:please\s+)?(?:make|put|rank|move|set)\s+goal\s*#?(\d{1,2})\s+(?:to\s+|as\s+|at\s+|on\s+)?(?:place\s+|rank\s+|number\s+|position\s+)?(first|top|second|third|last|\d{1,2})\b")?
        .captures(text)
    {
        let place = match hit.get(2).map(|m| m.as_str()) {
            Some("first" | "top") => 1,
            Some("second") => 2,
            Some("third") => 3,
            Some("last") => usize::MAX,
            Some(n) => n.parse().ok()?,
            None => return None,
        };
        return Some(Record::GoalEdit { number: at(&hit, 1), edit: GoalEdit::Rank(place) });
    }
    if let Some(hit) =
        pattern!(r"^\W*(?:please\s+)?(?:call|name|rename)\s+(?:my\s+)?goal\s*#?(\d{1,2})?\s+(?:to\s+|as\s+)?")?
            .captures(text)
    {
        let from = hit.get(0)?.end();
        let name = msg.flat.typed(from..text.len()).trim().trim_matches(['"', '.', '!']).to_owned();
        return (!name.is_empty()).then(|| Record::GoalEdit { number: at(&hit, 1), edit: GoalEdit::Name(name) });
    }
    if let Some(hit) = pattern!(r"^\W*(?:set\s+|change\s+)?(?:my\s+)?goal\s*#?(\d{1,2})\b\s*[:,-]?\s*")?.captures(text)
    {
        let (said, _) = limits(text.get(hit.get(0)?.end()..)?);
        if said != LimitsSaid::default() {
            return Some(Record::GoalEdit { number: at(&hit, 1), edit: GoalEdit::Limits(said) });
        }
    }
    None
}

/// A new goal with its limits.
pub(super) fn goal(msg: &Msg<'_>) -> Option<Record> {
    let text = msg.text();
    let lead = msg.phrases.goal.find(text)?;
    let (said, rest) = limits(text.get(lead.end()..)?);
    // "goal: clown pied. what is the fastest way?" is a plan.
    if msg.question
        || pattern!(
            r"\b(?:path|route|fastest|shortest|quickest|plan|steps|years?|generations?|how|what|buy|map|room|budget)\b"
        )
        .is_some_and(|p| p.is_match(&rest))
    {
        return None;
    }
    let named = pattern!(r"\b(?:called|named)\s+([\p{L}\p{N}' ]{1,40}?)\s*(?:,|$)")?;
    let name = named.captures(&rest).and_then(|c| c.get(1)).map(|m| m.as_str().trim().to_owned());
    let rest = named.replace(&rest, " , ").into_owned();
    let words = rest.trim_start_matches([':', ' ', '-', ',']).trim();
    let words = words
        .trim_start_matches("is ")
        .trim_start_matches("a ")
        .trim_start_matches("an ")
        .trim_end_matches([',', ' '])
        .to_owned();
    let genes = msg.reader.describe(msg.catalogue, &words, msg.known.species);
    genes.has_genes().then_some(Record::Goal { genes, said: words, limits: said, name })
}

/// A plan for a goal that is told or saved.
pub(super) fn plan(msg: &Msg<'_>, reading: &Reading) -> Option<Record> {
    let text = msg.text();
    let (said, _) = limits(text);
    if let Some(hit) = pattern!(r"\bgoals?\s*#?(\d{1,2})\b")?.captures(text) {
        let number = hit.get(1).and_then(|m| m.as_str().parse().ok());
        return Some(Record::Plan { towards: PlanFor::Goal(number), limits: said });
    }
    // Animals told in the message are planned with as they are told.
    let told = |a: &Animal| a.sex != SexSaid::Unknown && !a.genes.is_empty();
    if reading.pairing.parents.iter().any(told) {
        return None;
    }
    match (&reading.pairing.target, reading.species) {
        (Some(target), Some(_)) if !target.genes.is_empty() => {
            Some(Record::Plan { towards: PlanFor::Told(Box::new(reading.clone()), target.clone()), limits: said })
        }
        (None, _)
            if pattern!(r"\b(?:my|the)\s+goal\b|^\W*(?:show\s+(?:me\s+)?)?(?:my\s+|the\s+)?plan\W*$")
                .is_some_and(|p| p.is_match(text)) =>
        {
            Some(Record::Plan { towards: PlanFor::Goal(None), limits: said })
        }
        _ => None,
    }
}

/// "plan goal 1", "plan my goal": whatever else the words may mean.
pub(super) fn plan_of_goal(msg: &Msg<'_>) -> Option<Record> {
    let text = msg.text();
    let hit = pattern!(r"^\W*(?:please\s+)?(?:show\s+(?:me\s+)?|make\s+(?:me\s+)?)?(?:the\s+|a\s+|my\s+)?plan\s+(?:for\s+|towards?\s+|of\s+)?(?:my\s+|the\s+)?goal\s*#?(\d{1,2})?\b")?
        .captures(text)?;
    let (limits, _) = limits(text);
    let number = hit.get(1).and_then(|m| m.as_str().parse().ok());
    Some(Record::Plan { towards: PlanFor::Goal(number), limits })
}

/// A question about the last plan.
pub(super) fn more(msg: &Msg<'_>) -> Option<PlanMore> {
    let text = msg.text();
    let is = |p: Option<&'static regex::Regex>| p.is_some_and(|p| p.is_match(text));
    if is(pattern!(
        r"\bwhy\s+(?:not|can't it be|isn't it|is it not)\s+(?:any\s+)?(?:faster|sooner|quicker)\b|\bwhy\s+(?:so|that)\s+(?:long|slow)\b|\bwhat (?:holds|slows) it (?:up|down)\b"
    )) {
        return Some(PlanMore::Faster);
    }
    if is(pattern!(
        r"\b(?:show|what is|what's|how big is|tell me)\s+(?:me\s+)?(?:the\s+|my\s+)?risk\b|^\W*(?:the\s+)?risk\W*$|\bhow (?:risky|likely) is (?:it|the plan)\b"
    )) {
        return Some(PlanMore::Risk);
    }
    if is(pattern!(
        r"\b(?:show|list|what are|any)\s+(?:me\s+)?(?:the\s+|other\s+)?(?:alternatives|other ways|other plans)\b|^\W*alternatives\W*$"
    )) {
        return Some(PlanMore::Alternatives);
    }
    if is(pattern!(
        r"\bwhat\s+(?:does|will|would|is|do)\s+(?:it|this|that|the\s+(?:plan|project)|all\s+(?:that|this|of\s+it))\s+(?:all\s+)?(?:going\s+to\s+)?cost\b|\bhow\s+much\s+(?:money|(?:does|will|would)\s+(?:it|this|that|the\s+(?:plan|project))\s+cost)\b|\b(?:money|costs?)\s+(?:by|per|a|each)\s+year\b"
    )) {
        return Some(PlanMore::Money(costs(text)));
    }
    if let Some(hit) = pattern!(r"^\W*(?:show\s+(?:me\s+)?)?(?:the\s+)?(?:phase|step|pairing)\s+(\d{1,2}|one|two|three|four)(?:\s+in detail)?\W*$")?.captures(text) {
        return Some(PlanMore::Phase(number(hit.get(1)?.as_str())?.into()));
    }
    if let Some(hit) = pattern!(format!(r"^\W*(?:and\s+)?what\s+if\s+i\s+(?:only\s+)?(?:keep|hold(?:\s+back)?)\s+(?:only\s+)?{N}\s+(?:females?|girls?)\b"))?
        .captures(text)
    {
        return Some(PlanMore::Females(number(hit.get(1)?.as_str())?));
    }
    let buy = pattern!(r"^\W*(?:and\s+)?what\s+if\s+i\s+(?:buy|bought|get|got|add)\s+(?:an?\s+|another\s+)?")?;
    let from = buy.find(text)?.end();
    let priced = offers(&text[from..]);
    if !priced.is_empty() {
        return Some(PlanMore::Offers(BuySaid { money: None, offers: priced }));
    }
    Some(PlanMore::Buy(msg.flat.typed(from..text.len()).trim().trim_end_matches(['?', '.', '!']).to_owned()))
}

/// Whether a description holds an animal that can be bought.
#[must_use]
pub fn is_animal(said: &Described) -> bool {
    said.has_genes() && said.questions.is_empty()
}
