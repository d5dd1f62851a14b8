//! Sedcole J.R. (1977) Number of plants necessary to recover a trait. Crop Sci. 17:667-668.
//!
//! Citation from memory and its table not seen; the values are computed from the exact binomial.

use hatchward::engine::inheritance::clutch::{Chances, Wanted};
use hatchward::engine::inheritance::locus::LocusId;
use hatchward::engine::odds::{Odds, odds};

use crate::pairs::{animal, clear, het, visual, young};

/// Chances of so many quarters at each locus: 1 and 3 from two carriers, 2 from a carrier and a visual, 4 from two visuals.
fn chances(quarters: &[u8]) -> Chances {
    let sire: Vec<_> = quarters.iter().map(|&n| if n == 4 { visual() } else { het() }).collect();
    let dam: Vec<_> = quarters.iter().map(|&n| if n == 2 || n == 4 { visual() } else { het() }).collect();
    let wanted = (0..).map(LocusId).zip(quarters).fold(Wanted::any(), |wanted, (locus, &n)| {
        wanted.with(locus, if n == 3 { vec![clear(), het()] } else { vec![visual()] })
    });
    Chances::of(&young(&animal(&sire), &animal(&dam)), &wanted).unwrap()
}

/// Quarters per locus, the chance per egg, eggs for 95 % and for 99 %.
type Row = (&'static [u8], (i64, i64), u64, u64);

#[test]
fn eggs_for_one() {
    let table: [Row; 11] = [
        (&[3], (3, 4), 3, 4),
        (&[2], (1, 2), 5, 7),
        (&[3, 2], (3, 8), 7, 10),
        // 1 - .75^16 is .98998: some handbooks print 16.
        (&[1], (1, 4), 11, 17),
        (&[3, 1], (3, 16), 15, 23),
        (&[2, 1], (1, 8), 23, 35),
        (&[1, 1], (1, 16), 47, 72),
        (&[1, 1, 2], (1, 32), 95, 146),
        (&[1, 1, 1], (1, 64), 191, 293),
        (&[1, 1, 1, 2], (1, 128), 382, 588),
        (&[1, 1, 1, 1], (1, 256), 766, 1177),
    ];
    for (quarters, (n, d), for_95, for_99) in table {
        let chances = chances(quarters);
        assert_eq!(chances.per_egg(), odds(n, d));
        assert_eq!(chances.eggs_for(&odds(95, 100)), Some(for_95), "{n}/{d}");
        assert_eq!(chances.eggs_for(&odds(99, 100)), Some(for_99), "{n}/{d}");
    }
    for (quarters, for_90, for_999) in
        [(&[2u8][..], 4, 10), (&[1], 9, 25), (&[2, 1], 18, 52), (&[1, 1], 36, 108), (&[1, 1, 1], 147, 439)]
    {
        assert_eq!(chances(quarters).eggs_for(&odds(90, 100)), Some(for_90));
        assert_eq!(chances(quarters).eggs_for(&odds(999, 1000)), Some(for_999));
    }
}

/// How many are wanted, eggs for 95 % and for 99 %.
type Rows = &'static [(usize, u32, u32)];

#[test]
fn eggs_for_several() {
    let table: [(&[u8], Rows); 5] = [
        (&[3], &[(2, 5, 6), (5, 9, 11), (10, 17, 19), (15, 25, 27)]),
        (&[2], &[(2, 8, 11), (3, 11, 14), (6, 18, 22), (15, 40, 45)]),
        (&[1], &[(2, 18, 24), (3, 23, 31), (4, 29, 37), (8, 50, 60), (10, 60, 70)]),
        (&[3, 1], &[(2, 24, 33), (5, 47, 58)]),
        (&[1, 1], &[(2, 75, 104), (3, 99, 132)]),
    ];
    let enough = |chances: &Chances, r: usize, n: u32, level: &Odds| {
        chances.distribution(n).unwrap().iter().skip(r).sum::<Odds>() >= *level
    };
    for (quarters, rows) in table {
        let chances = chances(quarters);
        for &(r, for_95, for_99) in rows {
            for (level, n) in [(odds(95, 100), for_95), (odds(99, 100), for_99)] {
                assert!(enough(&chances, r, n, &level), "{quarters:?}: {r} in {n}");
                assert!(!enough(&chances, r, n - 1, &level), "{quarters:?}: {r} in {}", n - 1);
            }
        }
    }
}

#[test]
fn eggs_for_one_of_each_sex() {
    let table: [(&[u8], u64, u64); 5] =
        [(&[4], 6, 8), (&[2], 13, 19), (&[1], 28, 40), (&[2, 1], 58, 83), (&[1, 1], 116, 167)];
    for (quarters, for_95, for_99) in table {
        let chances = chances(quarters);
        for (level, n) in [(odds(95, 100), for_95), (odds(99, 100), for_99)] {
            assert!(chances.one_of_each(n).unwrap().unwrap() >= level, "{quarters:?} in {n}");
            assert!(chances.one_of_each(n - 1).unwrap().unwrap() < level, "{quarters:?} in {}", n - 1);
        }
    }
}
