//! The odds of a pairing: the walk from a reading through the engine to a reply.

use std::fmt::Write as _;

use num_traits::{One, Zero};

use super::{cautions, labels};
use crate::engine::inheritance::clutch::{Chances, Wanted, per_egg};
use crate::engine::inheritance::cross::{Offspring, cross};
use crate::engine::inheritance::genotype::Genotype;
use crate::engine::inheritance::locus::{AlleleId, LocusId, Look, Sex};
use crate::engine::inheritance::outcomes::LookOutcome;
use crate::engine::odds::{Odds, none, odds, sure};
use crate::reading::requests::{Animal, Aspect, Pairing, Reading, SexSaid, Side, Target};
use crate::reply::{Reply, Row};
use crate::species::genetics::Sits;
use crate::species::{GeneId, Species};

/// Rows of the first answer.
const ROWS: usize = 8;
/// Rows when everything was asked for.
const ALL_ROWS: usize = 24;

/// The cross of two read animals. The first is the sire unless the sexes say otherwise.
///
/// `linked` puts sex-linked genes on the sex chromosomes; `None` where the engine refuses.
#[must_use]
pub fn offspring(species: &Species, parents: &[Animal], linked: bool, side: Side) -> Option<Offspring> {
    let [first, second] = parents else { return None };
    let (sire, dam) =
        if first.sex == SexSaid::Female || second.sex == SexSaid::Male { (second, first) } else { (first, second) };
    let carries = |a: &Animal| a.genes.iter().map(|c| (c.gene, c.copies, c.chance.clone())).collect::<Vec<_>>();
    let genetics = species.genetics(linked).ok()?;
    let sits = match (linked, side) {
        (false, _) => Sits::Anywhere,
        (true, Side::X) => Sits::X,
        (true, Side::Y) => Sits::Y,
    };
    cross(&genetics, &species.genome(&carries(sire), sits), &species.genome(&carries(dam), Sits::Anywhere)).ok()
}

/// The genotypes that count for a wish.
#[must_use]
pub fn wanted(species: &Species, target: &Target) -> Wanted {
    let mut wanted = Wanted::any();
    let mut loci: Vec<LocusId> = target.genes.iter().filter_map(|g| species.place(g.0).map(|p| p.0)).collect();
    loci.sort_unstable();
    loci.dedup();
    for locus in loci {
        let here: Vec<(GeneId, AlleleId, u8)> = target
            .genes
            .iter()
            .filter_map(|(g, n)| species.place(*g).filter(|p| p.0 == locus).map(|p| (*g, p.1, *n)))
            .collect();
        let n_alleles = species.loci().get(usize::from(locus.0)).map_or(0, |l| l.genes.len()) + 1;
        let all = (0..n_alleles).filter_map(|a| u8::try_from(a).ok()).map(AlleleId).collect::<Vec<_>>();
        let mut counts = Vec::new();
        for a in &all {
            for b in &all {
                let fits = |g: Genotype| {
                    here.iter().all(|(gene, allele, n)| {
                        let copies = g.copies_of(*allele);
                        let exactly = target.hets.contains(gene);
                        // One copy of a visible gene means "shows it": at least one.
                        if *n == 2 {
                            copies == 2
                        } else if exactly {
                            copies == 1
                        } else {
                            copies >= 1
                        }
                    })
                };
                for g in [Genotype::pair(*a, *b), Genotype::sided(*a, *b)] {
                    if fits(g) {
                        counts.push(g);
                    }
                }
            }
        }
        counts.sort_unstable();
        counts.dedup();
        wanted = wanted.with(locus, counts);
    }
    match target.sex {
        SexSaid::Male => wanted.of_sex(Sex::Male),
        SexSaid::Female => wanted.of_sex(Sex::Female),
        SexSaid::Unknown => wanted,
    }
}

/// Answers a pairing.
#[must_use]
pub fn answer(species: &Species, reading: &Reading) -> Reply {
    let mut reply = one(species, &reading.pairing);
    if let Some(second) = &reading.compare {
        let mut other = one(species, second);
        // Cautions come first, whichever of the two pairings they are about.
        reply.cautions.retain(|c| !other.cautions.contains(c));
        reply.cautions.append(&mut other.cautions);
        reply.notes.push(String::new());
        reply.notes.push(format!("Compared with {}", other.text()));
    }
    reply
}

fn one(species: &Species, pairing: &Pairing) -> Reply {
    let mut reply = Reply { cautions: cautions::cautions(species, pairing), ..Reply::default() };
    let [a, b] = &pairing.parents[..] else { return reply };
    reply.understood = format!("{}: {} × {}", species.name(), labels::animal(species, a), labels::animal(species, b));
    if let Some(n) = pairing.clutch_size {
        let _ = write!(reply.understood, ", {n} eggs");
    }
    let sire = if a.sex == SexSaid::Female || b.sex == SexSaid::Male { b } else { a };
    let linked =
        sire.genes.iter().find(|c| c.copies == 1 && species.gene(c.gene).entry.sex_linked.is_some()).map(|c| c.gene);
    let cases: Vec<(Option<&str>, Side, bool)> = match (linked, sire.side) {
        (None, _) => vec![(None, Side::X, false)],
        (Some(_), Some(side)) => vec![(None, side, true)],
        (Some(_), None) => vec![
            (Some("If his copy came from his mother:"), Side::X, true),
            (Some("If his copy came from his father:"), Side::Y, true),
        ],
    };
    if let (Some(gene), true) = (linked, cases.iter().any(|c| c.2)) {
        let entry = &species.gene(gene).entry;
        let share = entry.sex_linked.as_ref().map_or(0.0, |l| l.recombination * 100.0);
        reply.notes.push(format!(
            "{} is sex-linked: crossovers are taken at {share:.0} in 100, a keepers' figure, not a published one.",
            entry.name
        ));
    }
    for (title, side, sexed) in cases {
        let Some(young) = offspring(species, &pairing.parents, sexed, side) else {
            reply.answer.push("This pairing is more than I can work out; please name fewer genes.".to_owned());
            return reply;
        };
        if let Some(target) = &pairing.target {
            if let Some(title) = title {
                reply.answer.push(title.to_owned());
            }
            aim(species, pairing, target, &young, &mut reply);
        } else {
            table(species, pairing, &young, title, &mut reply);
        }
        if young.lost() > none() {
            reply.notes.push(format!("{} of the eggs are lost before hatching (keepers report).", young.lost()));
        }
    }
    if pairing.target.is_none() {
        if pairing.clutch_size.is_some() {
            reply.notes.push(
                "In brackets: the chance of at least one such young in the clutch, each egg taken as one young."
                    .to_owned(),
            );
        } else {
            reply.notes.push("Odds are per egg; small clutches swing. Say \"in 7 eggs\" for a clutch.".to_owned());
        }
    }
    let hidden: Vec<&str> = a.looks.iter().chain(&b.looks).map(|g| species.gene(*g).entry.name.as_str()).collect();
    if !hidden.is_empty() {
        reply.notes.push(format!("No odds for {}: line-bred looks, not single genes.", hidden.join(", ")));
    }
    reply
}

/// The answer to "odds on a …".
fn aim(species: &Species, pairing: &Pairing, target: &Target, young: &Offspring, reply: &mut Reply) {
    let wanted = wanted(species, target);
    let Ok(share) = per_egg(young, &wanted) else {
        reply.answer.push("Sex is set by temperature in this species: I can give odds of looks only.".to_owned());
        return;
    };
    let name = format!("{}{}", labels::mark(target.sex), labels::genes(species, &target.genes));
    if share.is_zero() {
        reply.answer.push(format!("{name}: not possible from this pairing."));
        for (gene, copies) in &target.genes {
            let bring = |p: &Animal| p.genes.iter().any(|c| c.gene == *gene);
            let n = pairing.parents.iter().filter(|p| bring(p)).count();
            if n < usize::from(*copies) {
                let gene = &species.gene(*gene).entry.name;
                reply.answer.push(if n == 0 {
                    format!("Neither parent carries {gene}.")
                } else {
                    format!("Both parents must carry {gene}, and only one does; the young can be het at most.")
                });
            }
        }
        return;
    }
    reply.answer.push(format!("{name}: {} per egg ({})", fraction(&share), labels::percent(&share)));
    let Ok(chances) = Chances::of(young, &wanted) else { return };
    if let Some(n) = pairing.clutch_size {
        let Ok(hit) = chances.at_least_one(u64::from(n)) else { return };
        let exact = hit.to_string();
        let exact = if exact.len() <= 12 { format!(" ({exact})") } else { String::new() };
        reply.answer.push(format!(
            "At least one in {n} eggs: {}{exact}; none: {}.",
            labels::percent(&hit),
            labels::percent(&(sure() - &hit))
        ));
        if let Some(k) = pairing.clutches.filter(|k| *k > 1) {
            let Ok(all) = chances.at_least_one(u64::from(n) * u64::from(k)) else { return };
            reply.answer.push(format!("In {k} such clutches: {}.", labels::percent(&all)));
        }
    }
    if pairing.aspect == Aspect::HowMany || pairing.clutch_size.is_none() {
        let levels: Vec<Odds> = match &pairing.certainty {
            Some(level) => vec![level.clone()],
            None => vec![odds(1, 2), odds(9, 10), odds(95, 100), odds(99, 100)],
        };
        let words: Vec<String> = levels
            .iter()
            .filter_map(|l| chances.eggs_for(l).map(|n| format!("{n} for {}", labels::percent(l))))
            .collect();
        if words.is_empty() {
            reply.answer.push(format!(
                "However many eggs: never above {}, the chance that both parents carry it.",
                labels::percent(&chances.reach())
            ));
        } else {
            reply.answer.push(format!("Eggs to see at least one: {}.", words.join(", ")));
        }
    }
}

/// The table of young, grouped by look.
fn table(species: &Species, pairing: &Pairing, young: &Offspring, title: Option<&str>, reply: &mut Reply) {
    let most = if pairing.shown.all { ALL_ROWS } else { ROWS };
    let mut left = sure() - young.lost();
    let mut shown = 0_usize;
    if let Some(title) = title {
        reply.rows.push(Row {
            fraction: String::new(),
            percent: String::new(),
            kind: title.to_owned(),
            in_clutch: None,
        });
    }
    for row in young.looks() {
        if shown == most {
            break;
        }
        let told = told(young, &row);
        let (kind, normal) = kind(species, &row, &told);
        left -= &row.probability;
        if pairing.shown.without_normals && normal {
            continue;
        }
        shown += 1;
        let in_clutch = pairing.clutch_size.and_then(|n| {
            let mut wanted = Wanted::any();
            for (locus, genotypes) in &told {
                wanted = wanted.with(*locus, genotypes.iter().map(|g| g.0));
            }
            if let Some(sex) = row.sex {
                wanted = wanted.of_sex(sex);
            }
            let hit = Chances::of(young, &wanted).ok()?.at_least_one(u64::from(n)).ok()?;
            Some(format!("{} in {n}", labels::percent(&hit)))
        });
        reply.rows.push(Row {
            fraction: fraction(&row.probability),
            percent: labels::percent(&row.probability),
            kind,
            in_clutch,
        });
    }
    let total = young.n_looks();
    if left > none() {
        let rest = total - shown;
        reply.rest = Some(format!("and {rest} rarer kinds, together {}", short_fraction(&left)));
    }
}

/// The genotypes of a kind of young at every locus in play, also where the look alone tells them.
fn told(young: &Offspring, row: &LookOutcome) -> Vec<(LocusId, Vec<(Genotype, Odds)>)> {
    let given = |id: LocusId| row.genotypes.iter().find(|(locus, _)| *locus == id).map(|(_, g)| g.to_vec());
    let alone = |id: LocusId, look: Look| {
        let factor = young.factor(id)?;
        let sexed = |sex: Option<Sex>| row.sex.is_none() || sex.is_none() || sex == row.sex;
        let cell = factor.cells().iter().find(|c| sexed(c.sex) && factor.locus().look_of(c.genotype) == look)?;
        Some(vec![(cell.genotype, sure())])
    };
    row.looks.iter().filter_map(|(id, look)| Some((*id, given(*id).or_else(|| alone(*id, *look))?))).collect()
}

/// A kind of young in words, and whether it shows nothing.
fn kind(species: &Species, row: &LookOutcome, told: &[(LocusId, Vec<(Genotype, Odds)>)]) -> (String, bool) {
    let (mut shown, mut hidden) = (Vec::new(), Vec::new());
    for (locus, genotypes) in told {
        let (look, carried) = labels::at_locus(species, *locus, genotypes);
        shown.extend(look);
        hidden.extend(carried);
    }
    let normal = shown.is_empty();
    if normal {
        shown.push("normal-looking".to_owned());
    }
    shown.append(&mut hidden);
    let sex = match row.sex {
        Some(Sex::Male) => "♂ ",
        Some(Sex::Female) => "♀ ",
        None => "",
    };
    (format!("{sex}{}", shown.join(", ")), normal)
}

fn fraction(share: &Odds) -> String {
    if share.is_one() { "all".to_owned() } else { share.to_string() }
}

/// A fraction that fits a line; long ones are left to the percent.
fn short_fraction(share: &Odds) -> String {
    let text = share.to_string();
    if text.len() <= 12 { text } else { format!("about {}", labels::percent(share)) }
}
