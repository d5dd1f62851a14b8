//! A pairing as a picture: eggs of a clutch, or its square. What the pictures look like is `reply::picture`'s.

use num_traits::Zero;

use super::super::labels;
use super::super::sentences::odds as say;
use super::best::best_target;
use super::kinds::kinds;
use super::scene::{Laying, Scene, varied};
use super::square::{code, codes, copies, fits, gametes, legend};
use super::wish::wanted;
use super::worked::{genes_at, parts_with_genotypes};
use crate::engine::inheritance::clutch::Chances;
use crate::engine::inheritance::cross::{Factor as CrossFactor, Parent};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, LocusId, Look};
use crate::engine::odds::{Odds, to_f64};
use crate::reading::requests::{Aspect, Reading, SexSaid};
use crate::reply::picture::{
    Cell, Clutch, Drawing, Factor, Gamete, KindOfYoung, Luck, Millionths, Share, Square, millionths,
};
use crate::species::Species;

/// Kinds that a picture knows of; it lists the first of them.
const MOST_KINDS: usize = 60;
/// Young of a clutch whose spread is worked out.
const MOST_YOUNG: u32 = 80;

/// The picture of a pairing that was understood; `None` where there is none to draw.
pub(in crate::conversation) fn drawn(species: &Species, reading: &Reading) -> Option<Drawing> {
    let scene = Scene::of(species, &reading.pairing)?;
    Some(match reading.pairing.aspect {
        Aspect::Square => Drawing::Square(square(&scene)),
        _ => Drawing::Clutch(clutch(&scene)),
    })
}

fn share_of(share: &Odds) -> Millionths {
    millionths(to_f64(share))
}

fn title(scene: &Scene<'_>) -> String {
    let understood = super::understood(scene);
    match scene.cases.first().and_then(|case| case.side) {
        Some(side) => format!("{understood} {}", say::side(scene.species, side)),
        None => understood,
    }
}

fn clutch(scene: &Scene<'_>) -> Clutch {
    let (species, young) = (scene.species, scene.young());
    let brood = scene.brood();
    let (eggs, stated) = match scene.laying() {
        Some(Laying::Stated { n, k }) => (n.saturating_mul(k), true),
        Some(Laying::Usual { eggs, k, .. }) => (u32::try_from(eggs[1]).unwrap_or(1).saturating_mul(k), false),
        None => (1, false),
    };
    let mut all = Vec::new();
    let mut first = None;
    for kind in kinds(species, young).take(MOST_KINDS) {
        let name = kind.name(&[]);
        all.push(KindOfYoung {
            name: name.clone(),
            fraction: labels::fraction(&kind.share),
            share: share_of(&kind.share),
        });
        first.get_or_insert_with(|| (name, kind.wanted()));
    }
    let best = scene.pairing.target.clone().or_else(|| best_target(scene));
    let about = best.map(|t| (labels::target(species, &t), wanted(species, &t))).or(first);
    let luck = about.filter(|_| eggs <= MOST_YOUNG).and_then(|(name, wanted)| {
        let chances = Chances::of(young, &wanted).ok()?;
        let counts = chances.distribution(eggs).ok()?;
        Some(Luck { name, chances: counts.iter().map(share_of).collect() })
    });
    let lost = young.lost();
    Clutch {
        title: title(scene),
        eggs,
        stated,
        unit: if stated { brood.one.to_owned() } else { "young".to_owned() },
        kinds: all,
        rest: (!lost.is_zero()).then(|| say::share_lost(&lost, brood)),
        luck,
    }
}

/// Which of two copies are of the gene, where the locus has one gene and both copies.
fn whole_copies(factor: &CrossFactor, genotype: Genotype) -> Option<[bool; 2]> {
    let (a, b) = genotype.alleles();
    let cells = factor.cells().iter().flat_map(|c| [c.genotype.alleles().0, c.genotype.alleles().1]);
    let mut genes: Vec<AlleleId> = cells.filter(|allele| *allele != AlleleId::WILD).collect();
    genes.sort_unstable();
    genes.dedup();
    let full = |allele: AlleleId| allele != AlleleId::WILD;
    // The copy that is not wild stands first.
    (genes.len() <= 1 && a != AlleleId::NONE && b != AlleleId::NONE).then(|| [full(a) || full(b), full(a) && full(b)])
}

fn square(scene: &Scene<'_>) -> Square {
    let young = scene.young();
    let varied = varied(young);
    let codes = codes(scene, &varied);
    let (down, across) = (gametes(scene, &varied, Parent::Sire, &codes), gametes(scene, &varied, Parent::Dam, &codes));
    let sexed = scene.pairing.parents.iter().any(|p| p.sex != SexSaid::Unknown);
    let parents = if sexed { ["the male", "the female"] } else { ["one parent", "the other"] };
    let mut drawn = Square {
        title: title(scene),
        parents: parents.map(str::to_owned),
        down: Vec::new(),
        across: Vec::new(),
        cells: Vec::new(),
        kinds: Vec::new(),
        factors: Vec::new(),
        signs: Vec::new(),
    };
    if !fits(scene, &varied, &down, &across) {
        drawn.factors = varied
            .iter()
            .filter_map(|id| young.factor(*id))
            .map(|factor| Factor {
                name: genes_at(scene.species, factor).join(", "),
                parts: parts_with_genotypes(scene.species, factor)
                    .into_iter()
                    .map(|(genotype, name, share)| Share {
                        name,
                        copies: whole_copies(factor, genotype),
                        fraction: labels::fraction(&share),
                        share: share_of(&share),
                    })
                    .collect(),
            })
            .collect();
        return drawn;
    }
    let all: Vec<_> = kinds(scene.species, young).take(MOST_KINDS).collect();
    let gamete = |(alleles, share): &(Vec<AlleleId>, Odds)| Gamete {
        alleles: varied.iter().zip(alleles).map(|(id, a)| code(&codes, *id, *a).to_owned()).collect(),
        fraction: labels::fraction(share).replace("all", "1"),
    };
    let look = |id: LocusId, g: Genotype| young.factor(id).map_or(Look::WILD, |factor| factor.locus().look_of(g));
    let cell = |a: &[AlleleId], b: &[AlleleId]| {
        let at: Vec<(LocusId, Genotype)> =
            varied.iter().zip(a.iter().zip(b)).map(|(id, (x, y))| (*id, Genotype::pair(*x, *y))).collect();
        let belongs = |told: &[(LocusId, Vec<(Genotype, Odds)>)]| {
            at.iter().all(|(id, g)| {
                told.iter().find(|t| t.0 == *id).is_none_or(|t| t.1.iter().any(|o| o.0.alleles() == g.alleles()))
            })
        };
        Cell {
            copies: varied.iter().zip(a.iter().zip(b)).map(|(id, (x, y))| copies(&codes, *id, *x, *y)).collect(),
            kind: all.iter().position(|kind| belongs(&kind.told)).unwrap_or(0),
            shows: at.iter().any(|(id, g)| look(*id, *g) != Look::WILD),
            carries: at.iter().any(|(id, g)| look(*id, *g) == Look::WILD && g.copies_of(AlleleId::WILD) < 2),
        }
    };
    drawn.cells = down.iter().map(|d| across.iter().map(|a| cell(&d.0, &a.0)).collect()).collect();
    drawn.down = down.iter().map(gamete).collect();
    drawn.across = across.iter().map(gamete).collect();
    drawn.kinds = all.iter().map(|k| (k.name(&[]), labels::fraction(&k.share), share_of(&k.share))).collect();
    drawn.signs = legend(scene, &codes);
    drawn
}
