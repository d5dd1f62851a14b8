//! Proving a possible het: what the young that hatched say about its chance, before and after.
//!
//! In: a [`Trial`]. Out: a reply with the odds behind it in one line. Never "certainly not": misses only make it less likely.

use super::labels::{het_share, percent};
use crate::engine::inheritance::clutch::Figure;
use crate::engine::inheritance::genotype::{Belief, Genome, Genotype};
use crate::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Look, Mode, Sex};
use crate::engine::odds::{Odds, odds, sure, to_f64};
use crate::engine::pedigree::descent::AnimalId;
use crate::engine::pedigree::evidence::{EvidenceError, Posterior, weigh};
use crate::engine::pedigree::records::{Animal, Clutch, Records, Young};
use crate::reading::requests::{Mate, SexSaid, Tested, Trial};
use crate::reply::Reply;
use crate::reply::picture::{self as drawing, Drawing, millionths};
use crate::species::Species;

/// The one locus that a trial is about.
const LOCUS: LocusId = LocusId(0);
/// The recessive allele there.
const ALLELE: AlleleId = AlleleId(1);
/// Steps of a picture of how a belief falls.
const MOST_STEPS: u32 = 12;
/// So many eggs are looked at for a wanted certainty.
const MOST_EGGS: u32 = 200;

/// A trial with what a further message tells: more young, the mate, the share that was asked for.
pub(super) fn go_on(last: &Trial, more: &Trial, adds: bool) -> Trial {
    let mut next = last.clone();
    if !more.tested.is_empty() {
        next.tested.clone_from(&more.tested);
        next.open = false;
        for (tested, old) in next.tested.iter_mut().zip(&last.tested) {
            tested.sex = if tested.sex == SexSaid::Unknown { old.sex } else { tested.sex };
        }
    }
    if more.mate != Mate::Untold {
        next.mate = more.mate;
    }
    next.gene = more.gene.or(last.gene);
    if more.normals + more.visuals > 0 {
        let (normals, visuals) = if adds { (last.normals, last.visuals) } else { (0, 0) };
        next.normals = normals.saturating_add(more.normals);
        next.visuals = visuals.saturating_add(more.visuals);
    }
    next.certainty = more.certainty.clone().or(next.certainty);
    next
}

/// The answer to a trial.
pub(super) fn answer(species: Option<&Species>, trial: &Trial) -> Reply {
    let gene = match (trial.gene, species) {
        (Some(gene), Some(species)) => format!(" {}", species.gene(gene).entry.name),
        _ => String::new(),
    };
    let Some(first) = trial.tested.first() else {
        return Reply::sentence(
            "How likely was it a het to begin with: 66 % (from het x het), 50 % (from het x normal), or something else?",
        );
    };
    let both = trial.tested.get(1);
    if both.is_none() && trial.mate == Mate::Untold {
        return Reply::sentence(format!(
            "What was it bred to? A visual{gene} shows the most: half of the young of a het. A het shows a quarter."
        ));
    }
    if both.is_none() && trial.mate == Mate::Normal {
        return Reply::sentence(
            "Bred to an animal that does not carry it, all young look normal whether or not the other is het: nothing is \
             proven. A visual shows it fastest, a het more slowly.",
        );
    }
    let mut reply = Reply { understood: understood(trial, &gene, first, both), ..Reply::default() };
    let weighed = judge(trial, trial.normals, trial.visuals);
    let Ok(after) = weighed else {
        reply.answer.push(format!(
            "These facts clash: a visual{gene} needs a copy from each parent. A wrong sire, a wrong look or a wrong label would \
             explain it; I change nothing by myself."
        ));
        return reply;
    };
    if trial.normals + trial.visuals > 0 {
        before_and_after(&mut reply, trial, &gene, &after);
    }
    match both {
        None if trial.visuals == 0 => {
            to_be_sure(&mut reply, trial, &gene, first, &after);
            reply.drawing = drawn(&reply.understood, trial, first).map(Box::new);
        }
        Some(other) if trial.visuals == 0 && (trial.how_many || trial.certainty.is_some()) => {
            reply.answer.extend(never_by_misses(trial, &gene, first, other));
        }
        _ => {}
    }
    reply
}

/// How the chance falls with each young that looks normal.
fn drawn(title: &str, trial: &Trial, tested: &Tested) -> Option<Drawing> {
    let every = trial.normals.div_ceil(MOST_STEPS).max(1);
    let mut steps = vec![("to begin with".to_owned(), millionths(to_f64(&tested.carries)))];
    for young in (1..=trial.normals).filter(|n| n % every == 0 || *n == trial.normals) {
        let now = value(&carries(&judge(trial, young, 0).ok()?, 0));
        steps.push((format!("after {young} that look normal"), millionths(now)));
    }
    (trial.normals > 0).then(|| Drawing::Belief(drawing::Belief { title: title.to_owned(), steps }))
}

fn understood(trial: &Trial, gene: &str, first: &Tested, both: Option<&Tested>) -> String {
    let sign = |sex: SexSaid| match sex {
        SexSaid::Male => "\u{2642} ",
        SexSaid::Female => "\u{2640} ",
        SexSaid::Unknown => "",
    };
    let possible = |t: &Tested| format!("{}{} het{gene}", sign(t.sex), het_share(&t.carries));
    let mate = match (both, trial.mate) {
        (Some(other), _) => possible(other),
        (None, Mate::Het) => format!("{}het{gene}", sign(first.sex.other())),
        (None, _) => format!("{}visual{gene}", sign(first.sex.other())),
    };
    let mut young = Vec::new();
    if trial.normals > 0 {
        young.push(format!("{} normal-looking", trial.normals));
    }
    if trial.visuals > 0 {
        young.push(format!("{} visual", trial.visuals));
    }
    let young = if young.is_empty() { String::new() } else { format!(": {} young", young.join(", ")) };
    format!("{} \u{d7} {mate}{young}", possible(first))
}

fn before_and_after(reply: &mut Reply, trial: &Trial, gene: &str, after: &Posterior) {
    for (k, tested) in trial.tested.iter().enumerate() {
        let who = match (tested.sex, trial.tested.len(), k) {
            (SexSaid::Male, ..) => "he",
            (SexSaid::Female, ..) => "she",
            (SexSaid::Unknown, 2, 0) => "the first",
            (SexSaid::Unknown, 2, _) => "the second",
            (SexSaid::Unknown, ..) => "it",
        };
        let now = carries(after, k);
        reply.answer.push(if is_sure(&now) {
            format!("Proven: {who} is het{gene} for sure. Before: {}.", percent(&tested.carries))
        } else {
            format!("That {who} is het{gene}: {} before, {} now.", percent(&tested.carries), shown(&now))
        });
    }
    if trial.visuals > 0 {
        reply.answer.push("A visual young needs a copy from each parent, so one is enough.".to_owned());
        return;
    }
    let (share, per) = if trial.tested.len() == 2 || trial.mate == Mate::Het {
        ("three quarters", odds(3, 4))
    } else {
        ("half", odds(1, 2))
    };
    let n = i32::try_from(trial.normals).unwrap_or(i32::MAX);
    let misses = if n < 200 { percent(&per.pow(n)) } else { percent(&odds(0, 1)) };
    reply.notes.push(if trial.tested.len() == 2 {
        format!(
            "If both carry, {share} of the young look normal all the same: {} in a row happen with {misses}. The two now hang \
             together: the surer one is, the less likely the other.",
            trial.normals
        )
    } else {
        format!(
            "If it carries, {share} of the young look normal all the same: {} in a row happen with {misses}; if not, always.",
            trial.normals
        )
    });
}

/// Two possible hets: misses of theirs never settle it, because it may be the other that does not carry.
fn never_by_misses(trial: &Trial, gene: &str, first: &Tested, other: &Tested) -> Vec<String> {
    let left = |one: &Odds, two: &Odds| one * (sure() - two) / (sure() - one * two);
    let level = trial.certainty.clone().unwrap_or_else(|| odds(19, 20));
    let eggs = (1..=MOST_EGGS).find(|n| sure() - odds(1, 2).pow(i32::try_from(*n).unwrap_or(1)) >= level);
    let (one, two) = (left(&first.carries, &other.carries), left(&other.carries, &first.carries));
    let each = if one == two {
        format!("both stay above {}", percent(&one))
    } else {
        format!("the first stays above {}, the second above {}", percent(&one), percent(&two))
    };
    let mut lines = vec![format!(
        "However many normals this pair gives, {each}: it may always be the other that does not carry. One visual proves both."
    )];
    lines.extend(eggs.map(|n| {
        format!("To be {} sure of one of them breed it to a visual{gene}: a het shows it in {n} eggs.", percent(&level))
    }));
    lines
}

/// What would settle it: eggs until a het would have shown, and misses until it is unlikely.
fn to_be_sure(reply: &mut Reply, trial: &Trial, gene: &str, first: &Tested, after: &Posterior) {
    let miss = if trial.mate == Mate::Het { odds(3, 4) } else { odds(1, 2) };
    let levels: Vec<Odds> =
        trial.certainty.clone().map_or_else(|| vec![odds(9, 10), odds(19, 20), odds(99, 100)], |c| vec![c]);
    let eggs: Vec<String> = levels
        .iter()
        .filter_map(|level| {
            let n = (1..=MOST_EGGS).find(|n| sure() - miss.pow(i32::try_from(*n).unwrap_or(1)) >= *level)?;
            Some(format!("{n} for {}", percent(level)))
        })
        .collect();
    if trial.normals == 0 {
        reply.answer.push(format!("A het shows a visual{gene} among so many eggs: {}.", eggs.join(", ")));
    }
    let now = carries(after, 0);
    let more: Vec<String> = [odds(1, 10), odds(1, 20), odds(1, 100)]
        .iter()
        .filter(|level| value(&now) > crate::engine::odds::to_f64(level))
        .filter_map(|level| {
            let n = (1..=MOST_EGGS).find(|n| {
                judge(trial, trial.normals + n, 0)
                    .is_ok_and(|p| value(&carries(&p, 0)) < crate::engine::odds::to_f64(level))
            })?;
            Some(format!("{n} for under {}", percent(level)))
        })
        .collect();
    let lead = if trial.normals == 0 {
        "Normals in a row until a het is unlikely"
    } else {
        "More normals until it is unlikely"
    };
    if !more.is_empty() {
        reply.answer.push(format!("{lead}: {}.", more.join(", ")));
    }
    if first.carries < sure() {
        reply.notes.push("Misses never prove that it is not; a single visual proves that it is.".to_owned());
    }
}

/// The chances after so many young.
fn judge(trial: &Trial, normals: u32, visuals: u32) -> Result<Posterior, EvidenceError> {
    let genetics =
        Genetics::new(vec![Locus::trade(&[Mode::Recessive])], None).map_err(|_| EvidenceError::Impossible)?;
    let het = Genotype::pair(AlleleId(0), ALLELE);
    let wild = Genotype::pair(AlleleId(0), AlleleId(0));
    let visual = Genotype::pair(ALLELE, ALLELE);
    let possible = |p: &Odds| Belief::mix([(het, p.clone()), (wild, sure() - p)]).unwrap_or_else(|_| Belief::sure(het));
    let animal = |belief: Belief, sex: Sex| Animal {
        sex: Some(sex),
        beliefs: Genome::wild().with(LOCUS, belief),
        ..Animal::default()
    };
    let mate = match (trial.tested.get(1), trial.mate) {
        (Some(other), _) => possible(&other.carries),
        (None, Mate::Het) => Belief::sure(het),
        (None, Mate::Normal) => Belief::sure(wild),
        (None, _) => Belief::sure(visual),
    };
    let first = trial.tested.first().map_or_else(|| Belief::sure(het), |t| possible(&t.carries));
    let locus = &genetics.loci()[0];
    let look = |g: Genotype| -> Look { locus.look_of(g) };
    let young = |g: Genotype, count: u32| Young { seen: [(LOCUS, vec![look(g)])].into(), sex: None, count };
    let clutch = Clutch {
        sires: vec![(AnimalId(0), sure())],
        dam: Some(AnimalId(1)),
        young: [young(wild, normals), young(visual, visuals)].into_iter().filter(|y| y.count > 0).collect(),
        ..Clutch::default()
    };
    let records = Records {
        animals: vec![animal(first, Sex::Male), animal(mate, Sex::Female)],
        clutches: vec![clutch],
        ..Records::default()
    };
    weigh(&genetics, &records)
}

fn carries(posterior: &Posterior, animal: usize) -> Figure {
    posterior.carries(AnimalId(animal), LOCUS, ALLELE)
}

fn value(figure: &Figure) -> f64 {
    figure.to_f64()
}

fn is_sure(figure: &Figure) -> bool {
    matches!(figure, Figure::Exact(p) if *p == sure())
}

/// "0.78 % (1/129)", the fraction where it is short.
fn shown(figure: &Figure) -> String {
    match figure {
        Figure::Exact(p) if p.denom().bits() <= 14 => format!("{} ({p})", percent(p)),
        Figure::Exact(p) => percent(p),
        Figure::Rounded(x) => format!("{:.2} %", x * 100.0),
    }
}
