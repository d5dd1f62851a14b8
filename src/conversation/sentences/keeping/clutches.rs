//! Clutches in words.

use std::fmt::Write as _;

use super::{ROWS, count, list_of};
use crate::collection::animal::{Animal, AnimalId};
use crate::collection::events::Clutch;
use crate::collection::herd::Herd;
use crate::reading::dates::When;
use crate::reply::{Reply, Row};

/// "23-04, laid 3 April 2025, 7 eggs and 1 slug".
pub(in crate::conversation) fn clutch_short(herd: &Herd, clutch: &Clutch) -> String {
    let name = |id: Option<AnimalId>, out: &Option<String>| {
        id.and_then(|id| herd.animal(id)).map(Animal::called).or_else(|| out.clone()).unwrap_or_else(|| "?".to_owned())
    };
    let mut words = clutch.code.clone().map_or_else(String::new, |c| format!("{c}, "));
    let sire = match &clutch.sires {
        Some(several) => {
            let names: Vec<String> = several.of.iter().map(|s| name(Some(s.id), &None)).collect();
            names.join(if several.mixed { " and " } else { " or " })
        }
        None => name(clutch.sire_id, &clutch.sire_out),
    };
    let _ = write!(words, "{sire} × {}", name(clutch.dam_id, &clutch.dam_out));
    if let Some(laid) = clutch.laid {
        let born = clutch.eggs.is_none() && clutch.slugs.is_none() && clutch.n_young() > 0;
        let _ = write!(words, ", {} {}", if born { "born" } else { "laid" }, laid.words());
    }
    let counts = egg_words(clutch);
    if !counts.is_empty() {
        let _ = write!(words, ", {counts}");
    }
    if clutch.n_young() > 0 {
        let _ = write!(words, ", {} young", clutch.n_young());
    }
    words
}

/// "7 eggs and 1 slug".
pub(in crate::conversation) fn egg_words(clutch: &Clutch) -> String {
    let mut parts = Vec::new();
    for (n, one, many) in [
        (clutch.eggs, "egg", "eggs"),
        (clutch.slugs, "slug", "slugs"),
        (clutch.doubtful, "doubtful egg", "doubtful eggs"),
    ] {
        if let Some(n) = n.and_then(|n| usize::try_from(n).ok()).filter(|n| *n > 0 || one == "egg") {
            parts.push(count(n, one, many));
        }
    }
    list_of(&parts)
}

/// All clutches, the last first.
pub(in crate::conversation) fn clutches(herd: &Herd) -> Reply {
    if herd.clutches.is_empty() {
        return Reply::sentence("No clutches are recorded. Say for example \"Juno laid 7 and 1 slug on 3 April\".");
    }
    let mut all: Vec<&Clutch> = herd.clutches.iter().collect();
    all.sort_by_key(|c| std::cmp::Reverse((c.laid.map(When::first), c.id)));
    let mut reply = Reply::sentence(format!("{}:", count(all.len(), "clutch", "clutches")));
    reply.rows = all.iter().take(ROWS).map(|c| Row::heading(clutch_short(herd, c))).collect();
    if all.len() > ROWS {
        reply.rest = Some(format!("and {} older ones", all.len() - ROWS));
    }
    reply
}
