//! Looking at what is kept: "list my girls", "who carries clown", "adults over 1500 g", "show Biscuit".

use regex::Regex;

use super::Record;
use super::amounts::{self, pattern};
use super::described::Described;
use super::kinds::Status;
use super::message::{Called, Msg};
use crate::reading::dates::{Said, When};
use crate::reading::requests::SexSaid;
use crate::species::SpeciesId;

/// How an animal has the genes that a list asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Having {
    /// It shows them, as said ("clown" is visual).
    #[default]
    As,
    /// Any copy of each, sure or possible.
    Carries,
    /// One copy of each, sure or possible.
    Het,
}

/// Which animals.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filter {
    /// Of this sex.
    pub sex: SexSaid,
    /// Of this species.
    pub species: Option<SpeciesId>,
    /// With these genes.
    pub genes: Option<Described>,
    /// How it has them.
    pub having: Having,
    /// With any het.
    pub hets: bool,
    /// With a het that is not sure.
    pub possible_hets: bool,
    /// In this status; none for all that are here.
    pub status: Option<Status>,
    /// Of breeding size or age.
    pub adults: bool,
    /// At least so heavy, in grams.
    pub at_least_g: Option<i64>,
    /// At most so heavy, in grams.
    pub at_most_g: Option<i64>,
    /// Hatched then.
    pub hatched: Option<Said>,
    /// With this tag.
    pub tag: Option<String>,
    /// Gone ones too.
    pub gone_too: bool,
    /// Only how many is asked.
    pub count: bool,
    /// Words that were not understood.
    pub unread: Vec<String>,
}

impl Filter {
    /// Whether it leaves nobody out.
    #[must_use]
    pub fn is_open(&self) -> bool {
        Self { count: false, unread: Vec::new(), gone_too: false, having: Having::As, ..self.clone() }
            == Self::default()
    }
}

/// What a list is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Listed {
    /// Animals.
    #[default]
    Animals,
    /// Clutches.
    Clutches,
    /// Goals.
    Goals,
}

/// "Biscuit", "#14?": nothing but a name, that is no gene written small.
pub(super) fn bare(msg: &Msg<'_>) -> Option<Record> {
    // "Emberr": a name with a slip of the pen, and nothing else.
    if let ([word], true) = (&super::message::word_places(msg.text())[..], msg.mentions.is_empty()) {
        let near = msg.known.names.are_near(&msg.text()[word.clone()]);
        let name = msg.flat.typed(word.clone());
        let is_name = near && name.starts_with(char::is_uppercase) && !msg.reader.names_gene(name);
        return is_name.then(|| Record::Card(Called::Name(name.to_owned())));
    }
    let [only] = &msg.mentions[..] else { return None };
    let outside = |from: usize, to: usize| msg.text()[from..to].chars().any(char::is_alphanumeric);
    let alone = !outside(0, only.place.start) && !outside(only.place.end, msg.text().len());
    (alone && !only.doubtful).then(|| Record::Card(only.called.clone()))
}

/// "show Biscuit", "card #3".
pub(super) fn card(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let named = msg.animals();
    let alone = |from: usize, to: usize| {
        msg.text()[..from].chars().chain(msg.text()[to..].chars()).all(|c| !c.is_alphanumeric())
    };
    if let [only] = named[..]
        && alone(only.place.start, only.place.end)
    {
        return Some(Record::Card(only.called.clone()));
    }
    let lead = p.card.find(msg.text()).or_else(|| {
        pattern!(r"^\W*(?:please\s+)?(?:show|show me|zeig|zeig mir|muestrame)\b").and_then(|x| x.find(msg.text()))
    })?;
    let asks_list = pattern!(r"\b(?:girls|boys|females|males|hets|animals|everything|all|mine|collection|clutches)\b")
        .is_some_and(|x| x.is_match(msg.text()));
    if asks_list {
        return None;
    }
    if let Some(first) = named.first() {
        return Some(Record::Card(first.called.clone()));
    }
    // A gene or a term is explained elsewhere.
    if !p.card.is_match(msg.text()) {
        return None;
    }
    let rest = msg.flat.typed(lead.end()..msg.text().len()).trim().trim_matches(['?', '!', '.', ' ']).to_owned();
    let her = pattern!(r"^(?:her|him|she|he|it)$").is_some_and(|x| x.is_match(&rest.to_lowercase()));
    if her {
        return Some(Record::Card(msg.pronoun()?));
    }
    None
}

/// "draw Tansy's weight", "Tansy's weight over the year": her card, which has the weights.
pub(super) fn weights(msg: &Msg<'_>) -> Option<Record> {
    let weight = pattern!(r"\b(?:weights?|growth)\b")?.is_match(msg.text());
    let looked = pattern!(r"^\W*(?:please\s+|can you\s+)?(?:draw|plot|graph|chart|show)\b|\b(?:over (?:time|the (?:year|last|past))|history|curve|graph|chart|picture|development)\b")?
        .is_match(msg.text());
    let told = pattern!(r"\d\s*(?:g|kg|grams?|oz|lb)\b")?.is_match(msg.text());
    let who = match &msg.animals()[..] {
        [only] => only.called.clone(),
        [] => msg.pronoun()?,
        _ => return None,
    };
    (weight && looked && !told).then_some(Record::Card(who))
}

/// "share Biscuit's card", "share her".
pub(super) fn share(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    let lead = p.share.find(msg.text())?;
    // "share of the visuals" asks for odds.
    if msg.text()[lead.end()..].trim_start().starts_with("of ") {
        return None;
    }
    let named = msg.animals().first().map(|m| m.called.clone());
    let strange = || msg.strange_names(&[&p.share, &p.card]).into_iter().next().map(Called::Name);
    named.or_else(|| msg.pronoun()).or_else(strange).map(Record::Share)
}

/// "who was sold", "what's for sale".
pub(super) fn by_status(msg: &Msg<'_>) -> Option<Record> {
    pattern!(
        r"^\W*(?:who|what|which(?: ones?)?)(?:'?s| is| was| are| were)?\s+(?:for sale|resting|sold|growing|dead|died)\W*$"
    )?
    .is_match(msg.text())
    .then(|| Record::List(Listed::Animals, filter(msg, &[&msg.phrases.list])))
}

/// Lists and counts.
pub(super) fn list(msg: &Msg<'_>) -> Option<Record> {
    let p = msg.phrases;
    p.list.find(msg.text())?;
    let text = msg.text();
    // Odds and plans have their own words; so does what a term means.
    let other = pattern!(
        r"\b(?:odds|chance|chances|eggs|years|clutches until|to prove|square|punnett|for sale near)\b|\bwhat is a\b"
    )
    .is_some_and(|x| x.is_match(text));
    let clutches = pattern!(r"\b(?:clutches|gelege|puestas|litters)\b").is_some_and(|x| x.is_match(text));
    let goals = pattern!(r"\b(?:goals|ziele|metas)\b").is_some_and(|x| x.is_match(text));
    if clutches && !pattern!(r"\bhow many\b").is_some_and(|x| x.is_match(text)) {
        return Some(Record::List(Listed::Clutches, Filter::default()));
    }
    if goals {
        return Some(Record::List(Listed::Goals, Filter::default()));
    }
    if other {
        return None;
    }
    let how_many = pattern!(r"\bhow many\b").is_some_and(|x| x.is_match(text));
    // "how many hets do I need" is a question of odds.
    if how_many
        && !pattern!(r"\b(?:do i (?:have|own|keep)|have i|in my|i have|mine|of my|saved)\b")
            .is_some_and(|x| x.is_match(text))
    {
        return None;
    }
    let mut filter = filter(msg, &[&p.list]);
    filter.count = how_many;
    let asked = pattern!(r"\b(?:my|mine|i have|do i|i own|i keep|who|list|collection|saved|animals|snakes|geckos|girls|boys|females|males|hets|adults|weibchen|mannchen|hembras|machos|tiere|animales|everything|all|sale|resting|sold|babies|holdbacks?|tagged)\b").is_some_and(|x| x.is_match(text));
    let shows_gene = filter.genes.as_ref().is_some_and(Described::has_genes);
    // "show me the table": nothing of a collection.
    (asked || shows_gene && text.trim_start().starts_with("list")).then_some(Record::List(Listed::Animals, filter))
}

/// Which animals a message means.
pub(super) fn filter(msg: &Msg<'_>, gone: &[&Regex]) -> Filter {
    let mut flat = msg.flat.clone();
    let mut out = Filter::default();
    for said in &msg.dates {
        out.hatched = Some(said.clone());
        flat.take(said.place.clone());
    }
    let text = msg.text().to_owned();
    if let Some((said, place)) = year_class(msg).filter(|_| out.hatched.is_none()) {
        out.hatched = Some(said);
        flat.take(place);
    }
    let has = |p: Option<&'static Regex>| p.is_some_and(|p| p.is_match(&text));
    let grams = |p: Option<&'static Regex>| {
        let hit = p?.captures(&text)?;
        let unit = hit.get(2).map_or("g", |u| u.as_str());
        Some((amounts::grams(hit.get(1)?.as_str(), unit, None)?, hit.get(0)?.range()))
    };
    if let Some((g, place)) = grams(pattern!(
        r"(?:\b(?:over|above|more than|at least|heavier than|uber|mehr als|mas de|from|bigger than)|>=?)\s*(\d[\d.,]*)\s*(kgs?|kilos?|k|grams?|gr|gms?|g|lbs?|oz)?(?:\b|$)"
    )) {
        out.at_least_g = Some(g);
        flat.take(place);
    }
    if let Some((g, place)) = grams(pattern!(
        r"(?:\b(?:under|below|less than|at most|lighter than|unter|weniger als|menos de|smaller than)|<=?)\s*(\d[\d.,]*)\s*(kgs?|kilos?|k|grams?|gr|gms?|g|lbs?|oz)?(?:\b|$)"
    )) {
        out.at_most_g = Some(g);
        flat.take(place);
    }
    if let Some(hit) =
        pattern!(r#"\btagged\s+(?:as\s+|with\s+)?"?([^"?\n]{1,40}?)"?\s*\??$"#).and_then(|p| flat.pull(p))
    {
        out.tag = hit.into_iter().nth(1).flatten();
    }
    out.adults = has(pattern!(r"\b(?:adults?|breeders?|breeding size|erwachsene|adult[ao]s)\b"));
    out.gone_too = has(pattern!(r"\b(?:ever|including sold|gone too|all time)\b"));
    let p = msg.phrases;
    out.status = if has(pattern!(r"\bnot\s+(?:for sale|sold)\b")) {
        None
    } else if p.for_sale.is_match(&text) || has(pattern!(r"\bfor sale\b")) {
        Some(Status::ForSale)
    } else if p.sold.is_match(&text) {
        Some(Status::Sold)
    } else if p.died.is_match(&text) || has(pattern!(r"\b(?:dead|deceased)\b")) {
        Some(Status::Died)
    } else if has(pattern!(r"\bresting\b")) {
        Some(Status::Resting)
    } else if has(pattern!(r"\b(?:growing|babies|hatchlings|holdbacks?|juveniles?|subadults?)\b")) {
        Some(Status::Growing)
    } else {
        None
    };
    out.possible_hets = has(pattern!(
        r"\bhets?\s+(?:that are\s+|who are\s+)?not\s+proven|\b(?:unproven|possible|poss|pos|potential|ph)\s+hets?\b|\bpossible hets\b|\bnot proven\b"
    ));
    out.hets = out.possible_hets || has(pattern!(r"\bhets\b"));
    out.having = if has(pattern!(r"\b(?:carr(?:y|ies|ying)|with|in it|has|have|having|tragt|lleva|gene|genes)\b"))
        && !has(pattern!(r"\bvisual"))
    {
        Having::Carries
    } else if has(pattern!(r"\bhets?\b")) {
        Having::Het
    } else {
        Having::As
    };
    for word in gone {
        while let Some(place) = flat.find(word).and_then(|c| c.get(0)).map(|m| m.range()).filter(|r| !r.is_empty()) {
            flat.take(place);
        }
    }
    for word in [pattern!(
        r"\b(?:who|which|carr(?:y|ies|ying)|with|in it|has|have|having|do i|i have|of mine|of my|mine|my|me|all|the|that are|are|is|am|animals?|snakes?|geckos?|adults?|breeders?|collection|for sale|sold|resting|growing|not proven|unproven|everything|saved|again|do|i|own|keep|how many|what|list|show|in|rack|please|tagged|weigh(?:s|ing)?|size|age|now|and|or|babies|hatchlings|holdbacks?|meine|tiere|mis|animales|hatched|born|from)\b"
    )] {
        while word.and_then(|w| flat.pull(w)).is_some() {}
    }
    let rest = flat.left();
    let described = msg.reader.describe(msg.catalogue, &rest, None);
    out.species = species_named(msg, &rest);
    let described = if described.species.is_some() {
        described
    } else {
        msg.reader.describe(msg.catalogue, &rest, msg.known.species)
    };
    out.sex = described.animal.sex;
    if described.animal.sex == SexSaid::Unknown && out.species.is_none() {
        out.sex = plural_sex(&text);
    }
    out.unread.clone_from(&described.unread);
    if described.has_genes() {
        out.genes = Some(described);
    } else {
        // "het girls": hets of anything.
        out.hets |= out.having == Having::Het;
    }
    out
}

/// "the 22 het girls": those of one year, as the trade says it.
fn year_class(msg: &Msg<'_>) -> Option<(Said, std::ops::Range<usize>)> {
    let hit = pattern!(
        r"(?:^|\s)'?(\d\d)'?s?\s+(?:[a-z]+\s+){0,3}(?:girls|boys|females|males|babies|hatchlings|holdbacks?|hets)\b"
    )?
    .captures(msg.text())?;
    let place = hit.get(1)?.range();
    let year = 2000 + hit[1].parse::<i16>().ok()?;
    (year <= msg.known.today.year()).then(|| (Said { place: place.clone(), meanings: vec![When::Year(year)] }, place))
}

/// A group by itself: "girls hatched 2022", "the '22 het girls".
pub(super) fn group(msg: &Msg<'_>) -> Option<Record> {
    let alone = pattern!(
        r"^\W*(?:the\s+|all\s+|my\s+)*(?:(?:girls|boys|females|males)\s+(?:hatched|born|from)\s+(?:in\s+|of\s+)?'?\d{2,4}|'?\d\d\s+(?:het\s+)?(?:girls|boys|females|males|hets))\W*$"
    )?;
    alone.is_match(msg.text()).then(|| Record::List(Listed::Animals, filter(msg, &[&msg.phrases.list])))
}

fn plural_sex(text: &str) -> SexSaid {
    if pattern!(r"\b(?:girls|females|weibchen|hembras|ladies)\b").is_some_and(|p| p.is_match(text)) {
        SexSaid::Female
    } else if pattern!(r"\b(?:boys|males|mannchen|machos)\b").is_some_and(|p| p.is_match(text)) {
        SexSaid::Male
    } else {
        SexSaid::Unknown
    }
}

pub(super) fn species_named(msg: &Msg<'_>, text: &str) -> Option<SpeciesId> {
    let words: Vec<&str> = text.split_whitespace().map(|w| w.trim_matches(|c: char| !c.is_alphanumeric())).collect();
    for len in (1..=3).rev() {
        for window in words.windows(len) {
            let name = window.join(" ");
            let found = msg.catalogue.by_name(&name).or_else(|| msg.catalogue.by_name(name.strip_suffix('s')?));
            if found.is_some() {
                return found;
            }
        }
    }
    None
}
