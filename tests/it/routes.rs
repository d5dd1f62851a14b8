//! Routes against a slow twin that breeds everything with everything until nothing gets sooner, for every set of purchases.

use std::collections::BTreeMap;

use hatchward::engine::inheritance::clutch::{ClutchSize, Wanted};
use hatchward::engine::inheritance::cross::cross;
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexLink, SexSystem};
use hatchward::engine::odds::{Odds, none, odds, to_f64};
use hatchward::engine::planning::route::{Keep, Offer, Problem, Routes, plan};
use hatchward::engine::planning::{Animal, Maturity, Tell};
use proptest::prelude::*;

type Kind = (Vec<Genotype>, Sex);

/// The least number of clutches that reach the confidence, by counting up.
fn clutches(share: &Odds, clutch: &ClutchSize, confidence: &Odds) -> Option<u64> {
    let ClutchSize::Eggs { eggs, hatch, take } = clutch else {
        panic!("the twin counts eggs");
    };
    let mut of_eggs = 1.0;
    for _ in 0..*eggs {
        of_eggs *= 1.0 - to_f64(hatch) * to_f64(share);
    }
    let none_of_clutch = 1.0 - to_f64(take) + to_f64(take) * of_eggs;
    if none_of_clutch >= 1.0 {
        return None;
    }
    let mut missing = 1.0;
    // Ties are within rounding of the level; all other numbers here are much farther from it.
    (1..1_000_000).find(|_| {
        missing *= none_of_clutch;
        1.0 - missing >= to_f64(confidence) - 1e-12
    })
}

/// What two animals give: each kind of keeper with its share of the eggs, and the share that is known to be the goal.
type Given = (Vec<(Kind, Odds)>, Odds);
type Nursery = BTreeMap<(Vec<Genotype>, Vec<Genotype>), Given>;

fn young(problem: &Problem<'_>, sire: &[Genotype], dam: &[Genotype]) -> Given {
    let genome = |of: &[Genotype]| (0..).map(LocusId).zip(of.iter().copied().map(Belief::sure)).collect::<Genome>();
    let offspring = cross(problem.genetics, &genome(sire), &genome(dam)).unwrap();
    let (mut keepers, mut goal) = (Vec::new(), none());
    let mut add = |sex: Option<Sex>, genotypes: &[Vec<Genotype>], share: &Odds| {
        for one in [Sex::Female, Sex::Male] {
            let share = match sex {
                Some(sex) if sex != one => continue,
                Some(_) => share.clone(),
                None => share * odds(1, 2),
            };
            let wanted = problem.goal.sex().is_none_or(|wanted| wanted == one);
            let counts = |(i, here): (u16, &Vec<Genotype>)| here.iter().all(|g| problem.goal.counts(LocusId(i), *g));
            if wanted && (0..).zip(genotypes).all(counts) {
                goal += &share;
            }
            if genotypes.iter().all(|here| here.len() == 1) {
                keepers.push(((genotypes.iter().map(|here| here[0]).collect(), one), share));
            }
        }
    };
    match problem.tell {
        Tell::Genotype => {
            for outcome in offspring.outcomes() {
                let genotypes: Vec<_> = outcome.genotypes.iter().map(|(_, g)| vec![*g]).collect();
                add(outcome.sex, &genotypes, &outcome.probability);
            }
        }
        Tell::Look => {
            for look in offspring.looks() {
                let mut genotypes = vec![Vec::new(); sire.len()];
                for (i, _) in &look.looks {
                    let given = look.genotypes.iter().find(|(id, _)| id == i).map(|(_, g)| g);
                    let factor = offspring.factor(*i).unwrap();
                    let shown = look.looks.iter().find(|(id, _)| id == i).unwrap().1;
                    genotypes[usize::from(i.0)] = if let Some(several) = given {
                        several.iter().map(|(g, _)| *g).collect()
                    } else {
                        let cells = factor.cells().iter().filter(|c| {
                            factor.locus().look_of(c.genotype) == shown
                                && (c.sex.is_none() || look.sex.is_none() || c.sex == look.sex)
                        });
                        cells.map(|c| c.genotype).collect()
                    };
                }
                add(look.sex, &genotypes, &look.probability);
            }
        }
    }
    (keepers, goal)
}

/// The least seasons, or crossings in a row, from these animals.
fn least(problem: &Problem<'_>, nursery: &mut Nursery, animals: &[&Animal], crossings: bool) -> Option<u64> {
    let n = u16::try_from(problem.genetics.loci().len()).unwrap();
    let kind = |animal: &Animal| -> Kind {
        let of = |id| match animal.genome.get(id) {
            Some(belief) => belief.known().unwrap(),
            None => problem.genetics.wild(id, animal.sex),
        };
        ((0..n).map(LocusId).map(of).collect(), animal.sex)
    };
    let is_goal = |(genotypes, sex): &Kind| {
        problem.goal.sex().is_none_or(|wanted| wanted == *sex)
            && (0..).zip(genotypes).all(|(i, g)| problem.goal.counts(LocusId(i), *g))
    };
    let mut ready: BTreeMap<Kind, u64> = BTreeMap::new();
    for animal in animals {
        let kind = kind(animal);
        if is_goal(&kind) {
            return Some(0);
        }
        let at = if crossings { 0 } else { u64::from(animal.ready) };
        let known = ready.entry(kind).or_insert(at);
        *known = at.min(*known);
    }
    let mut best: Option<u64> = None;
    loop {
        let now = ready.clone();
        for ((sire, _), of_sire) in now.iter().filter(|((_, sex), _)| *sex == Sex::Male) {
            for ((dam, _), of_dam) in now.iter().filter(|((_, sex), _)| *sex == Sex::Female) {
                let start = *of_sire.max(of_dam);
                let (keepers, goal) =
                    nursery.entry((sire.clone(), dam.clone())).or_insert_with(|| young(problem, sire, dam));
                let seasons = |share: &Odds| {
                    if crossings {
                        return (*share > none()).then_some(1);
                    }
                    Some(clutches(share, &problem.clutch, &problem.confidence)?.div_ceil(problem.clutches))
                };
                if let Some(n) = seasons(goal) {
                    best = Some(best.map_or(start + n, |best| best.min(start + n)));
                }
                for (kind, share) in keepers {
                    let Some(n) = seasons(share) else { continue };
                    let wait = if crossings { 1 } else { problem.maturity.of(kind.1).into() };
                    let at = start + n - 1 + wait;
                    let known = ready.entry(kind.clone()).or_insert(at);
                    *known = at.min(*known);
                }
            }
        }
        if ready == now {
            return best;
        }
    }
}

/// Price and seasons of every plan not beaten, cheapest first; and the fewest crossings.
fn twin(problem: &Problem<'_>) -> (Vec<(Odds, u64)>, Option<u64>) {
    let mut plans: Vec<(Odds, u64)> = Vec::new();
    let mut nursery = Nursery::new();
    let mut generations: Option<u64> = None;
    for set in 0..1u32 << problem.offers.len() {
        let bought: Vec<&Offer> =
            (0..).zip(&problem.offers).filter(|(i, _)| set >> i & 1 == 1).map(|(_, o)| o).collect();
        let price: Odds = bought.iter().map(|offer| &offer.price).sum();
        if problem.budget.as_ref().is_some_and(|budget| price > *budget) {
            continue;
        }
        let animals: Vec<&Animal> = problem.animals.iter().chain(bought.iter().map(|offer| &offer.animal)).collect();
        if let Some(n) = least(problem, &mut nursery, &animals, true) {
            generations = Some(generations.map_or(n, |known| known.min(n)));
        }
        if let Some(n) = least(problem, &mut nursery, &animals, false) {
            plans.push((price, n));
        }
    }
    plans.sort();
    let mut front: Vec<(Odds, u64)> = Vec::new();
    for (price, n) in plans {
        if front.last().is_none_or(|(_, best)| n < *best) {
            front.push((price, n));
        }
    }
    (front, generations)
}

fn solve(problem: &Problem<'_>) -> Routes {
    let routes = plan(problem, &mut || true).unwrap();
    assert!(routes.complete);
    routes
}

/// The steps of each plan carry it out: parents are there, young can come of them, times add up.
fn check_steps(problem: &Problem<'_>, routes: &Routes) {
    for route in &routes.pareto {
        let price: Odds = route.buy.iter().map(|i| &problem.offers[*i].price).sum();
        assert_eq!(price, route.price);
        let mut had: BTreeMap<Kind, u64> = BTreeMap::new();
        let mut is_goal = false;
        for animal in problem.animals.iter().chain(route.buy.iter().map(|i| &problem.offers[*i].animal)) {
            let of = |id| animal.genome.get(id).map_or(problem.genetics.wild(id, animal.sex), |b| b.known().unwrap());
            let n = u16::try_from(problem.genetics.loci().len()).unwrap();
            let kind: Vec<Genotype> = (0..n).map(LocusId).map(of).collect();
            is_goal |= (0..).zip(&kind).all(|(i, g)| problem.goal.counts(LocusId(i), *g))
                && problem.goal.sex().is_none_or(|sex| sex == animal.sex);
            let at = had.entry((kind, animal.sex)).or_insert(u64::MAX);
            *at = u64::from(animal.ready).min(*at);
        }
        assert_eq!(is_goal, route.steps.is_empty());
        for (i, step) in route.steps.iter().enumerate() {
            let plain = |of: &[(LocusId, Genotype)]| of.iter().map(|(_, g)| *g).collect::<Vec<_>>();
            let (sire, dam) = (plain(&step.sire.genotypes), plain(&step.dam.genotypes));
            let start = had[&(sire.clone(), Sex::Male)].max(had[&(dam.clone(), Sex::Female)]);
            assert_eq!(start, step.season);
            let (keepers, goal) = young(problem, &sire, &dam);
            let share = match &step.keep {
                Keep::Goal => {
                    assert_eq!(i + 1, route.steps.len());
                    assert_eq!(route.seasons, step.season + step.seasons);
                    goal
                }
                Keep::Keeper { sex, genotypes } => {
                    let kind = (plain(genotypes), *sex);
                    let ready = step.season + step.seasons - 1 + u64::from(problem.maturity.of(*sex));
                    let share = keepers.iter().find(|(k, _)| *k == kind).unwrap().1.clone();
                    assert!(had.insert(kind, ready).is_none_or(|before| before > ready));
                    share
                }
            };
            assert_eq!(share, step.per_egg);
            let needed = clutches(&share, &problem.clutch, &problem.confidence).unwrap();
            assert_eq!(needed, step.clutches);
            assert_eq!(needed.div_ceil(problem.clutches), step.seasons);
        }
    }
}

#[track_caller]
fn check(problem: &Problem<'_>) {
    let routes = solve(problem);
    let (front, generations) = twin(problem);
    let found: Vec<_> = routes.pareto.iter().map(|route| (route.price.clone(), route.seasons)).collect();
    assert_eq!(found, front, "{problem:?}");
    assert_eq!(routes.generations, generations, "{problem:?}");
    check_steps(problem, &routes);
}

fn pair(a: u8, b: u8) -> Genotype {
    Genotype::pair(AlleleId(a), AlleleId(b))
}

/// Two recessives and one visible gene of this mode; the last locus on the sex chromosomes if asked.
fn species(visible: Mode, link: Option<SexLink>, lethal: bool) -> Genetics {
    let mut last = Locus::trade(&[visible]);
    if lethal {
        last = last.with_lethal(pair(1, 1));
    }
    if let Some(link) = link {
        last = last.with_sex_link(link);
    }
    Genetics::new(vec![Locus::trade(&[Mode::Recessive]), Locus::trade(&[Mode::Recessive]), last], Some(SexSystem::Xy))
        .unwrap()
}

#[derive(Debug, Clone)]
struct Drawn {
    genetics: Genetics,
    tell: Tell,
    animals: Vec<Animal>,
    offers: Vec<Offer>,
    goal: Wanted,
    maturity: Maturity,
    clutch: ClutchSize,
    clutches: u64,
    confidence: Odds,
    budget: Option<Odds>,
}

impl Drawn {
    fn problem(&self) -> Problem<'_> {
        Problem {
            genetics: &self.genetics,
            tell: self.tell,
            animals: self.animals.clone(),
            offers: self.offers.clone(),
            goal: self.goal.clone(),
            maturity: self.maturity,
            clutch: self.clutch.clone(),
            clutches: self.clutches,
            confidence: self.confidence.clone(),
            budget: self.budget.clone(),
        }
    }
}

prop_compose! {
    /// An animal of the species; copies at the linked locus are told to the sides in turn.
    fn any_animal(linked: bool, bare: bool, lethal: bool)(
        copies in prop::collection::vec(0u8..3, 3), male in any::<bool>(), ready in 0u32..3, side in any::<bool>(),
    ) -> Animal {
        let sex = if male { Sex::Male } else { Sex::Female };
        let mut genome = Genome::wild();
        for (i, n) in (0u16..).zip(copies) {
            let n = if i == 2 && lethal { n.min(1) } else { n };
            let (a, b) = (u8::from(n == 2), u8::from(n > 0));
            let genotype = match (i == 2 && linked && male, bare) {
                (true, true) => Genotype::sided(AlleleId(b), AlleleId::NONE),
                (true, false) if side => Genotype::sided(AlleleId(a), AlleleId(b)),
                (true, false) => Genotype::sided(AlleleId(b), AlleleId(a)),
                _ => pair(a, b),
            };
            genome.set(LocusId(i), Belief::sure(genotype));
        }
        Animal { genome, sex, ready }
    }
}

fn any_problem() -> impl Strategy<Value = Drawn> {
    let link = prop_oneof![
        4 => Just(None),
        1 => Just(Some(SexLink::OnlyX)),
        1 => Just(Some(SexLink::Recombining(odds(1, 4)))),
    ];
    let mode = prop_oneof![Just(Mode::Recessive), Just(Mode::IncompleteDominant), Just(Mode::Dominant)];
    (mode, link, prop::bool::weighted(0.2)).prop_flat_map(|(mode, link, lethal)| {
        let (linked, bare) = (link.is_some(), link == Some(SexLink::OnlyX));
        let lethal = lethal && !linked;
        let genetics = species(mode, link, lethal);
        let animal = move || any_animal(linked, bare, lethal);
        let wanted: Vec<Genotype> = genetics.genotypes(LocusId(2)).collect();
        (
            prop::collection::vec(animal(), 1..5),
            prop::collection::vec((animal(), 0i64..4), 0..4),
            (prop::bool::ANY, prop::bool::ANY, prop::sample::subsequence(wanted.clone(), 0..=wanted.len())),
            prop::option::weighted(0.2, prop::bool::ANY),
            (0u32..4, 0u32..4, 1u64..8, 1i64..6, 1i64..4),
            (1u64..4, prop::sample::select(vec![(1, 2), (3, 4), (4, 5), (9, 10)])),
            prop::option::weighted(0.3, 0i64..6),
            prop::bool::ANY,
        )
            .prop_map(move |(animals, offers, goal, goal_sex, numbers, booked, budget, look)| {
                let (female, male, eggs, hatch, take) = numbers;
                let mut wanted = Wanted::any();
                for (i, asked) in [(0, goal.0), (1, goal.1)] {
                    if asked {
                        wanted = wanted.with(LocusId(i), [pair(1, 1)]);
                    }
                }
                if !goal.2.is_empty() {
                    wanted = wanted.with(LocusId(2), goal.2);
                }
                if let Some(male) = goal_sex {
                    wanted = wanted.of_sex(if male { Sex::Male } else { Sex::Female });
                }
                Drawn {
                    genetics: genetics.clone(),
                    tell: if look { Tell::Look } else { Tell::Genotype },
                    animals,
                    offers: offers.into_iter().map(|(animal, p)| Offer { animal, price: odds(p, 1) }).collect(),
                    goal: wanted,
                    maturity: Maturity { female, male },
                    clutch: ClutchSize::Eggs { eggs, hatch: odds(hatch, 5), take: odds(take, 3) },
                    clutches: booked.0,
                    confidence: odds(booked.1.0, booked.1.1),
                    budget: budget.map(|b| odds(b, 1)),
                }
            })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::cases(150)))]

    #[test]
    fn least_times_of_all_crossing_trees(drawn in any_problem()) {
        check(&drawn.problem());
    }
}
