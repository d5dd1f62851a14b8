//! Questions about the coming season. An example a line:
//!   "what should I pair next", "what should Rusty be paired with"    the pairings that do most for the goals
//!   "only two clutches this year", "skip Nala", "without the 66s"    the same within limits
//!   "for the pied goal only", "allow relatives"
//!   "why not Duke x Olive?", "why is Nala resting?"                  what speaks against it
//!   "who rests"                                                      who is not paired
//!   "do it"                                                          the pairings are recorded
//!   "which young should I keep", "who is no longer needed"           whom to hold back, whom to let go
//!   "is it worth keeping the 66s", "a tub is 40 a year"              proving or buying, by what the keeper says it costs
//!   "what should I buy", "what should I buy for 800"                 what saves most
//!   "what should I buy: a clown female 400, a het pied male 150"     the same by the keeper's prices
//! What limits or explains goes on from the last answer; without one it is about something else.

use super::amounts::pattern;
use super::goals::{N, number};
use super::message::{Called, Msg};
use super::money::{self, BuySaid, CostSaid};
use crate::reading::requests::SexSaid;

/// A limit is short: longer talk that holds such a word is about something else.
const MOST_WORDS: usize = 12;

/// Which goals a season is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum For {
    /// That of a number in the list.
    Number(usize),
    /// That which these words fit.
    Words(String),
    /// All of them.
    All,
}

/// Within what the season's pairings are looked for, as said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SeasonSaid {
    /// The most clutches.
    pub clutches: Option<u16>,
    /// Animals that are left out.
    pub skip: Vec<Called>,
    /// Only pairings of these are asked for.
    pub only: Vec<Called>,
    /// Possible hets are left out.
    pub certain: Option<bool>,
    /// For which goals.
    pub goal: Option<For>,
    /// Relatives of any degree may be paired.
    pub relatives: Option<bool>,
    /// The room is in the southern half of the world.
    pub south: Option<bool>,
}

/// What is asked about a season.
#[derive(Debug, Clone, PartialEq)]
pub enum SeasonAsked {
    /// The pairings of the season.
    Next(SeasonSaid),
    /// The same within more limits.
    Limit(SeasonSaid),
    /// What speaks against a pairing, or why an animal is not paired.
    WhyNot(Called, Option<Called>),
    /// Who rests and who is not needed.
    WhoRests,
    /// The pairings are recorded.
    Do,
    /// Whom to hold back, and who is not needed.
    Keep,
    /// Whether possible hets are worth keeping, at these costs.
    Worth(CostSaid),
    /// What to buy, at these prices and for so much money.
    Buy(BuySaid),
}

/// Whether a message may ask what to buy at which price: only then it is worth reading as such.
#[must_use]
pub fn asks_to_buy(said: &str) -> bool {
    said.to_lowercase().contains("buy") && said.contains(|c: char| c.is_ascii_digit())
}

/// Reads what stands by itself.
pub(super) fn asked(msg: &Msg<'_>) -> Option<SeasonAsked> {
    let text = msg.text();
    let is = |p: Option<&'static regex::Regex>| p.is_some_and(|p| p.is_match(text));
    if is(pattern!(
        r"\b(?:worth|should\s+i|do\s+i)\b.{0,20}\b(?:keep(?:ing)?|rais(?:e|ing)|hold(?:ing)?)\b.{0,24}(?:\b\d{2}\s*%?\s*(?:poss(?:ible)?\s+)?(?:s|hets?)\b|\bposs(?:ible)?\s+hets?\b|\bpossibles\b)"
    )) {
        return Some(SeasonAsked::Worth(money::costs(text)));
    }
    if let Some(hit) = pattern!(
        r"^\W*(?:and\s+|so\s+)?(?:what|who|which\s+(?:animals?|snakes?))\s+(?:else\s+)?(?:should|could|can|do)\s+i\s+(?:have\s+to\s+|need\s+to\s+)?buy(?:\s+(?:next|first|now|this\s+(?:season|year)))?(?:\s+(?:for|with)\s+(?:[€$£]\s*)?(\d[\d,.]*)\s*(?:[€$£]|euros?|eur|usd|gbp|dollars?|pounds)?)?\W*$"
    )?
    .captures(text)
    {
        let digits = |m: regex::Match<'_>| m.as_str().chars().filter(char::is_ascii_digit).collect::<String>();
        let money = hit.get(1).and_then(|m| digits(m).parse::<i64>().ok()?.checked_mul(100));
        return Some(SeasonAsked::Buy(BuySaid { money, offers: Vec::new() }));
    }
    if is(pattern!(r"^\W*(?:and\s+|so\s+|but\s+)?(?:what|which|should|shall|is|what's)\b.{0,60}\b(?:buy|purchase)\b")) {
        let at = pattern!(r"\b(?:buy|purchase)\b").and_then(|p| p.find(text)).map_or(0, |m| m.end());
        let (money, from) = spent(&text[at..]);
        let offers = money::offers(&text[at + from..]);
        if !offers.is_empty() {
            return Some(SeasonAsked::Buy(BuySaid { money, offers }));
        }
    }
    let named = !msg.animals().is_empty();
    if !named
        && is(pattern!(
            r"\b(?:which|what|who|whom|how\s+many)\b.{0,40}\b(?:hold(?:ing)?\s*back|keep(?:ing)?\s+back|holdbacks?)\b|\b(?:which|what|who)\b.{0,30}\b(?:should|shall|do|would|must)\s+i\s+keep\b|\b(?:which|what)\s+(?:ones?\s+|babies\s+|young\s+|hatchlings?\s+)?to\s+keep\b|\b(?:which|what|who)\b.{0,40}\b(?:no\s+longer|not)\s+needed\b|\bdo\s+i\s+no\s+longer\s+need\b|\b(?:who|what|which)\b.{0,20}\bcan\s+(?:i\s+)?(?:sell|let\s+go|go)\b"
        ))
        // A project that is told has its own answer.
        && !is(pattern!(r"\b(?:project|after|goal is|if i(?:'m| am| want))\b"))
    {
        return Some(SeasonAsked::Keep);
    }
    None
}

/// The pairings of the season, where a message was read as asking for them.
pub(super) fn next(msg: &Msg<'_>) -> Option<SeasonAsked> {
    // When to pair is asked, and not whom.
    if pattern!(r"^\W*(?:when|(?:which|what)\s+months?|wann|cuando)\b")?.is_match(msg.text()) {
        return None;
    }
    let mut said = limits(msg);
    if said.skip.is_empty() {
        said.only = msg.animals().into_iter().map(|m| m.called.clone()).collect();
        if said.only.is_empty() {
            said.only.extend(stranger(msg));
        }
        if said.only.is_empty() {
            // "can she go", "who suits him".
            said.only.extend(msg.pronoun().filter(|p| !matches!(p, Called::Pronoun(SexSaid::Unknown))));
        }
    }
    Some(SeasonAsked::Next(said))
}

/// "what should Nessie be paired with": a name that nobody here has, so that it is said and not passed over.
fn stranger(msg: &Msg<'_>) -> Option<Called> {
    let asked = pattern!(
        r"\b(?:should|can|could|shall|would)\s+(?:i\s+(?:pair|put|breed)\s+)?([\p{L}'-]{2,30})\s+(?:be\s+(?:paired|put|bred)|go\s+(?:with|to)|with|to)\b|\b(?:suits?|(?:mate|male|female|partner)\s+for)\s+([\p{L}'-]{2,30})\W*$"
    )?;
    let hit = asked.captures(msg.text())?;
    let place = hit.get(1).or(hit.get(2))?.range();
    let name = msg.flat.typed(place);
    let is_name = name.starts_with(char::is_uppercase) && !msg.reader.names_gene(name) && name != "I";
    is_name.then(|| Called::Name(name.to_owned()))
}

/// What goes on from the last answer about a season.
pub(super) fn more(msg: &Msg<'_>) -> Option<SeasonAsked> {
    let text = msg.text();
    let is = |p: Option<&'static regex::Regex>| p.is_some_and(|p| p.is_match(text));
    if is(pattern!(
        r"^\W*(?:(?:yes|yep|ok|okay|great|perfect|please|then|now|and)\b[\s,]*)*(?:do\s+(?:it|that|them|this|those|all\s+of\s+(?:it|them))|go\s+ahead|let'?s\s+do\s+(?:it|that|this)|make\s+it\s+so|(?:record|save|log)\s+(?:it|them|those|these|(?:the|these|those)\s+(?:pairings?|pairs|introductions?))|mach\s+das|hazlo)(?:\s+(?:please|then|now))?\W*$"
    )) {
        return Some(SeasonAsked::Do);
    }
    if msg.animals().is_empty()
        && is(pattern!(
            r"^\W*(?:and\s+|so\s+)?(?:who|which\s+(?:ones?|females?|males?|girls?|boys?))\s+(?:is\s+|are\s+|else\s+)?(?:rests?|resting|left(?:\s+out)?|unused|not\s+(?:used|paired|needed))\b|^\W*(?:and\s+)?what\s+about\s+the\s+(?:rest|others?)\b"
        ))
    {
        return Some(SeasonAsked::WhoRests);
    }
    let animals = msg.pair();
    let why = is(pattern!(
        r"^\W*(?:and\s+|so\s+|but\s+)?(?:why|how\s+come|warum|wieso|por\s+que)\b|^\W*(?:and\s+|but\s+)?(?:what|how)\s+about\b"
    ));
    if why && let Some(first) = animals.first() {
        return Some(SeasonAsked::WhyNot(first.called.clone(), animals.get(1).map(|m| m.called.clone())));
    }
    if msg.animals().is_empty() && money::is_all_offers(msg.reader, msg.catalogue, text) {
        return Some(SeasonAsked::Buy(BuySaid { money: None, offers: money::offers(text) }));
    }
    let costs = money::costs(text);
    let of_keeping =
        is(pattern!(r"\b(?:costs?|tubs?|racks?|food|feed(?:ing)?|keeping|keep|mice|rats|heat(?:ing)?|power)\b"));
    if costs.year.is_some() && of_keeping && text.split_whitespace().count() <= 2 * MOST_WORDS {
        return Some(SeasonAsked::Worth(costs));
    }
    let said = limits(msg);
    let short = text.split_whitespace().count() <= MOST_WORDS;
    (short && said != SeasonSaid::default()).then_some(SeasonAsked::Limit(said))
}

/// "for 800:" behind "what should I buy": the money, and where the rest begins.
fn spent(text: &str) -> (Option<i64>, usize) {
    let lead = pattern!(
        r"^\s*(?:next|first|now|this\s+(?:season|year))?\s*(?:for|with)\s+(?:[€$£]\s*)?(\d[\d,.]*)\s*(?:[€$£]|euros?|eur|usd|gbp|dollars?|pounds)?\s*(?:[,:;?.]|if\b|when\b)"
    );
    let Some(hit) = lead.and_then(|p| p.captures(text)) else { return (None, 0) };
    let money = hit.get(1).and_then(|m| super::amounts::cents(m.as_str()));
    (money, hit.get(0).map_or(0, |m| m.end()))
}

/// What limits the season, as said.
fn limits(msg: &Msg<'_>) -> SeasonSaid {
    let text = msg.text();
    let is = |p: Option<&'static regex::Regex>| p.is_some_and(|p| p.is_match(text));
    let mut said = SeasonSaid::default();
    let clutches = [
        pattern!(format!(
            r"\b(?:only|just|at\s+most|max(?:imum)?(?:\s+of)?|no\s+more\s+than|up\s+to|(?:room|space)\s+for(?:\s+only)?|limit(?:ed)?\s+(?:it\s+)?to|nur|solo)\s+{N}\s+(?:clutch(?:es)?|litters?|pairings?|pairs|females|girls|gelege|puestas)\b"
        )),
        pattern!(format!(
            r"\b{N}\s+(?:clutch(?:es)?|litters?|pairings?|pairs)\s+(?:only|at\s+most|max(?:imum)?|this\s+(?:year|season))\b"
        )),
    ];
    let hit = clutches.into_iter().flatten().find_map(|p| p.captures(text));
    said.clutches = hit.and_then(|hit| number(hit.get(1)?.as_str()));
    if is(pattern!(
        r"\b(?:without|no|not|leave\s+out|skip|drop)\s+(?:the\s+|my\s+|any\s+)?(?:\d{2}\s*%?\s*s\b|\d{2}\s*%?\s*(?:poss(?:ible)?\s+)?hets?\b|poss(?:ible)?\s+hets?\b|possibles\b|66s\b|50s\b)"
    )) {
        said.certain = Some(true);
    } else if is(pattern!(
        r"\bwith\s+(?:the\s+|my\s+)?(?:66s|50s|\d{2}\s*%?\s*hets?|poss(?:ible)?\s+hets?|possibles)\b"
    )) {
        said.certain = Some(false);
    }
    if is(pattern!(
        r"\b(?:allow|include)\s+(?:close\s+)?(?:relatives|siblings|related|inbreeding|line\s*breeding)\b|\b(?:relatives|siblings|line\s*breeding|inbreeding)\s+(?:are|is)\s+(?:fine|ok|okay|allowed)\b"
    )) {
        said.relatives = Some(true);
    } else if is(pattern!(r"\b(?:no|without|not)\s+(?:close\s+)?(?:relatives|siblings|inbreeding|related\s+pairs)\b")) {
        said.relatives = Some(false);
    }
    if is(pattern!(r"\bsouthern\s+(?:hemisphere|half)\b|\bdown\s+under\b|\bsouth\s+of\s+the\s+equator\b")) {
        said.south = Some(true);
    } else if is(pattern!(r"\bnorthern\s+(?:hemisphere|half)\b")) {
        said.south = Some(false);
    }
    said.goal = goal(text);
    if let Some(at) = pattern!(r"\b(?:skip|without|leave(?:\s+out)?|rest|except|but\s+not|not|exclude|drop|ohne|sin)\b")
        .and_then(|p| p.find(text))
    {
        let after = msg.animals().into_iter().filter(|m| m.place.start >= at.end());
        said.skip = after.map(|m| m.called.clone()).collect();
        let pronoun = pattern!(r"^(?:skip|rest|leave(?:\s+out)?)\s+(?:her|him)\b").is_some_and(|p| p.is_match(text));
        if said.skip.is_empty() && pronoun {
            said.skip.extend(msg.pronoun());
        }
        let alone =
            pattern!(r"^\W*(?:skip|leave\s+out|rest|ohne)\s+([\p{L}'-]{2,30})\W*$").and_then(|p| p.captures(text));
        if said.skip.is_empty()
            && let Some(name) = alone.and_then(|hit| hit.get(1)).map(|m| msg.flat.typed(m.range()))
            && name.starts_with(char::is_uppercase)
            && !msg.reader.names_gene(name)
        {
            said.skip.push(Called::Name(name.to_owned()));
        }
    }
    said
}

fn goal(text: &str) -> Option<For> {
    if pattern!(r"\b(?:for\s+)?all\s+(?:of\s+)?(?:my\s+|the\s+)?goals\b")?.is_match(text) {
        return Some(For::All);
    }
    if let Some(hit) = pattern!(r"\bgoal\s*#?(\d{1,2})\b")?.captures(text) {
        return Some(For::Number(hit.get(1)?.as_str().parse().ok()?));
    }
    let named =
        pattern!(r"\bfor\s+(?:only\s+|just\s+)?(?:the\s+|my\s+)?([\p{L}\p{N}'% ]{2,40}?)\s+(?:goal|project)s?\b")?;
    let words = named.captures(text)?.get(1)?.as_str().trim().to_owned();
    Some(For::Words(words))
}
