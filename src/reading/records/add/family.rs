//! Parents and clutches of a new animal.

use std::ops::Range;

use super::{NewAnimal, ParentSaid};
use crate::reading::flat::Flat;
use crate::reading::records::amounts::pattern;
use crate::reading::records::message::{Called, Mention, Msg};
use crate::reading::requests::SexSaid;

pub(super) fn clutch_and_parents(msg: &Msg<'_>, flat: &mut Flat, out: &mut NewAnimal) {
    let parent = |flat: &Flat, place: Range<usize>| parent_said(msg, flat, place);
    // "from the Juno clutch", "from clutch 23-04", "from a clown x het pied clutch".
    let clutch = pattern!(
        r"\b(?:from|out of|of|aus|de)\s+(?:the\s+|dem\s+|der\s+|la\s+)?(?:(?:clutch|gelege|puesta)\s+(?:no\.?\s*|#)?([\w-]{1,40})|([^,;\n]{1,80}?)(?:'s|')?\s+(?:clutch|gelege|puesta|litter|eggs))\b"
    );
    if let Some(hit) = clutch.and_then(|p| flat.find(p)) {
        let whole = hit.get(0).map_or(0..0, |m| m.range());
        let inner = hit.get(1).or_else(|| hit.get(2)).map_or(0..0, |m| m.range());
        if let Some((a, b)) = crossed(flat, inner.clone()) {
            out.parents = Some((parent(flat, a), parent(flat, b)));
        } else {
            out.clutch = Some(flat.typed(inner).trim().trim_end_matches("'s").trim_end_matches('\'').to_owned());
        }
        flat.take(whole);
    }
    let both = pattern!(
        r"\b(?:from|out of|parents?(?:\s+are)?|pairing|aus|von|eltern|padres)\s*:?\s+([^,;\n]{1,80}?\s+(?:x|×|\*)\s+[^,;\n]{1,80}?)(?:[,;\n]|$|\s+(?:pairing|hatched|born|geschlupft))"
    );
    if let Some(hit) = both.and_then(|p| flat.find(p)) {
        let whole =
            hit.get(0).map_or(0..0, |m| m.start()..m.start() + m.as_str().trim_end_matches([',', ';', '\n']).len());
        let inner = hit.get(1).map_or(0..0, |m| m.range());
        if let Some((a, b)) = crossed(flat, inner.clone()) {
            out.parents = Some((parent(flat, a), parent(flat, b)));
            flat.take(whole.start..inner.end);
        }
    }
    let out_by = pattern!(r"\bout of\s+([^,;\n]{1,60}?)\s+by\s+([^,;\n]{1,60})");
    if let Some(hit) = out_by.and_then(|p| flat.find(p)) {
        let places: Vec<Range<usize>> = hit.iter().flatten().map(|m| m.range()).collect();
        out.dam = Some(parent(flat, places[1].clone()));
        out.sire = Some(parent(flat, places[2].clone()));
        flat.take(places[0].clone());
    }
    let roles = [
        (
            pattern!(
                r"\b(?:(?:his|her|its|the)\s+)?(?:sire|dad|father|vater|padre|sired by)\b\s*(?:is|was|ist|es|:|=)?\s*([^,;\n]{1,60})"
            ),
            true,
        ),
        (
            pattern!(
                r"\b(?:(?:his|her|its|the)\s+)?(?:dam|mom|mum|mother|mutter|madre)\b\s*(?:is|was|ist|es|:|=)?\s*([^,;\n]{1,60})"
            ),
            false,
        ),
    ];
    for (role, is_sire) in roles {
        let Some(hit) = role.and_then(|p| flat.find(p)) else { continue };
        let (whole, group) = (hit.get(0).map_or(0..0, |m| m.range()), hit.get(1).map_or(0..0, |m| m.range()));
        // "sire Duke dam Juno", "mom Juno and dad Duke".
        let text = &flat.text()[group.clone()];
        let stop = pattern!(
            r"\s(?:and\s+(?:his|her|the)?\s*)?(?:dam|mom|mum|mother|sire|dad|father)\b|\s(?:hatched|born)\b|\s+\d{3,5}\s*g?\b"
        );
        let end = group.start + stop.and_then(|s| s.find(text)).map_or(text.len(), |m| m.start());
        let said = Some(parent(flat, group.start..end));
        if is_sire {
            out.sire = said;
        } else {
            out.dam = said;
        }
        flat.take(whole.start..end);
    }
    let child = pattern!(
        r"\b(?:son|daughter|offspring|baby|young|child|tochter|sohn|hija|hijo)\s+(?:of|von|de)\s+([^,;\n]{1,60})"
    );
    if let Some(hit) = child.and_then(|p| flat.find(p)) {
        let (whole, group) = (hit.get(0).map_or(0..0, |m| m.range()), hit.get(1).map_or(0..0, |m| m.range()));
        let here: Vec<Mention> = msg.mentions.clone();
        let names: Vec<ParentSaid> = named_in(flat, group.clone(), &here);
        match &names[..] {
            [only] => out.parents = Some((only.clone(), ParentSaid::Words(String::new()))),
            [a, b, ..] => out.parents = Some((a.clone(), b.clone())),
            [] => return,
        }
        if whole.start > 0 {
            // "daughter" says the sex.
            if flat.text()[whole.clone()].starts_with("daughter") || flat.text()[whole.clone()].starts_with("tochter") {
                out.described.animal.sex = SexSaid::Female;
            }
        }
        flat.take(whole);
    }
}

/// The two sides of a pairing.
fn crossed(flat: &Flat, place: Range<usize>) -> Option<(Range<usize>, Range<usize>)> {
    let text = flat.text().get(place.clone())?;
    let hit = pattern!(r"\s(?:x|×|\*)\s")?.find(text)?;
    Some((place.start..place.start + hit.start(), place.start + hit.end()..place.end))
}

/// The known animals named in a part of a text.
fn named_in(flat: &Flat, place: Range<usize>, mentions: &[Mention]) -> Vec<ParentSaid> {
    let text = flat.text().get(place).unwrap_or("");
    let mut found: Vec<(usize, ParentSaid)> = mentions
        .iter()
        .filter_map(|m| {
            let word = match &m.called {
                Called::Name(name) => Flat::new(name).text().to_owned(),
                Called::Number(n) => format!("#{n}"),
                _ => return None,
            };
            Some((text.find(&word)?, ParentSaid::Called(m.called.clone())))
        })
        .collect();
    found.sort_by_key(|f| f.0);
    found.dedup();
    found.into_iter().map(|f| f.1).collect()
}

/// A parent: a known name, a name nobody has, or a description.
pub(in crate::reading::records) fn parent_said(msg: &Msg<'_>, flat: &Flat, place: Range<usize>) -> ParentSaid {
    if let [one, ..] = &named_in(flat, place.clone(), &msg.mentions)[..] {
        return one.clone();
    }
    let words = flat.typed(place).trim().trim_end_matches(['.', '!', ')']).to_owned();
    let described = msg.reader.describe(msg.catalogue, &words, msg.known.species);
    let bare = words.trim_start_matches("my ").trim_start_matches("the ").to_owned();
    if !described.has_genes() && !described.normal && bare.split_whitespace().count() <= 3 && !bare.is_empty() {
        return ParentSaid::Called(Called::Name(bare));
    }
    ParentSaid::Words(words)
}
