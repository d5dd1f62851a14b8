//! What requests share: numbers, loci, genotypes, sexes and clutches, read from JSON and checked once.

use std::collections::HashMap;
use std::fmt::Display;

use serde::{Serialize, Serializer};
use serde_json::{Map, Number, Value};
use thiserror::Error;

use crate::engine::inheritance::clutch::{ClutchSize, Figure, Wanted};
use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
use crate::engine::inheritance::locus::{
    AlleleId, Genetics, GeneticsError, GenotypeError, Locus, LocusId, Look, Mode, Sex, SexLink, SexSystem,
};
use crate::engine::odds::{self, Odds, half, none, sure};

/// The most loci of one request, so that an answer stays a line that can be read.
const MOST_LOCI: usize = 256;
/// Numbers longer than this are not repeated in full in an error.
const MOST_SHOWN: usize = 60;

/// What makes no sense in a request, and where.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{at}: {what}")]
pub(super) struct Senseless {
    at: String,
    what: String,
}

impl Senseless {
    pub(super) fn new(at: impl Into<String>, what: impl Display) -> Senseless {
        Senseless { at: at.into(), what: what.to_string() }
    }
}

/// One line of JSON.
pub(super) fn to_line(answer: &impl Serialize) -> String {
    // Answers are maps with text keys and numbers that JSON has, so this cannot fail; if it ever did, the reader of
    // the lines is still owed one.
    serde_json::to_string(answer)
        .unwrap_or_else(|_| r#"{"id":null,"error":"the answer: cannot be written"}"#.to_owned())
}

/// A field that is there and not null.
pub(super) fn field<'a>(request: &'a Map<String, Value>, name: &str) -> Option<&'a Value> {
    request.get(name).filter(|value| !value.is_null())
}

/// A field that has to be there.
pub(super) fn needed<'a>(request: &'a Map<String, Value>, name: &str) -> Result<&'a Value, Senseless> {
    field(request, name).ok_or_else(|| Senseless::new(name, "missing"))
}

pub(super) fn object<'a>(value: &'a Value, at: &str) -> Result<&'a Map<String, Value>, Senseless> {
    value.as_object().ok_or_else(|| Senseless::new(at, "a JSON object is needed"))
}

pub(super) fn list<'a>(value: &'a Value, at: &str) -> Result<&'a [Value], Senseless> {
    value.as_array().map(Vec::as_slice).ok_or_else(|| Senseless::new(at, "a JSON array is needed"))
}

pub(super) fn text<'a>(value: &'a Value, at: &str) -> Result<&'a str, Senseless> {
    value.as_str().ok_or_else(|| Senseless::new(at, "a text is needed"))
}

/// A number, exact: a fraction text, a decimal text, or a JSON number taken as decimal text.
pub(super) fn number(value: &Value, at: &str) -> Result<Odds, Senseless> {
    let written = match value {
        Value::String(text) => text.clone(),
        Value::Number(number) => number.to_string(),
        _ => {
            return Err(Senseless::new(at, "a number is needed, like \"2/3\", \"0.9\" or 0.9"));
        }
    };
    odds::parse(&written).ok_or_else(|| {
        let shown: String = written.chars().take(MOST_SHOWN).collect();
        Senseless::new(at, format!("{shown:?} is not a number like \"2/3\", \"0.9\" or 0.9"))
    })
}

/// A number within 0 and 1.
pub(super) fn chance(value: &Value, at: &str) -> Result<Odds, Senseless> {
    let chance = number(value, at)?;
    if chance < none() || chance > sure() {
        return Err(Senseless::new(at, "a chance lies within 0 and 1"));
    }
    Ok(chance)
}

/// A whole number from 0 on.
pub(super) fn whole(value: &Value, at: &str) -> Result<u64, Senseless> {
    let number = number(value, at)?;
    let whole = number.is_integer().then(|| u64::try_from(number.to_integer()).ok()).flatten();
    whole.ok_or_else(|| Senseless::new(at, "a whole number from 0 on is needed"))
}

/// `"XY"`, `"ZW"` or `{"male":share}`.
pub(super) fn sexes(value: &Value) -> Result<SexSystem, Senseless> {
    match value {
        Value::String(word) if word == "XY" => Ok(SexSystem::Xy),
        Value::String(word) if word == "ZW" => Ok(SexSystem::Zw),
        Value::Object(map) if map.contains_key("male") => {
            Ok(SexSystem::Chance { male: chance(needed(map, "male")?, "sex: male")? })
        }
        _ => Err(Senseless::new("sex", "\"XY\", \"ZW\" or {\"male\":share} is needed")),
    }
}

/// A clutch as in `{"eggs":6,"hatch":"9/10","take":"3/4"}` or `{"mean":"5.5","take":"3/4"}`.
pub(super) fn clutch(value: &Value) -> Result<ClutchSize, Senseless> {
    let map = object(value, "clutch")?;
    let or_sure = |name: &str| field(map, name).map_or_else(|| Ok(sure()), |v| chance(v, &format!("clutch: {name}")));
    let take = or_sure("take")?;
    match (field(map, "eggs"), field(map, "mean")) {
        (Some(eggs), None) => {
            Ok(ClutchSize::Eggs { eggs: whole(eggs, "clutch: eggs")?, hatch: or_sure("hatch")?, take })
        }
        (None, Some(mean)) => {
            let mean = number(mean, "clutch: mean")?;
            if mean < none() {
                return Err(Senseless::new("clutch: mean", "a mean is not below 0"));
            }
            Ok(ClutchSize::Poisson { mean, take })
        }
        _ => Err(Senseless::new("clutch", "one of \"eggs\" and \"mean\" is needed")),
    }
}

/// The loci of a request: what the engine knows of them, and their names.
pub(super) struct Loci {
    pub(super) genetics: Genetics,
    names: Vec<(String, Vec<String>)>,
    by_name: HashMap<String, LocusId>,
}

impl Loci {
    /// Reads `loci` and `sex` of a request.
    pub(super) fn read(request: &Map<String, Value>) -> Result<Loci, Senseless> {
        let listed = list(needed(request, "loci")?, "loci")?;
        if listed.len() > MOST_LOCI {
            return Err(Senseless::new("loci", format!("at most {MOST_LOCI}")));
        }
        let mut names: Vec<(String, Vec<String>)> = Vec::new();
        let mut by_name = HashMap::new();
        let mut loci = Vec::new();
        for (i, value) in (0..).zip(listed) {
            let (name, alleles, locus) = read_locus(value, &format!("loci: number {}", i + 1))?;
            if by_name.insert(name.clone(), LocusId(i)).is_some() {
                return Err(Senseless::new("loci", format!("two of the id {name:?}")));
            }
            names.push((name, alleles));
            loci.push(locus);
        }
        let system = field(request, "sex").map(sexes).transpose()?;
        let genetics = Genetics::new(loci, system).map_err(|error| {
            let at = |locus: LocusId| match names.get(usize::from(locus.0)) {
                Some((name, _)) => format!("loci: {name}"),
                None => "loci".to_owned(),
            };
            match error {
                GeneticsError::NoSexChromosomes { locus } => {
                    Senseless::new(at(locus), "a sex link takes \"sex\":\"XY\" or \"ZW\"")
                }
                GeneticsError::TwoSexLinked { second, .. } => {
                    Senseless::new(at(second), "a second sex-linked locus, at most one may be")
                }
                GeneticsError::Recombination { locus, .. } => {
                    Senseless::new(at(locus), "\"sex_link\" is a recombination within 0 and 1/2, or \"x\"")
                }
                GeneticsError::Lethal { locus, .. } => {
                    Senseless::new(at(locus), "no animal can have one of the \"lethal\" genotypes")
                }
                GeneticsError::Alleles { locus, .. } => Senseless::new(at(locus), "1 to 255 alleles are needed"),
                other => Senseless::new("loci", other),
            }
        })?;
        Ok(Loci { genetics, names, by_name })
    }

    pub(super) fn ids(&self) -> impl Iterator<Item = LocusId> {
        (0..).map(LocusId).take(self.names.len())
    }

    pub(super) fn name(&self, id: LocusId) -> &str {
        self.names.get(usize::from(id.0)).map_or("", |(name, _)| name)
    }

    pub(super) fn find(&self, name: &str, at: &str) -> Result<LocusId, Senseless> {
        self.by_name.get(name).copied().ok_or_else(|| Senseless::new(at, format!("there is no locus {name:?}")))
    }

    fn alleles(&self, id: LocusId) -> &[String] {
        self.names.get(usize::from(id.0)).map_or(&[], |(_, alleles)| alleles)
    }

    /// A genotype that some animal can have at this locus.
    pub(super) fn genotype(&self, id: LocusId, value: &Value, at: &str) -> Result<Genotype, Senseless> {
        self.genotype_of(id, &[Sex::Male, Sex::Female], text(value, at)?, at)
    }

    /// A genotype that an animal of one of these sexes can have at this locus.
    pub(super) fn genotype_of(
        &self,
        id: LocusId,
        sexes: &[Sex],
        written: &str,
        at: &str,
    ) -> Result<Genotype, Senseless> {
        let genotype = read_genotype(self.alleles(id), written).map_err(|what| Senseless::new(at, what))?;
        let mut why = None;
        for &sex in sexes {
            match self.genetics.check(id, sex, genotype) {
                Ok(()) => return Ok(genotype),
                // Of two sexes, the one whose kind of genotype this is tells more.
                Err(error) if why.is_none() || !matches!(error, GenotypeError::Sides { .. }) => {
                    why = Some(error);
                }
                Err(_) => {}
            }
        }
        let what = match why {
            Some(GenotypeError::Sides { sided: true }) => "is written \"x/y\" here, without sides",
            Some(GenotypeError::Sides { sided: false }) => "is written \"x|y\" here: X (Z) side, Y (W) side",
            _ if genotype.alleles().1 == AlleleId::NONE => "has an allele on both sides here",
            _ => "has no allele on the Y (W) here, written \"x|-\"",
        };
        Err(Senseless::new(at, format!("{written:?}: a genotype {what}")))
    }

    /// A genome; every locus of the request is listed in it, wild where nothing is said.
    pub(super) fn genome(&self, value: &Value, sex: Sex, at: &str) -> Result<Genome, Senseless> {
        let mut genome: Genome = self.ids().map(|id| (id, Belief::sure(self.genetics.wild(id, sex)))).collect();
        for (name, value) in object(value, at)? {
            let id = self.find(name, at)?;
            let at = format!("{at}: {name}");
            let belief = self.belief(id, &[sex], value, &at)?;
            genome.set(id, belief);
        }
        Ok(genome)
    }

    /// A genotype, or genotypes with chances, of an animal of one of these sexes.
    pub(super) fn belief(&self, id: LocusId, sexes: &[Sex], value: &Value, at: &str) -> Result<Belief, Senseless> {
        match value {
            Value::String(written) => Ok(Belief::sure(self.genotype_of(id, sexes, written, at)?)),
            Value::Object(weights) => {
                let mut mixed = Vec::new();
                for (written, weight) in weights {
                    let genotype = self.genotype_of(id, sexes, written, at)?;
                    mixed.push((genotype, chance(weight, &format!("{at}: {written}"))?));
                }
                Belief::mix(mixed).map_err(|_| Senseless::new(at, "the chances do not add up to 1"))
            }
            _ => Err(Senseless::new(at, "a genotype, or an object of genotypes and chances, is needed")),
        }
    }

    /// An allele of this locus.
    pub(super) fn find_allele(&self, id: LocusId, name: &str, at: &str) -> Result<AlleleId, Senseless> {
        let known = self.alleles(id).iter().position(|known| known == name).and_then(|i| u8::try_from(i).ok());
        known.map(AlleleId).ok_or_else(|| Senseless::new(at, format!("{name:?} is not an allele")))
    }

    /// A look that some animal has at this locus: the alleles that show, joined by `/`.
    pub(super) fn look(&self, id: LocusId, value: &Value, at: &str) -> Result<Look, Senseless> {
        let written = text(value, at)?;
        let mut shown = written.split('/').map(|name| self.find_allele(id, name, at)).collect::<Result<Vec<_>, _>>()?;
        shown.sort_unstable();
        let locus = self.genetics.locus(id);
        let mut looks = locus.into_iter().flat_map(|locus| self.genetics.genotypes(id).map(|g| locus.look_of(g)));
        looks
            .find(|look| look.alleles().eq(shown.iter().copied()))
            .ok_or_else(|| Senseless::new(at, format!("no animal looks {written:?} at this locus")))
    }

    /// A wish: locus to a list of genotypes.
    pub(super) fn wanted(&self, value: &Value, at: &str) -> Result<Wanted, Senseless> {
        let mut wanted = Wanted::any();
        for (name, genotypes) in object(value, at)? {
            let id = self.find(name, at)?;
            let at = format!("{at}: {name}");
            let genotypes: Result<Vec<_>, _> =
                list(genotypes, &at)?.iter().map(|genotype| self.genotype(id, genotype, &at)).collect();
            wanted = wanted.with(id, genotypes?);
        }
        Ok(wanted)
    }

    fn allele(&self, id: LocusId, allele: AlleleId) -> &str {
        self.alleles(id).get(usize::from(allele.0)).map_or("-", String::as_str)
    }

    pub(super) fn write_genotype(&self, id: LocusId, genotype: Genotype) -> String {
        let (a, b) = genotype.alleles();
        let between = if genotype.is_sided() { '|' } else { '/' };
        format!("{}{between}{}", self.allele(id, a), self.allele(id, b))
    }

    pub(super) fn write_look(&self, id: LocusId, look: Look) -> String {
        look.alleles().map(|allele| self.allele(id, allele)).collect::<Vec<_>>().join("/")
    }
}

fn read_locus(value: &Value, at: &str) -> Result<(String, Vec<String>, Locus), Senseless> {
    let map = object(value, at)?;
    let name = text(map.get("id").ok_or_else(|| Senseless::new(at, "\"id\" is missing"))?, &format!("{at}: id"))?;
    let at = format!("loci: {name}");
    let missing = |what: &str| Senseless::new(&at, format!("{what:?} is missing"));
    let mut alleles: Vec<String> = Vec::new();
    for value in list(field(map, "alleles").ok_or_else(|| missing("alleles"))?, &format!("{at}: alleles"))? {
        let allele = text(value, &format!("{at}: alleles"))?;
        if allele.is_empty() || allele == "-" || allele.contains(['/', '|']) {
            return Err(Senseless::new(at, format!("{allele:?} cannot name an allele")));
        }
        if alleles.iter().any(|known| known == allele) {
            return Err(Senseless::new(at, format!("two alleles {allele:?}")));
        }
        alleles.push(allele.to_owned());
    }
    if alleles.is_empty() || alleles.len() > AlleleId::MOST {
        return Err(Senseless::new(at, format!("1 to {} alleles are needed", AlleleId::MOST)));
    }
    let others = |mode: Mode| Locus::trade(&vec![mode; alleles.len() - 1]);
    let dominance = field(map, "dominance").ok_or_else(|| missing("dominance"))?;
    let mut locus = match dominance.as_str() {
        Some("recessive") => others(Mode::Recessive),
        Some("dominant") => others(Mode::Dominant),
        Some("incomplete") => others(Mode::IncompleteDominant),
        Some("series") => Locus::series(alleles.len()),
        _ => {
            let known = "\"recessive\", \"dominant\", \"incomplete\" or \"series\" is needed";
            return Err(Senseless::new(format!("{at}: dominance"), known));
        }
    };
    if let Some(link) = field(map, "sex_link") {
        let link = if link.as_str() == Some("x") {
            SexLink::OnlyX
        } else {
            let recombination = chance(link, &format!("{at}: sex_link"))?;
            if recombination > half() {
                return Err(Senseless::new(format!("{at}: sex_link"), "a recombination lies within 0 and 1/2"));
            }
            SexLink::Recombining(recombination)
        };
        locus = locus.with_sex_link(link);
    }
    if let Some(lethal) = field(map, "lethal") {
        let at = format!("{at}: lethal");
        for value in list(lethal, &at)? {
            let genotype = read_genotype(&alleles, text(value, &at)?).map_err(|what| Senseless::new(&at, what))?;
            locus = locus.with_lethal(genotype);
        }
    }
    Ok((name.to_owned(), alleles, locus))
}

/// `"x/y"`, or `"x|y"` with `-` for no allele on the second side.
fn read_genotype(alleles: &[String], written: &str) -> Result<Genotype, String> {
    let allele = |name: &str| {
        let at = alleles.iter().position(|known| known == name).and_then(|i| u8::try_from(i).ok());
        at.map(AlleleId)
            .ok_or_else(|| format!("{written:?}: {name:?} is not an allele, those are {}", alleles.join(", ")))
    };
    if let Some((x, y)) = written.split_once('|') {
        let y = if y == "-" { AlleleId::NONE } else { allele(y)? };
        return Ok(Genotype::sided(allele(x)?, y));
    }
    match written.split_once('/') {
        Some((a, b)) => Ok(Genotype::pair(allele(a)?, allele(b)?)),
        None => Err(format!("{written:?} is not a genotype, one is written \"x/y\"")),
    }
}

/// A map in the order given.
pub(super) struct Ordered<K, V>(pub(super) Vec<(K, V)>);

impl<K, V> Ordered<K, V> {
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<K: Serialize, V: Serialize> Serialize for Ordered<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(key, value)| (key, value)))
    }
}

/// A map from the loci's names.
pub(super) fn by_locus<T, V>(
    loci: &Loci,
    items: impl IntoIterator<Item = (LocusId, T)>,
    write: impl Fn(LocusId, T) -> V,
) -> Ordered<&str, V> {
    Ordered(items.into_iter().map(|(id, item)| (loci.name(id), write(id, item))).collect())
}

pub(super) fn sex_word(sex: Sex) -> &'static str {
    match sex {
        Sex::Male => "male",
        Sex::Female => "female",
    }
}

/// A whole number of any size.
pub(super) fn write_whole(n: &impl Display) -> Value {
    n.to_string().parse::<Number>().map_or(Value::Null, Value::Number)
}

/// An exact chance as a fraction text, a rounded one as a number.
pub(super) fn write_figure(figure: &Figure) -> Value {
    match figure {
        Figure::Exact(odds) => Value::String(odds.to_string()),
        Figure::Rounded(rounded) => Number::from_f64(*rounded).map_or(Value::Null, Value::Number),
    }
}
