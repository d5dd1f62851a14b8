//! Questions about who of the keeper's animals carries what, and who is related to whom. An example a line:
//!   "how sure is Nova het pied now"             what everything that hatched says of her
//!   "draw Nova's odds over time"                the same from clutch to clutch
//!   "how many more eggs to be 95 % sure"        what settles it
//!   "who should I prove out first"              whose clutch would tell the most
//!   "what if the next clutch is all normal"     before and after, nothing is saved
//!   "how related are Duke and Juniper"          in words, with the coefficient
//!   "is Otto a male maker"                      on which sex chromosome his copy sits
//!   "sale card for Nova"                        what is sure, possible, proven, and why
//! A message without a name of the collection is about the animal last spoken of; one that tells of an animal itself
//! ("a 66 % het to a visual") is read elsewhere.

use super::amounts::pattern;
use super::described::Described;
use super::message::{Called, Msg};
use crate::engine::odds::{Odds, odds};
use crate::reading::flat::Flat;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// The chance of an animal's hets, all or these.
    HowSure {
        /// Whose.
        who: Called,
        /// Of which genes; none are all that are open.
        genes: Described,
    },
    /// How the chance of an animal's hets moved as clutches came in.
    OverTime {
        /// Whose.
        who: Called,
        /// Of which genes; none are all that are open.
        genes: Described,
    },
    /// How many young settle it.
    ToBeSure {
        /// Whose.
        who: Called,
        /// Of which genes; none are all that are open.
        genes: Described,
        /// How sure, if it was said.
        level: Option<Odds>,
    },
    /// Who is to be proven first.
    WhoFirst,
    /// What a clutch without a visual would say.
    AllNormal {
        /// Whose clutch: one parent or both; nobody is the animal last spoken of.
        parents: Vec<Called>,
        /// How many young, if it was said.
        young: Option<u32>,
    },
    /// How two animals are related; one alone is asked about with everybody here.
    Related {
        /// One.
        one: Called,
        /// The other.
        other: Option<Called>,
    },
    /// Who its ancestors and its young are.
    Family {
        /// Whose.
        who: Called,
    },
    /// On which sex chromosome a male has his copy.
    Maker {
        /// Whose.
        who: Called,
    },
    /// What may be promised of an animal.
    SaleCard {
        /// Which.
        who: Called,
    },
}

impl Asked {
    /// Whether an animal is called by a name or code; without one it is about the animal last spoken of.
    #[must_use]
    pub fn is_named(&self) -> bool {
        let named = |c: &Called| matches!(c, Called::Name(_) | Called::Number(_));
        match self {
            Self::HowSure { who, .. }
            | Self::OverTime { who, .. }
            | Self::ToBeSure { who, .. }
            | Self::Maker { who }
            | Self::Family { who }
            | Self::SaleCard { who } => named(who),
            Self::AllNormal { parents, .. } => parents.iter().any(named),
            Self::Related { one, .. } => named(one),
            Self::WhoFirst => true,
        }
    }
}

/// Reads a question of this kind.
pub(super) fn asked(msg: &Msg<'_>) -> Option<Asked> {
    let (text, after) = marked(msg);
    let about_another = msg.animals().is_empty()
        && pattern!(r"\d\s?%?\s*(?:poss(?:ible)?\s+)?hets?\b|\bvisual\b|\bbred to\b")
            .is_some_and(|p| p.is_match(&text));
    if about_another {
        return None;
    }
    if pattern!(r"\b(?:sales? (?:card|sheet|listing|ad)|for sale card|listing for|verkaufskarte|ficha de venta)\b")?
        .is_match(&text)
    {
        return Some(Asked::SaleCard { who: who(msg) });
    }
    if pattern!(
        r"\b(?:family tree|pedigree|ancestors|ancestry|descendants|bloodline of|family of|stammbaum|arbol genealogico)\b|@'?s?\s+family\b"
    )?
    .is_match(&text)
        && (!msg.animals().is_empty() || msg.pronoun().is_some())
    {
        return Some(Asked::Family { who: who(msg) });
    }
    let maker =
        pattern!(r"^\W*(?:and\s+|so\s+)?(?:is|how|which|what|could|does|do)\b.*@.*\bmaker\b|\bwhich\s+maker\b.*@")?;
    if maker.is_match(&text) {
        return Some(Asked::Maker { who: who(msg) });
    }
    if let Some(related) = related(msg, &text) {
        return Some(related);
    }
    if pattern!(
        r"\b(?:who|which|whom|what)\b.{0,40}\b(?:prove|proving|test ?breed|test)\b.{0,20}\b(?:first|next|out)\b"
    )?
    .is_match(&text)
        && msg.animals().is_empty()
    {
        return Some(Asked::WhoFirst);
    }
    if pattern!(r"\b(?:what if|suppose|if)\b.{0,60}\b(?:next|coming|more|her|his|their|@'?s?)\b.{0,40}\b(?:all|only|nothing but|just)\b.{0,12}\bnormals?\b|\b(?:what if|suppose|if)\b.{0,60}\bnext\b.{0,40}\bno (?:visuals?|hits?)\b")?
        .is_match(&text)
    {
        let young = pattern!(r"\b(?:next|of|coming)\s+(\d{1,2})\b|\b(\d{1,2})\s+(?:more\s+)?(?:eggs|young|babies|normals)\b")?
            .captures(&text)
            .and_then(|c| c.get(1).or(c.get(2))?.as_str().parse().ok());
        let named = msg.animals().into_iter().map(|m| m.called.clone());
        let parents: Vec<Called> = named.chain(strangers(msg)).take(2).collect();
        let parents = if parents.is_empty() { msg.pronoun().into_iter().collect() } else { parents };
        return Some(Asked::AllNormal { parents, young });
    }
    if over_time(&text) {
        return Some(Asked::OverTime { who: who(msg), genes: genes(msg, after) });
    }
    if pattern!(r"\bhow (?:many|much)\b.{0,30}\b(?:eggs?|clutches|young|babies|normals|hatchlings|more)\b.{0,60}\b(?:sure|certain|certainty|prove|proven|proves|rule|know)\b")?
        .is_match(&text)
    {
        return Some(Asked::ToBeSure { who: who(msg), genes: genes(msg, after), level: level(&text) });
    }
    let sure = pattern!(
        r"\bhow (?:sure|likely|certain)\b.*@|\b(?:chances?|odds|probability)\s+(?:that\s+|of\s+|are\s+)*@(?:'s)?\s+(?:is|being|to be|carries|carrying|still|really|has|het)\b|^\W*(?:and\s+|so\s+)?(?:is|does|could|can)\s+@\s+(?:be\s+|still\s+|really\s+|actually\s+|carry\s+|proven\b|(?:a\s+)?het\b)"
    )?;
    sure.is_match(&text).then(|| Asked::HowSure { who: who(msg), genes: genes(msg, after) })
}

/// "draw Nova's odds over time", "how did Nova's chance of clown move", "Nova's chances, clutch by clutch".
fn over_time(text: &str) -> bool {
    let of = pattern!(
        r"@.*\b(?:odds|chances?|beliefs?|probability|percent(?:age)?|hets?)\b|\b(?:odds|chances?|beliefs?|probability|percent(?:age)?)\b.*@"
    );
    let moved = pattern!(
        r"\b(?:over (?:time|the (?:years|seasons))|mov(?:e|ed|es|ing)|chang(?:e|ed|es|ing)|went|gone|fell|fallen|dropped|rose|risen|develop(?:ed|s)?|history|(?:clutch|year|season) (?:by|for|after) (?:clutch|year|season)|with (?:each|every) clutch|as (?:the |her |his |its )?clutches)\b"
    );
    let drawn = pattern!(r"^\W*(?:please\s+|can you\s+|could you\s+)?(?:draw|plot|graph|chart)\b");
    let asks = pattern!(
        r"^\W*(?:and\s+|so\s+|please\s+|can you\s+|could you\s+)*(?:draw|plot|graph|chart|show|see|how|what|where|picture|@)"
    );
    let supposed = pattern!(r"\b(?:if|would|suppose|put|change .* to|set)\b|\bx\b|×");
    let is = |p: Option<&regex::Regex>| p.is_some_and(|p| p.is_match(text));
    is(of) && is(asks) && (is(moved) || is(drawn)) && !is(supposed)
}

/// "how related are Duke and Juniper", "are Duke and Juno siblings", "who is Nova related to".
fn related(msg: &Msg<'_>, text: &str) -> Option<Asked> {
    let asks = pattern!(
        r"\bhow\b.{0,30}\brelated\b|\brelated\b.{0,30}\bhow\b|\b(?:relationship|relation|kinship) (?:between|of)\b|\b(?:inbreeding|coi|coefficient)\b.{0,30}@|\bare\s+@\s+(?:and|&|x)\s+@\s+(?:related|siblings|sibs|half|family|cousins)\b|\b(?:is|who)\b.{0,20}@\s+related\b|\bwho is related to\b|\bverwandt\b|\bemparentad"
    )?;
    if !asks.is_match(text) {
        return None;
    }
    let pair: Vec<Called> = msg.pair().into_iter().map(|m| m.called.clone()).chain(strangers(msg)).collect();
    let one = pair.first().cloned().or_else(|| msg.pronoun())?;
    let other = pair.get(1).cloned().or_else(|| msg.pronoun().filter(|p| *p != one));
    Some(Asked::Related { one, other })
}

/// The animal called by name, or by a pronoun, or by a name nobody here has, or the one last spoken of.
fn who(msg: &Msg<'_>) -> Called {
    let named = msg.animals().first().map(|m| m.called.clone());
    named.or_else(|| msg.pronoun()).or_else(|| strangers(msg).into_iter().next()).unwrap_or(Called::Last)
}

/// Words written as names are, of animals that nobody here has.
fn strangers(msg: &Msg<'_>) -> Vec<Called> {
    let start = msg.text().len() - msg.text().trim_start_matches(|c: char| !c.is_alphanumeric()).len();
    let first = msg.flat.typed(start..msg.text().len()).split_whitespace().next().unwrap_or_default();
    let here = |name: &str| {
        let name = Flat::new(name).text().to_owned();
        msg.mentions
            .iter()
            .any(|m| msg.text()[m.place.clone()].contains(&name) || name.contains(&msg.text()[m.place.clone()]))
    };
    let is_name = |name: &String| {
        name.starts_with(char::is_uppercase)
            && !first.starts_with(name.as_str())
            && !msg.reader.names_gene(name)
            && !here(name)
    };
    msg.strange_names(&[]).into_iter().filter(is_name).map(Called::Name).collect()
}

/// The text with `@` for every animal, and where in the message the words behind the first of them begin.
fn marked(msg: &Msg<'_>) -> (String, usize) {
    let whole = msg.text();
    let mut text = String::new();
    let mut at = 0;
    let animals = msg.animals();
    for mention in &animals {
        text.push_str(whole.get(at..mention.place.start).unwrap_or_default());
        text.push('@');
        at = mention.place.end;
    }
    text.push_str(whole.get(at..).unwrap_or_default());
    if let Some(first) = animals.first() {
        return (text, first.place.end);
    }
    let pronoun = pattern!(r"\b(?:she|he|her|him|it)\b").and_then(|p| p.find(&text)).map(|m| m.range());
    let stranger = || match strangers(msg).into_iter().next()? {
        Called::Name(name) => {
            let name = Flat::new(&name).text().to_owned();
            let at = text.find(&name)?;
            Some(at..at + name.len())
        }
        _ => None,
    };
    match pronoun.or_else(stranger) {
        Some(place) => {
            text.replace_range(place.clone(), "@");
            (text, place.end)
        }
        None => (text, 0),
    }
}

/// The genes that are named: those behind the animal, else any before it.
fn genes(msg: &Msg<'_>, after: usize) -> Described {
    let read = |text: &str| {
        // "sure", "now" and their like are no genes; a share is a level here.
        let words = pattern!(r"(?i)\b\d{1,3}(?:\.\d+)?\s*(?:%|percent)|\b(?:sure|certain|certainty|now|right|eggs?|clutch(?:es)?|young|prove[ns]?|proven|odds|chances?|over time|moved?|changed?|draw|show|history)\b")
            .map_or_else(|| text.to_owned(), |p| p.replace_all(text, " ").into_owned());
        msg.reader.describe(msg.catalogue, &words, msg.known.species)
    };
    let behind = read(msg.flat.typed(after..msg.text().len()));
    if behind.has_genes() || after == 0 {
        return behind;
    }
    let first = msg.animals().first().map_or(0, |m| m.place.start);
    read(msg.flat.typed(0..first))
}

/// "95 % sure": within 50 and 100, both excluded.
fn level(text: &str) -> Option<Odds> {
    let hit = pattern!(r"\b(\d{1,2})(?:\.(\d{1,2}))?\s*(?:%|percent|prozent)")?.captures(text)?;
    let whole: i64 = hit[1].parse().ok()?;
    let (part, over) = match hit.get(2) {
        Some(p) => (p.as_str().parse::<i64>().ok()?, 10_i64.pow(u32::try_from(p.as_str().len()).ok()?)),
        None => (0, 1),
    };
    let level = odds(whole * over + part, 100 * over);
    (level > odds(1, 2) && level < odds(1, 1)).then_some(level)
}
