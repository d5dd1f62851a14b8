//! Short words for the tests of relationship: pedigrees written a line an animal, `young = sire x dam`.

use std::collections::HashMap;

use hatchward::engine::odds::Odds;
use hatchward::engine::pedigree::descent::{AnimalId, Descent, Parents};
use hatchward::engine::pedigree::kinship::{Kinship, relate};

/// A pedigree by names.
pub(crate) struct Kin {
    by_name: HashMap<String, AnimalId>,
    descent: Descent,
}

impl Kin {
    /// Reads `G = C x D; H = A x -`: several young with commas, `-` for an unknown parent. Who is only named as a parent is a founder.
    pub(crate) fn new(text: &str) -> Kin {
        let mut by_name: HashMap<String, AnimalId> = HashMap::new();
        let mut parents: Vec<Parents> = Vec::new();
        for line in text.split(';').map(str::trim).filter(|line| !line.is_empty()) {
            let (young, pair) = line.split_once('=').unwrap();
            let (sire, dam) = pair.trim().split_once(" x ").unwrap();
            let mut id = |name: &str| {
                let name = name.trim();
                (name != "-").then(|| {
                    *by_name.entry(name.to_owned()).or_insert_with(|| {
                        parents.push(Parents::default());
                        AnimalId(parents.len() - 1)
                    })
                })
            };
            let (sire, dam) = (id(sire), id(dam));
            let young: Vec<AnimalId> = young.split(',').map(|name| id(name).unwrap()).collect();
            for young in young {
                parents[young.0] = Parents { sires: sire.into_iter().collect(), dam };
            }
        }
        Kin { by_name, descent: Descent::new(parents, &[]).unwrap() }
    }

    pub(crate) fn descent(&self) -> &Descent {
        &self.descent
    }

    pub(crate) fn id(&self, name: &str) -> AnimalId {
        self.by_name[name]
    }

    pub(crate) fn inbreeding(&self, name: &str) -> Odds {
        relate(&self.descent, &[]).unwrap().inbreeding[self.id(name).0].clone()
    }

    /// Twice the kinships of these animals: the rows of the numerator relationship matrix.
    pub(crate) fn relationships(&self, names: &[&str]) -> Vec<Vec<Odds>> {
        let pairs: Vec<_> = names.iter().flat_map(|a| names.iter().map(|b| (self.id(a), self.id(b)))).collect();
        let Kinship { of_pairs, .. } = relate(&self.descent, &pairs).unwrap();
        of_pairs.chunks(names.len()).map(|row| row.iter().map(|phi| phi + phi).collect()).collect()
    }
}

#[track_caller]
pub(crate) fn check_inbreeding(pedigree: &str, expected: &[(&str, Odds)]) {
    let kin = Kin::new(pedigree);
    for (name, f) in expected {
        assert_eq!(kin.inbreeding(name), *f, "{name}");
    }
}
