//! Male and female makers in words.

use super::list_of;
use crate::collection::animal::{Animal, SideKept};
use crate::conversation::labels::percent;
use crate::engine::odds::{Odds, none, sure};
use crate::reply::Reply;
use crate::species::{GeneId, Species};

/// A male's young, sons and daughters.
#[derive(Debug, Default)]
pub(in crate::conversation) struct Sired {
    /// Those that show the gene.
    pub(in crate::conversation) with: [u32; 2],
    /// Those that do not.
    pub(in crate::conversation) without: [u32; 2],
}

pub(in crate::conversation) fn has_none(species: &Species, animal: &Animal, linked: &[GeneId]) -> Reply {
    let names: Vec<String> = linked.iter().map(|g| species.gene(*g).entry.name.clone()).collect();
    if names.is_empty() {
        return Reply::sentence(format!(
            "No gene of the {} is known to sit on the sex chromosomes.",
            species.name().to_lowercase()
        ));
    }
    Reply::sentence(format!(
        "{} has no {} by your records, so there is nothing to make.",
        animal.called(),
        list_of(&names)
    ))
}

pub(in crate::conversation) fn no_male(species: &Species, animal: &Animal, gene: GeneId) -> Reply {
    Reply::sentence(format!(
        "Only males are makers: {} is no male by your records. A female hands {} to sons and daughters alike.",
        animal.called(),
        species.gene(gene).entry.name
    ))
}

/// Animals of unknown sex stand in the way.
pub(in crate::conversation) fn not_followed(species: &Species, gene: GeneId, unsexed: &[String]) -> Reply {
    let name = &species.gene(gene).entry.name;
    let why = if unsexed.is_empty() {
        "the sexes of this species decide nothing of it".to_owned()
    } else {
        format!("{} not sexed yet", list_of(unsexed))
    };
    Reply::sentence(format!("I cannot follow {name} on the sex chromosomes here: {why}."))
}

/// How likely a male is a male maker, and why.
pub(in crate::conversation) fn maker(
    species: &Species,
    animal: &Animal,
    gene: GeneId,
    told: Option<SideKept>,
    (on_y, on_x): (&Odds, &Odds),
    sired: &Sired,
) -> Reply {
    let (who, name) = (animal.called(), &species.gene(gene).entry.name);
    let mut reply = Reply::default();
    reply.answer.push(if (on_y + on_x) == none() {
        format!("{who} has {name} on both sides: all of his young get a copy, sons and daughters alike.")
    } else if *on_y == sure() || *on_x == sure() {
        let (kind, side, from) = if *on_y == sure() { ("male", "Y", "father") } else { ("female", "X", "mother") };
        let why = if told.is_some() { "as you told" } else { "by the records" };
        format!("{who} is a {kind} maker, {why}: his {name} sits on the {side} side, from his {from}.")
    } else {
        format!("That {who} is a male maker: {}; a female maker: {}.", percent(on_y), percent(on_x))
    });
    let counts = |of: &[u32; 2]| format!("{}.{}", of[0], of[1]);
    if sired.with.iter().chain(&sired.without).sum::<u32>() > 0 {
        reply.notes.push(format!(
            "Sexed young of his, males before females: {} with {name}, {} without.",
            counts(&sired.with),
            counts(&sired.without)
        ));
    } else if on_y < &sure() && on_x < &sure() {
        reply
            .notes
            .push("Nothing of his that hatched is sexed yet; his parents, or sexed young, would tell.".to_owned());
    }
    reply.notes.push(format!(
        "A male maker hands {name} mostly to sons, a female maker mostly to daughters; a few in a hundred cross over (a keepers' figure)."
    ));
    reply
}
