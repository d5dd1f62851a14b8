//! Sex linkage, full and with recombination.
//!
//! Full: Morgan T.H. (1910) Sex limited inheritance in Drosophila, Science 32:120–122 (pattern confirmed). With recombination:
//! computed; the pattern in pythons is that of Mallery C.S. & Carrillo M.M. (2016) Phyllomedusa 15:29–42 (abstract confirmed,
//! its counts and fraction not).

use hatchward::engine::inheritance::clutch::{Wanted, per_egg};
use hatchward::engine::inheritance::cross::{CrossError, cross};
use hatchward::engine::inheritance::genotype::{Belief, Genome, Genotype};
use hatchward::engine::inheritance::locus::{AlleleId, Genetics, Locus, LocusId, Mode, Sex, SexLink, SexSystem};
use hatchward::engine::odds::{Odds, none, odds};

use crate::pairs::{A, WILD, chances, crossed, genome, het, pure};

const LOCUS: LocusId = LocusId(0);

fn linked(mode: Mode, link: SexLink, sex: SexSystem) -> Genetics {
    Genetics::new(vec![Locus::trade(&[mode]).with_sex_link(link)], Some(sex)).expect("one linked locus")
}

/// Chances of sons and of daughters with a copy, then of those without.
fn shares(genetics: &Genetics, sire: &Genome, dam: &Genome) -> [Odds; 4] {
    let mut shares = [none(), none(), none(), none()];
    for outcome in crossed(genetics, sire, dam).outcomes() {
        let with = outcome.genotypes[0].1.copies_of(A) > 0;
        let index = usize::from(outcome.sex == Some(Sex::Female)) + 2 * usize::from(!with);
        shares[index] += outcome.probability;
    }
    shares
}

#[test]
fn sons_and_daughters_differ_by_the_side_of_the_sire() {
    for (percent, often, seldom) in
        [(5, odds(475, 1000), odds(25, 1000)), (7, odds(465, 1000), odds(35, 1000)), (10, odds(45, 100), odds(5, 100))]
    {
        let link = SexLink::Recombining(odds(percent, 100));
        let xy = linked(Mode::IncompleteDominant, link.clone(), SexSystem::Xy);
        let plain = genome(&[Genotype::WILD]);
        let on_y = shares(&xy, &genome(&[Genotype::sided(WILD, A)]), &plain);
        assert_eq!(on_y, [often.clone(), seldom.clone(), seldom.clone(), often.clone()]);
        let on_x = shares(&xy, &genome(&[Genotype::sided(A, WILD)]), &plain);
        assert_eq!(on_x, [seldom.clone(), often.clone(), often.clone(), seldom.clone()]);
        // A dam with one copy gives it to half of either sex.
        let of_dam = shares(&xy, &Genome::default(), &genome(&[het()]));
        assert_eq!(of_dam, [(); 4].map(|()| odds(1, 4)));
        // ZW mirrors it: the dam has the sides.
        let zw = linked(Mode::IncompleteDominant, link, SexSystem::Zw);
        let on_w = shares(&zw, &plain, &genome(&[Genotype::sided(WILD, A)]));
        assert_eq!(on_w, [seldom.clone(), often.clone(), often, seldom]);
    }
}

#[test]
fn a_daughters_sons_carry_it_on_the_x() {
    let xy = linked(Mode::IncompleteDominant, SexLink::Recombining(odds(1, 20)), SexSystem::Xy);
    let offspring = crossed(&xy, &Genome::default(), &genome(&[het()]));
    let sons: Vec<_> = offspring.outcomes().filter(|o| o.sex == Some(Sex::Male)).map(|o| o.genotypes[0].1).collect();
    assert_eq!(sons.len(), 2);
    assert!(sons.contains(&Genotype::sided(A, WILD)) && sons.contains(&Genotype::sided(WILD, WILD)));
}

#[test]
fn white_eyes() {
    let flies = linked(Mode::Recessive, SexLink::OnlyX, SexSystem::Xy);
    let (red_male, white_male) = (Genotype::sided(WILD, AlleleId::NONE), Genotype::sided(A, AlleleId::NONE));
    let white = |sire, dam| {
        let looks = crossed(&flies, &genome(&[sire]), &genome(&[dam]));
        let shows = |sex, genotype| per_egg(&looks, &Wanted::any().with(LOCUS, vec![genotype]).of_sex(sex));
        (shows(Sex::Male, white_male), shows(Sex::Female, pure()))
    };
    // White male × red female: all red; their young: a quarter white, all of them males.
    assert_eq!(white(white_male, Genotype::WILD), (none(), none()));
    assert_eq!(white(red_male, het()), (odds(1, 4), none()));
    // Red male × white female: white sons, red daughters; then one in four of each.
    assert_eq!(white(red_male, pure()), (odds(1, 2), none()));
    assert_eq!(white(white_male, het()), (odds(1, 4), odds(1, 4)));
}

#[test]
fn one_of_each_needs_both_sexes_to_be_possible() {
    let xy = linked(Mode::Recessive, SexLink::OnlyX, SexSystem::Xy);
    let red_male = genome(&[Genotype::sided(WILD, AlleleId::NONE)]);
    let offspring = crossed(&xy, &red_male, &genome(&[het()]));
    let affected = Wanted::any().with(LOCUS, vec![pure(), Genotype::sided(A, AlleleId::NONE)]);
    assert_eq!(chances(&offspring, &affected).one_of_each(50), none());
    assert_eq!(chances(&offspring, &Wanted::any()).one_of_each(2), odds(1, 2));
}

#[test]
fn genotypes_of_the_other_sex_are_refused() {
    let xy = linked(Mode::Recessive, SexLink::OnlyX, SexSystem::Xy);
    let error = |sire: &Genome, dam: &Genome| cross(&xy, sire, dam).expect_err("cannot be");
    let impossible = |parent, genotype| CrossError::Impossible { parent, locus: LOCUS, genotype };
    assert_eq!(error(&genome(&[het()]), &Genome::default()), impossible(Sex::Male, het()));
    let sided = Genotype::sided(A, WILD);
    assert_eq!(error(&genome(&[sided]), &Genome::default()), impossible(Sex::Male, sided));
    assert_eq!(error(&Genome::default(), &genome(&[sided])), impossible(Sex::Female, sided));
    let elsewhere: Genome = [(LocusId(1), Belief::sure(het()))].into_iter().collect();
    assert_eq!(
        error(&elsewhere, &Genome::default()),
        CrossError::UnknownLocus { parent: Sex::Male, locus: LocusId(1) }
    );
}

#[test]
fn rows_name_the_sex_only_where_the_linked_locus_is_in_play() {
    let loci = vec![
        Locus::trade(&[Mode::Recessive]),
        Locus::trade(&[Mode::Dominant]).with_sex_link(SexLink::Recombining(odds(1, 10))),
    ];
    let genetics = Genetics::new(loci, Some(SexSystem::Xy)).expect("two loci");
    let plain = crossed(&genetics, &genome(&[het()]), &genome(&[het()]));
    assert!(plain.outcomes().all(|outcome| outcome.sex.is_none()));
    // The sex still counts in wishes: half of the eggs.
    assert_eq!(per_egg(&plain, &Wanted::any().with(LOCUS, vec![pure()]).of_sex(Sex::Male)), odds(1, 8));
    // The unlisted linked locus is wild.
    let wild_sons = Wanted::any().with(LocusId(1), vec![Genotype::sided(WILD, WILD)]);
    assert_eq!(per_egg(&plain, &wild_sons), odds(1, 2));
    assert_eq!(chances(&plain, &wild_sons).one_of_each(9), none());
}
