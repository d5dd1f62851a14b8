//! Time zones and halves of the world by the names people know.
//!
//! In: what somebody says of where they are ("Berlin", "the UK", "EST", "Europe/Berlin"). Out: a [`Spoken`]: a zone of the
//! IANA time zone database, several to choose from, or names that are near.
//! The names are data: `config/words/places.toml`. The zones are those inside the program, never those of the machine, so
//! that a place means the same wherever the program runs. Start at [`spoken`].

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::OnceLock;

use jiff::tz::{TimeZone, TimeZoneDatabase};
use serde::{Deserialize, Serialize};

/// A half of the world: when the seasons are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Half {
    /// Spring is March to May.
    North,
    /// Spring is September to November.
    South,
}

impl Half {
    /// "northern", "southern".
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::North => "northern",
            Self::South => "southern",
        }
    }
}

/// What a place that was named stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spoken {
    /// One zone, by its name in the database.
    Zone(&'static str),
    /// Several zones.
    Several(&'static [String]),
    /// Hours from UTC, which do not tell when the clocks change.
    Offset,
    /// No place that is known; places whose names are near.
    Unknown(Vec<String>),
}

/// The most near names that are given.
const NEAR: usize = 3;
/// What a chat can show to choose from.
pub const MOST_OFFERED: usize = 25;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    zones: BTreeMap<String, Vec<String>>,
    several: Vec<Several>,
    half: Halves,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Several {
    names: Vec<String>,
    zones: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Halves {
    south: Vec<String>,
}

struct Places {
    zones: HashMap<String, &'static str>,
    several: HashMap<String, Vec<String>>,
    south: HashSet<String>,
}

/// Every zone that is inside the program.
fn known() -> &'static [String] {
    static KNOWN: OnceLock<Vec<String>> = OnceLock::new();
    KNOWN.get_or_init(|| {
        // Names without an area are left-overs of older databases, and those of Etc have no clocks that change.
        let kept =
            |n: &String| n == "Etc/UTC" || n.contains('/') && !n.starts_with("Etc/") && !n.starts_with("SystemV/");
        TimeZoneDatabase::bundled().available().map(|n| n.to_string()).filter(kept).collect()
    })
}

impl Places {
    fn get() -> Option<&'static Self> {
        static PLACES: OnceLock<Option<Places>> = OnceLock::new();
        // A broken word file of our own is found by the tests; without it no place is read.
        PLACES.get_or_init(|| Self::new(include_str!("../../config/words/places.toml"))).as_ref()
    }

    fn new(text: &'static str) -> Option<Self> {
        let file: File = toml::from_str(text).ok()?;
        let mut zones: HashMap<String, &'static str> = HashMap::new();
        let known = known();
        let own = |zone: &str| known.iter().find(|k| *k == zone).map(String::as_str);
        for (zone, names) in &file.zones {
            let zone = own(zone)?;
            zones.extend(names.iter().map(|name| (name.clone(), zone)));
        }
        let several: HashMap<String, Vec<String>> =
            file.several.into_iter().flat_map(|s| s.names.into_iter().map(move |n| (n, s.zones.clone()))).collect();
        for zone in known {
            zones.entry(flat(zone)).or_insert(zone);
            let town = town(zone);
            if !is_region(zone) && !several.contains_key(&town) {
                zones.entry(town).or_insert(zone);
            }
        }
        Some(Self { zones, several, south: file.half.south.into_iter().collect() })
    }
}

/// Small letters and digits, everything else one blank.
fn flat(text: &str) -> String {
    let plain = super::flat::Flat::new(text);
    let mut out = String::new();
    for c in plain.text().chars() {
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.ends_with(' ') && !out.is_empty() && c != '\'' {
            out.push(' ');
        }
    }
    out.trim_end().to_owned()
}

/// Older names whose end is no town: "US/Central", "Australia/North".
fn is_region(zone: &str) -> bool {
    let (area, end) = zone.split_once('/').unwrap_or((zone, ""));
    matches!(area, "US" | "Canada" | "Brazil" | "Mexico" | "Chile")
        || matches!(end, "North" | "South" | "West" | "ACT" | "LHI" | "NSW" | "Center")
}

/// `America/New_York` is "new york".
fn town(zone: &str) -> String {
    flat(zone.rsplit('/').next().unwrap_or(zone))
}

/// What a place stands for, as somebody typed it.
#[must_use]
pub fn spoken(said: &str) -> Spoken {
    let Some(places) = Places::get() else { return Spoken::Unknown(Vec::new()) };
    let whole = flat(said);
    let short = whole.strip_prefix("the ").unwrap_or(&whole);
    // "Berlin time", "Berlin, Germany", "Eastern time zone".
    let bare = short.trim_end_matches(" zone").trim_end_matches(" time").trim_end_matches(" timezone");
    let first = said.split(',').next().map(flat).unwrap_or_default();
    for name in [short, bare, first.as_str()] {
        if let Some(zone) = places.zones.get(name) {
            return Spoken::Zone(zone);
        }
        if let Some(zones) = places.several.get(name) {
            return Spoken::Several(zones);
        }
    }
    if is_offset(said) {
        return Spoken::Offset;
    }
    Spoken::Unknown(near(places, bare))
}

/// "utc+2", "gmt -5", "+01:00".
fn is_offset(said: &str) -> bool {
    let said = said.trim().to_lowercase();
    let rest = said.strip_prefix("utc").or_else(|| said.strip_prefix("gmt")).unwrap_or(&said).trim();
    let digits = rest.strip_prefix(['+', '-', '\u{2212}']).map(str::trim);
    digits.is_some_and(|d| !d.is_empty() && d.len() <= 5 && d.chars().all(|c| c.is_ascii_digit() || c == ':'))
}

/// Names of places that are within a slip of the pen, the nearest first.
fn near(places: &Places, name: &str) -> Vec<String> {
    let most = match name.chars().count() {
        0..=3 => return Vec::new(),
        4..=8 => 1,
        _ => 2,
    };
    let mut found: Vec<(usize, &String, &str)> = places
        .zones
        .iter()
        .filter(|(known, _)| known.len().abs_diff(name.len()) <= most)
        .map(|(known, zone)| (strsim::osa_distance(known, name), known, *zone))
        .filter(|(distance, ..)| *distance <= most)
        .collect();
    found.sort_unstable();
    let mut seen = HashSet::new();
    found.retain(|f| seen.insert(f.2));
    found.into_iter().map(|f| titled(f.1)).take(NEAR).collect()
}

/// "new york" is "New York".
fn titled(name: &str) -> String {
    let word = |word: &str| {
        let mut letters = word.chars();
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
    };
    name.split(' ').map(word).collect::<Vec<String>>().join(" ")
}

/// Zones whose names begin with what was typed so far, with a town or country of theirs, for a list to choose from.
#[must_use]
pub fn beginning(typed: &str) -> Vec<(String, &'static str)> {
    let Some(places) = Places::get() else { return Vec::new() };
    let typed = flat(typed);
    let fits = |name: &str| typed.is_empty() || name.starts_with(&typed) || name.contains(&format!(" {typed}"));
    let mut found: Vec<(bool, &String, &'static str)> = places
        .zones
        .iter()
        .filter(|(name, _)| fits(name))
        // A town by its own name comes before a zone by its whole one.
        .map(|(name, zone)| (*name != town(zone), name, *zone))
        .collect();
    found.sort_unstable();
    let mut seen = HashSet::new();
    found.retain(|f| seen.insert(f.2));
    found.into_iter().take(MOST_OFFERED).map(|(_, name, zone)| (format!("{} ({zone})", titled(name)), zone)).collect()
}

/// A zone of the database inside the program; `None` where it has none of that name.
#[must_use]
pub fn zone(name: &str) -> Option<TimeZone> {
    TimeZoneDatabase::bundled().get(name).ok()
}

/// A zone's name as the database inside the program has it; `None` where it has none of that name.
#[must_use]
pub fn own_name(name: &str) -> Option<&'static str> {
    known().iter().map(String::as_str).find(|known| known.eq_ignore_ascii_case(name))
}

/// The half of the world that a zone lies in.
#[must_use]
pub fn half(zone: &str) -> Half {
    if Places::get().is_some_and(|p| p.south.contains(zone)) { Half::South } else { Half::North }
}

/// A zone as people say it: "Berlin", "New York", "UTC".
#[must_use]
pub fn called(zone: &str) -> String {
    zone.rsplit('/').next().unwrap_or(zone).replace('_', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(said: &str, stands_for: &str) {
        let heard = match spoken(said) {
            Spoken::Zone(zone) => zone.to_owned(),
            Spoken::Several(zones) => format!("{} zones", zones.len()),
            Spoken::Offset => "offset".to_owned(),
            Spoken::Unknown(near) => format!("? {}", near.join(" ")).trim_end().to_owned(),
        };
        assert_eq!(heard, stands_for, "{said:?}");
    }

    #[test]
    fn the_file_is_sound() {
        let places = Places::get().expect("config/words/places.toml parses and names zones of the database");
        let all = places.zones.values().copied().chain(places.several.values().flatten().map(String::as_str));
        for name in all.chain(places.south.iter().map(String::as_str)) {
            assert!(zone(name).is_some(), "{name} is no zone of the database inside the program");
        }
        for name in places.zones.keys().chain(places.several.keys()) {
            assert_eq!(*name, flat(name), "names are written flat");
        }
    }

    #[test]
    fn a_place_is_known_by_the_names_people_use() {
        check("Berlin", "Europe/Berlin");
        check("europe/berlin", "Europe/Berlin");
        check("the UK", "Europe/London");
        check("U.K.", "Europe/London");
        check("München", "Europe/Berlin");
        check("Sydney", "Australia/Sydney");
        check("new york", "America/New_York");
        check("Eastern time", "America/New_York");
        check("PST", "America/Los_Angeles");
        check("Austin, Texas", "America/Chicago");
        check("Österreich", "Europe/Vienna");
        check("Kiritimati", "Pacific/Kiritimati");
        check("UTC", "Etc/UTC");
    }

    #[test]
    fn a_country_of_several_zones_is_asked_about() {
        check("USA", "7 zones");
        check("Australia", "5 zones");
        check("IST", "3 zones");
    }

    #[test]
    fn what_is_no_place_has_near_names_or_none() {
        check("Berlni", "? Berlin");
        check("Sidney", "? Sydney");
        check("Atlantis City", "?");
        check("UTC+2", "offset");
        check("gmt -5", "offset");
        check("+01:00", "offset");
    }

    #[test]
    fn the_half_follows_from_the_zone() {
        // Coordinates of zone.tab, IANA time zone database 2025b.
        for (zone, south) in [
            ("Australia/Sydney", true),
            ("Africa/Johannesburg", true),
            ("America/Sao_Paulo", true),
            ("Europe/London", false),
            ("America/Bogota", false),
            ("Pacific/Honolulu", false),
        ] {
            assert_eq!(half(zone) == Half::South, south, "{zone}");
        }
    }

    #[test]
    fn what_is_typed_so_far_leads_to_zones() {
        let of = |typed| beginning(typed).into_iter().map(|f| f.1).collect::<Vec<_>>();
        assert_eq!(of("berl").first(), Some(&"Europe/Berlin"));
        assert!(of("").len() == MOST_OFFERED && of("qqqq").is_empty());
        assert!(of("new").contains(&"America/New_York"));
    }
}
