//! Inbreeding and relationship from books and lecture notes.

use std::fmt::Write as _;

use hatchward::engine::odds::{Odds, none, odds, parse, sure};
use hatchward::engine::pedigree::descent::{AnimalId, Descent, Parents};
use hatchward::engine::pedigree::kinship::relate;
use num_bigint::BigInt;
use num_traits::Zero;
use proptest::prelude::*;

use crate::kin::{Kin, check_inbreeding};

/// Computed; 1/4, 1/8 and 1/16 also stand at encyclopedia.com, "coefficient of inbreeding".
#[test]
fn matings_of_one_generation() {
    for (pedigree, f) in [
        ("D = A x B; Z = A x D", odds(1, 4)),               // parent and young
        ("C, D = A x B; Z = C x D", odds(1, 4)),            // full siblings
        ("C = A x B; D = A x E; Z = C x D", odds(1, 8)),    // half siblings
        ("C = B x A; D = E x C; Z = B x D", odds(1, 8)),    // grandparent and grandchild
        ("C, D = A x B; F = E x D; Z = C x F", odds(1, 8)), // uncle and niece
        ("C, D = A x B; E, F = G x H; I = C x E; J = D x F; Z = I x J", odds(1, 8)), // double first cousins
        ("C, D = A x B; I = S x C; J = S x D; Z = I x J", odds(3, 16)), // same sire, dams full siblings
        ("C = A x B; D = A x G; F = E x D; Z = C x F", odds(1, 16)), // half uncle and niece
        ("C, D = A x B; I = C x G; J = H x D; Z = I x J", odds(1, 16)), // first cousins
        ("C, D = A x B; I = C x G; J = D x H; K = I x M; L = N x J; Z = K x L", odds(1, 64)), // second cousins
    ] {
        check_inbreeding(pedigree, &[("Z", f)]);
    }
}

/// An inbred common ancestor counts his path (1 + F) times: half siblings by a sire with F = 1/2 (computed).
#[test]
fn an_inbred_common_ancestor() {
    let sibs = "c1, d1 = a x b; c2, d2 = c1 x d1; c3, d3 = c2 x d2; s = c3 x d3";
    check_inbreeding(&format!("{sibs}; x = s x p; y = s x q; z = x x y"), &[("s", odds(1, 2)), ("z", odds(3, 16))]);
}

/// Falconer and Mackay 1996, the table of regular systems (from memory; the recurrences are computed, that of half
/// siblings also stands in encyclopedias after Crow and Kimura; .25, .375, .50 of full siblings in a livestock table).
#[test]
fn regular_systems() {
    let mut full = String::from("s0, d0 = a x b;");
    let mut back = String::from("d0 = a x b;");
    for g in 1..=10 {
        let p = g - 1;
        let _ = write!(full, "s{g}, d{g} = s{p} x d{p};");
        let _ = write!(back, "d{g} = a x d{p};");
    }
    let full = Kin::new(&full);
    let back = Kin::new(&back);
    let (mut f2, mut f1) = (none(), none());
    let mut b1 = none();
    for g in 1..=10 {
        let f = (sure() + odds(2, 1) * &f1 + &f2) / odds(4, 1);
        assert_eq!(full.inbreeding(&format!("s{g}")), f, "full siblings, generation {g}");
        (f2, f1) = (f1, f);
        let b = (sure() + odds(2, 1) * &b1) / odds(4, 1);
        assert_eq!(back.inbreeding(&format!("d{g}")), b, "back to the sire, generation {g}");
        b1 = b;
    }
    assert_eq!(full.inbreeding("s3"), odds(1, 2));
    // .8862 and .499512 in the table.
    assert_eq!(full.inbreeding("s10"), parse("0.88623046875").unwrap());
    assert_eq!(back.inbreeding("d10"), parse("0.49951171875").unwrap());
}

/// A male with half sisters of his, generation after generation: (1 + 6 F' + F'') / 8 (as above).
#[test]
fn half_siblings_in_a_row() {
    // Every dam has one young a generation; the first is a male, and all others are his mates.
    let mut text = String::new();
    for i in 0..12 {
        let _ = write!(text, "y0_{i} = a x b{i};");
    }
    for g in 1..=10 {
        let p = g - 1;
        for i in 0..12 - g {
            let _ = write!(text, "y{g}_{i} = y{p}_0 x y{p}_{};", i + 1);
        }
    }
    let kin = Kin::new(&text);
    let (mut f2, mut f1) = (none(), none());
    for g in 1..=10 {
        let f = (sure() + odds(6, 1) * &f1 + &f2) / odds(8, 1);
        assert_eq!(kin.inbreeding(&format!("y{g}_0")), f, "generation {g}");
        (f2, f1) = (f1, f);
    }
    // .6915 in the table.
    assert_eq!((f1 * BigInt::from(10_000)).round().to_integer(), BigInt::from(6915));
}

fn matrix(rows: &str) -> Vec<Vec<Odds>> {
    rows.trim().lines().map(|row| row.split_whitespace().map(|cell| parse(cell).unwrap()).collect()).collect()
}

/// Gauss and Jordan, exactly.
fn inverse(mut a: Vec<Vec<Odds>>) -> Vec<Vec<Odds>> {
    let n = a.len();
    for (i, row) in a.iter_mut().enumerate() {
        row.extend((0..n).map(|j| if i == j { sure() } else { none() }));
    }
    for i in 0..n {
        let pivot = (i..n).find(|&r| !a[r][i].is_zero()).unwrap();
        a.swap(i, pivot);
        let by = a[i][i].clone();
        for cell in &mut a[i] {
            *cell /= &by;
        }
        for r in (0..n).filter(|&r| r != i) {
            let factor = a[r][i].clone();
            let row = a[i].clone();
            for (cell, own) in a[r].iter_mut().zip(row) {
                *cell -= &factor * own;
            }
        }
    }
    a.into_iter().map(|row| row[n..].to_vec()).collect()
}

/// Mrode 2014, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., Table 2.1 and section 2.2: the
/// pedigree, F5 = 0.125 and the rows of 1, 4 and 5 were seen; the rest of the matrix is computed and agrees.
#[test]
fn mrode_2014_table_2_1() {
    let kin = Kin::new("3 = 1 x 2; 4 = 1 x -; 5 = 4 x 3; 6 = 5 x 2");
    let expected = matrix(
        "1    0    .5    .5    .5    .25
         0    1    .5    0     .25   .625
         .5   .5   1     .25   .625  .5625
         .5   0    .25   1     .625  .3125
         .5   .25  .625  .625  1.125 .6875
         .25  .625 .5625 .3125 .6875 1.125",
    );
    assert_eq!(kin.relationships(&["1", "2", "3", "4", "5", "6"]), expected);
    assert_eq!((kin.inbreeding("5"), kin.inbreeding("6")), (odds(1, 8), odds(1, 8)));
    let diagonal: Vec<Odds> = inverse(expected).iter().enumerate().map(|(i, row)| row[i].clone()).collect();
    // 1.8333 2.0333 2.5 1.8333 2.5333 2.1333, computed.
    assert_eq!(diagonal, [odds(11, 6), odds(61, 30), odds(5, 2), odds(11, 6), odds(38, 15), odds(32, 15)]);
}

/// Mrode 2014, p. 64: the inverse of the matrix of eight animals, as printed to two decimals (seen). The pedigree is
/// inferred from it.
#[test]
fn mrode_2014_page_64() {
    let kin = Kin::new("4 = 1 x 2; 5 = 3 x -; 6 = 1 x 5; 7 = 3 x 4; 8 = 1 x 7");
    let names = ["1", "2", "3", "4", "5", "6", "7", "8"];
    let inverse = inverse(kin.relationships(&names));
    let hundredths = |odds: &Odds| (odds * BigInt::from(100)).round().to_integer();
    let printed = [250, 150, 183, 250, 183, 200, 250, 200];
    for (i, expected) in printed.into_iter().enumerate() {
        assert_eq!(hundredths(&inverse[i][i]), BigInt::from(expected), "{}", i + 1);
    }
    let off = [
        ((1, 2), 50),
        ((1, 4), -100),
        ((1, 5), 50),
        ((1, 6), -100),
        ((1, 7), 50),
        ((1, 8), -100),
        ((2, 4), -100),
        ((3, 4), 50),
        ((3, 5), -67),
        ((3, 7), -100),
        ((4, 7), -100),
        ((5, 6), -100),
        ((7, 8), -100),
    ];
    for i in 1..=8 {
        for j in i + 1..=8 {
            let expected = off.iter().find(|(at, _)| *at == (i, j)).map_or(0, |(_, n)| *n);
            assert_eq!(hundredths(&inverse[i - 1][j - 1]), BigInt::from(expected), "{i} {j}");
        }
    }
    assert_eq!(kin.inbreeding("8"), odds(1, 8));
}

/// Population-genetics notes of the Royal Veterinary and Agricultural University, Copenhagen, chapter 7.5 (seen).
#[test]
fn copenhagen_notes() {
    let kin = Kin::new("5, 6 = 1 x 2; 7 = 3 x 4; 8 = 5 x 6");
    let names = ["1", "2", "3", "4", "5", "6", "7", "8"];
    let a = kin.relationships(&names);
    assert_eq!(a[7], matrix(".5 .5 0 0 .75 .75 0 1.25")[0]);
    let inverse = inverse(a);
    let diagonal: Vec<Odds> = inverse.iter().enumerate().map(|(i, row)| row[i].clone()).collect();
    assert_eq!(diagonal, matrix("2 2 1.5 1.5 2.5 2.5 2 2")[0]);
    assert_eq!((&inverse[0][1], &inverse[2][3], &inverse[4][5]), (&sure(), &odds(1, 2), &odds(1, 2)));
    assert_eq!((&inverse[0][4], &inverse[2][6], &inverse[4][7]), (&odds(-1, 1), &odds(-1, 1), &odds(-1, 1)));
}

/// Figures 64 to 70 of a genetic-genealogy text; the values were seen in a public test file and computed again.
#[test]
fn figures_of_a_genealogy_text() {
    check_inbreeding(
        "C, D = A x B; E, F = C x D; G, H = E x F; I = G x H",
        &[("E", odds(1, 4)), ("G", odds(3, 8)), ("I", odds(1, 2))],
    );
    check_inbreeding(
        "Aahmes, Nefertari = S x A; AmenhotepI, AahotepII = Aahmes x Nefertari; ThotmesI = AmenhotepI x Senseneb;
         Aames = AmenhotepI x AahotepII; Hatsheput = ThotmesI x Aames",
        &[
            ("AmenhotepI", odds(1, 4)),
            ("AahotepII", odds(1, 4)),
            ("ThotmesI", none()),
            ("Aames", odds(3, 8)),
            ("Hatsheput", odds(1, 4)),
        ],
    );
    check_inbreeding(
        "D, E = A x B; G = C x D; H = E x F; I = G x H; L, M = I x J; O = K x L; P = M x N; Q = O x P",
        &[("I", odds(1, 16)), ("Q", odds(66, 1024))],
    );
    check_inbreeding(
        "D, E = A x B; G = C x D; H = E x F; J, K = G x H; M = - x J; N = K x L; O = M x N",
        &[("O", parse("0.0703125").unwrap())],
    );
    check_inbreeding(
        "F = A x B; G = C x B; H = C x D; I = E x F; J = G x H; L = J x I; M = J x K; N = L x M; O = L x N",
        &[
            ("J", odds(1, 8)),
            ("L", odds(1, 32)),
            ("N", parse("0.1484375").unwrap()),
            ("O", parse("0.33203125").unwrap()),
        ],
    );
    check_inbreeding("E = C x D; C, D = A x B; G = E x F; H = E x G", &[("H", odds(5, 16))]);
}

/// The slow twin: kinship by its definition, from the younger of two animals upwards.
fn slowly(parents: &[Parents], a: usize, b: usize) -> Odds {
    let (old, young) = (a.min(b), a.max(b));
    let own = || parents[young].sires.first().copied().into_iter().chain(parents[young].dam);
    if old == young {
        let pair: Vec<AnimalId> = own().collect();
        let f = if let [s, d] = pair[..] { slowly(parents, s.0, d.0) } else { none() };
        return (sure() + f) / odds(2, 1);
    }
    own().map(|parent| slowly(parents, parent.0, old)).sum::<Odds>() / odds(2, 1)
}

proptest! {
    #[test]
    fn kinship_agrees_with_its_definition(bytes in prop::collection::vec(any::<u8>(), 24)) {
        // Even animals are males; parents come earlier, or are unknown.
        let parents: Vec<Parents> = (0..bytes.len() / 2).map(|i| {
            let one = |byte: u8, sex: usize| {
                let picked = usize::from(byte) % (i / 2 + 2) * 2 + sex;
                (picked < i).then_some(AnimalId(picked))
            };
            Parents { sires: one(bytes[2 * i], 0).into_iter().collect(), dam: one(bytes[2 * i + 1], 1) }
        }).collect();
        let n = parents.len();
        let pairs: Vec<_> = (0..n).flat_map(|a| (0..n).map(move |b| (AnimalId(a), AnimalId(b)))).collect();
        let kinship = relate(&Descent::new(parents.clone(), &[]).unwrap(), &pairs).unwrap();
        for ((a, b), found) in pairs.iter().zip(&kinship.of_pairs) {
            prop_assert_eq!(found, &slowly(&parents, a.0, b.0));
        }
        for (i, f) in kinship.inbreeding.iter().enumerate() {
            prop_assert_eq!((sure() + f) / odds(2, 1), slowly(&parents, i, i));
        }
    }
}

/// Numbers of any length: full siblings for 200 generations, against the recurrence.
#[test]
fn very_deep_pedigrees_are_exact() {
    let mut text = String::from("s0, d0 = a x b;");
    let (mut f2, mut f1) = (none(), none());
    for g in 1..=200 {
        let _ = write!(text, "s{g}, d{g} = s{} x d{};", g - 1, g - 1);
        (f2, f1) = (f1.clone(), (sure() + odds(2, 1) * f1 + f2) / odds(4, 1));
    }
    let kin = Kin::new(&text);
    assert_eq!(kin.inbreeding("s200"), f1);
    assert_eq!(kin.descent().generation(kin.id("s200")), 201);
}
