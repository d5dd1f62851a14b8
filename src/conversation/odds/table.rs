//! The table of young, grouped by look.

use num_bigint::BigUint;
use num_traits::Zero;

use super::super::labels;
use super::super::sentences::odds as say;
use super::kinds::{common, kinds};
use super::scene::{Case, Scene};
use crate::engine::inheritance::clutch::{Chances, Wanted};
use crate::engine::odds::{Odds, none, sure};
use crate::reply::Row;

/// The table of one cross, the likeliest kinds first.
#[derive(Debug, Default)]
pub(super) struct Table {
    head: Vec<Row>,
    rows: Vec<(Row, Odds)>,
    /// The share and the number of kinds beyond the rows.
    left: Odds,
    kinds_left: BigUint,
}

impl Table {
    /// Its first rows, at most `most`, and what is to be said of the rest.
    pub(super) fn first(&self, most: usize) -> (Vec<Row>, Option<String>) {
        let (shown, cut) = self.rows.split_at(most.min(self.rows.len()));
        let left = cut.iter().map(|(_, share)| share).sum::<Odds>() + &self.left;
        let kinds = &self.kinds_left + BigUint::from(cut.len());
        let rest = (left > none()).then(|| say::rest(&kinds, &left));
        (self.head.iter().chain(shown.iter().map(|(row, _)| row)).cloned().collect(), rest)
    }
}

/// The table of one cross, with this many rows at most. Normal-looking young that are left out as asked are noted.
pub(super) fn table(scene: &Scene<'_>, case: &Case, most: usize, notes: &mut Vec<String>) -> Table {
    let young = &case.young;
    let brood = scene.brood();
    let common = common(young);
    let laying = scene.asked_laying();
    let mut table = Table { left: sure() - young.lost(), kinds_left: young.n_looks(), ..Table::default() };
    if let Some(side) = case.side {
        table.head.push(Row::heading(say::side(scene.species, side)));
    }
    let mut normals = none();
    for kind in kinds(scene.species, young) {
        if table.rows.len() == most {
            break;
        }
        if table.rows.is_empty() && !common.is_empty() && normals.is_zero() {
            let parts = kind.parts.iter().filter(|(id, _)| common.contains(id)).flat_map(|p| p.1.clone());
            table.head.push(Row::heading(say::every_young(&labels::name(parts.collect(), true))));
        }
        table.left -= &kind.share;
        table.kinds_left -= 1_u32;
        if scene.pairing.shown.without_normals && kind.is_normal() {
            normals += &kind.share;
            continue;
        }
        let in_clutch = laying.as_ref().and_then(|laying| {
            let chances = Chances::of(young, &kind.wanted()).ok()?;
            let found = chances.in_clutch(&laying.size()).ok()?;
            let figure = if scene.pairing.both_sexes { found.one_of_each? } else { found.at_least_one };
            Some(say::in_clutch(&figure, laying, brood))
        });
        let row = Row {
            fraction: labels::fraction(&kind.share),
            percent: labels::percent(&kind.share),
            kind: kind.name(&common),
            in_clutch,
        };
        table.rows.push((row, kind.share));
    }
    if !normals.is_zero() {
        notes.push(say::normals_left_out(&normals));
    }
    table
}

/// What the bracket after a kind means, or how to get one.
pub(super) fn bracket(scene: &Scene<'_>) -> String {
    match scene.asked_laying() {
        Some(laying) => say::bracket(&laying, scene.pairing.both_sexes, scene.brood()),
        None => say::per_egg_only(scene.brood()),
    }
}

/// The chance that a clutch of any young has both sexes, where that was asked without a wish.
pub(super) fn any_of_each(scene: &Scene<'_>) -> Option<String> {
    let size = scene.laying().filter(|_| scene.pairing.both_sexes)?.size();
    let found = Chances::of(scene.young(), &Wanted::any()).ok()?.in_clutch(&size).ok()?;
    Some(say::any_of_each(&found.one_of_each?))
}
