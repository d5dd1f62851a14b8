//! Sex linkage, whole and partial.
//!
//! Partial (XY with recombination r between the locus and the sex): values computed from the definition.
//! Whole: Morgan T.H. (1910) Sex limited inheritance in Drosophila. Science 32:120-122; the pattern was seen in his
//! Critique of the Theory of Evolution.

use hatchward::engine::inheritance::clutch::{Wanted, per_egg};
use hatchward::engine::inheritance::cross::{Offspring, cross};
use hatchward::engine::inheritance::genotype::Genotype;
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexLink, SexSystem};
use hatchward::engine::odds::{Odds, half, odds};

use crate::pairs::{animal, pair, sided};

const HERE: LocusId = LocusId(0);

fn genetics(link: SexLink, system: SexSystem) -> Genetics {
    Genetics::new(vec![Locus::trade(&[Mode::IncompleteDominant]).with_sex_link(link)], Some(system)).unwrap()
}

fn young(genetics: &Genetics, sire: Genotype, dam: Genotype) -> Offspring {
    cross(genetics, &animal(&[sire]), &animal(&[dam])).unwrap()
}

/// The shares of all young: males with a copy, males without, females with, females without.
fn shares(offspring: &Offspring) -> [Odds; 4] {
    let carriers = [pair(0, 1), sided(0, 1), sided(1, 0), Genotype::sided(AlleleId(1), AlleleId::NONE)];
    let clear = [pair(0, 0), sided(0, 0), Genotype::sided(AlleleId(0), AlleleId::NONE)];
    let share = |sex, genotypes: &[Genotype]| {
        per_egg(offspring, &Wanted::any().of_sex(sex).with(HERE, genotypes.iter().copied())).unwrap()
    };
    let of = |sex| [share(sex, &carriers), share(sex, &clear)];
    let ([a, b], [c, d]) = (of(Sex::Male), of(Sex::Female));
    [a, b, c, d]
}

#[test]
fn a_copy_on_the_y_goes_to_sons_and_one_on_the_x_to_daughters() {
    for (r, with, without) in
        [((1, 20), (475, 1000), (25, 1000)), ((7, 100), (465, 1000), (35, 1000)), ((1, 10), (45, 100), (5, 100))]
    {
        let xy = genetics(SexLink::Recombining(odds(r.0, r.1)), SexSystem::Xy);
        let (with, without) = (odds(with.0, with.1), odds(without.0, without.1));
        let from_y = [with.clone(), without.clone(), without.clone(), with.clone()];
        let from_x = [without.clone(), with.clone(), with, without];
        assert_eq!(shares(&young(&xy, sided(0, 1), pair(0, 0))), from_y);
        assert_eq!(shares(&young(&xy, sided(1, 0), pair(0, 0))), from_x);
        // Birds and some snakes the other way round: the dam has the two kinds of sex chromosomes.
        let zw = genetics(SexLink::Recombining(odds(r.0, r.1)), SexSystem::Zw);
        let [sons, clear_sons, daughters, clear_daughters] = from_y;
        let mirrored = [daughters, clear_daughters, sons, clear_sons];
        assert_eq!(shares(&young(&zw, pair(0, 0), sided(0, 1))), mirrored);
    }
}

#[test]
fn a_dam_with_one_copy_gives_it_to_both_sexes_alike() {
    let xy = genetics(SexLink::Recombining(odds(1, 20)), SexSystem::Xy);
    assert_eq!(shares(&young(&xy, sided(0, 0), pair(0, 1))), [(); 4].map(|()| odds(1, 4)));
}

#[test]
fn the_side_is_kept_over_generations() {
    let xy = genetics(SexLink::Recombining(odds(1, 20)), SexSystem::Xy);
    let genotypes = |offspring: &Offspring, sex: Sex| -> Vec<Genotype> {
        offspring.outcomes().filter(|o| o.sex == Some(sex)).map(|o| o.genotypes[0].1).collect()
    };
    // A recombinant son of a sire with it on the Y has no copy; the others have it on the Y again.
    assert_eq!(genotypes(&young(&xy, sided(0, 1), pair(0, 0)), Sex::Male), [sided(0, 1), sided(0, 0)]);
    // A daughter has it on an X, so her sons with it have it on the X.
    let sons = genotypes(&young(&xy, sided(0, 0), pair(0, 1)), Sex::Male);
    assert!(sons.contains(&sided(1, 0)) && !sons.contains(&sided(0, 1)), "{sons:?}");
}

#[test]
fn free_recombination_is_no_linkage() {
    let xy = genetics(SexLink::Recombining(half()), SexSystem::Xy);
    assert_eq!(shares(&young(&xy, sided(0, 1), pair(0, 0))), [(); 4].map(|()| odds(1, 4)));
}

#[test]
fn white_eyes() {
    let bare = |allele: u8| Genotype::sided(AlleleId(allele), AlleleId::NONE);
    let locus = Locus::trade(&[Mode::Recessive]).with_sex_link(SexLink::OnlyX);
    let fly = Genetics::new(vec![locus], Some(SexSystem::Xy)).unwrap();
    let white = |offspring: &Offspring, sex| {
        per_egg(offspring, &Wanted::any().of_sex(sex).with(HERE, [pair(1, 1), bare(1)])).unwrap()
    };
    // White male × red female: all red; then 3 red to 1 white, every white one male.
    let first = young(&fly, bare(1), pair(0, 0));
    assert_eq!((white(&first, Sex::Male), white(&first, Sex::Female)), (odds(0, 1), odds(0, 1)));
    let second = young(&fly, bare(0), pair(0, 1));
    assert_eq!((white(&second, Sex::Male), white(&second, Sex::Female)), (odds(1, 4), odds(0, 1)));
    // The other way: red daughters, white sons; then all four kinds alike.
    let first = young(&fly, bare(0), pair(1, 1));
    assert_eq!((white(&first, Sex::Male), white(&first, Sex::Female)), (odds(1, 2), odds(0, 1)));
    let second = young(&fly, bare(1), pair(0, 1));
    assert_eq!((white(&second, Sex::Male), white(&second, Sex::Female)), (odds(1, 4), odds(1, 4)));
}
