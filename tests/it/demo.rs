//! The invented community: it is whole, and the talk about it in the README is what the program says.

use std::collections::HashMap;
use std::sync::Arc;

use hatchward::collection::animal::{Animal, AnimalId};
use hatchward::collection::demo;
use hatchward::collection::evidence::{Evidence, loci};
use hatchward::collection::herd::Herd;
use hatchward::collection::kin::{Relation, kin};
use hatchward::collection::store::Place;
use hatchward::conversation::desk::{Desk, Shelf};
use hatchward::reading::Reader;
use hatchward::species::Catalogue;
use jiff::civil::date;

/// In which generation of its keeper's animals an animal stands; founders are the first.
fn generation(herd: &Herd, animal: &Animal, known: &mut HashMap<AnimalId, usize>) -> usize {
    if let Some(n) = known.get(&animal.id) {
        return *n;
    }
    let parents = [animal.sire_id, animal.dam_id];
    let above = parents.into_iter().flatten().filter_map(|id| herd.animal(id));
    let n = 1 + above.map(|a| generation(herd, a, known)).max().unwrap_or(0);
    known.insert(animal.id, n);
    n
}

#[test]
fn the_community_is_whole() {
    let catalogue = Catalogue::builtin().expect("sound");
    let all = demo::collections(&catalogue).expect("every file is taken in whole");
    assert_eq!(all.len(), 5);
    let n: usize = all.iter().map(|(_, merged)| merged.herd.animals.len()).sum();
    assert!((55..=65).contains(&n), "{n} animals");
    let deepest = all.iter().flat_map(|(_, merged)| {
        let mut known = HashMap::new();
        merged.herd.animals.iter().map(|a| generation(&merged.herd, a, &mut known)).collect::<Vec<_>>()
    });
    assert!(deepest.max() >= Some(4));
}

#[tokio::test]
async fn undo_does_not_reach_behind_the_demos_beginning() {
    let catalogue = Catalogue::builtin().expect("sound");
    let reader = Reader::new(&catalogue).expect("sound");
    let shelf = Arc::new(Shelf::new(Place::Memory));
    demo::fill(shelf.store().await.expect("it opens"), &catalogue).await.expect("the demo");
    let mut desk = Desk::new(&catalogue, &reader, None, Some(shelf));
    for (said, heard) in [
        ("undo", "nothing to take back"),
        ("Tansy 1575 g", "Saved Tansy"),
        ("undo", "Taken back: weighed Tansy"),
        ("undo", "nothing to take back"),
        ("how many animals do I have", "22 animals"),
    ] {
        let reply = desk.turn(&demo::keeper(), None, date(2026, 11, 1), said).await;
        let reply = reply.map(|reply| reply.text()).unwrap_or_default();
        assert!(reply.contains(heard), "{said:?} was answered without {heard:?}:\n{reply}");
    }
}

#[test]
fn nobody_in_the_demo_breeds_siblings_or_parent_and_young() {
    let catalogue = Catalogue::builtin().expect("sound");
    let mut n = 0;
    for (who, merged) in demo::collections(&catalogue).expect("every file is taken in whole") {
        let herd = &merged.herd;
        for clutch in &herd.clutches {
            let (Some(sire), Some(dam)) = (clutch.sire_id, clutch.dam_id) else { continue };
            let species = catalogue.species().iter().find(|s| herd.animal(dam).is_some_and(|a| a.species == s.key()));
            let pedigree = Evidence::pedigree(species.expect("known"), herd).expect("sound");
            let kin = kin(&pedigree, sire, dam).expect("both are there");
            let close = matches!(
                kin.relation,
                Relation::Parent | Relation::Young | Relation::FullSiblings | Relation::HalfSiblings
            );
            let name = |id| herd.animal(id).map(Animal::called).unwrap_or_default();
            assert!(!close, "{who:?}: {} x {} are {:?}", name(sire), name(dam), kin.relation);
            n += 1;
        }
    }
    assert!(n >= 15, "only {n} clutches");
}

#[test]
fn the_records_of_the_demo_agree_with_each_other() {
    let catalogue = Catalogue::builtin().expect("sound");
    for (who, merged) in demo::collections(&catalogue).expect("every file is taken in whole") {
        for species in catalogue.species() {
            let all = loci(species, &merged.herd);
            let records = Evidence::of(species, &merged.herd, &all, &|_| None).expect("a species");
            assert!(records.weigh().is_ok(), "{who:?}, {}: {:?}", species.name(), records.clash());
        }
    }
}

#[tokio::test]
async fn the_talk_of_the_readme_is_what_the_program_says() {
    let readme = include_str!("../../README.md");
    let (_, rest) = readme.split_once("## Your own animals\n").expect("the section");
    let (talk, _) = rest.split_once("\n## ").expect("a section after it");
    let catalogue = Catalogue::builtin().expect("sound");
    let reader = Reader::new(&catalogue).expect("sound");
    let shelf = Arc::new(Shelf::new(Place::Memory));
    demo::fill(shelf.store().await.expect("it opens"), &catalogue).await.expect("the demo");
    let mut desk = Desk::new(&catalogue, &reader, None, Some(shelf));
    let mut n = 0;
    for turn in talk.split("\n    > ").skip(1) {
        let (said, shown) = turn.split_once('\n').expect("a reply under the message");
        let shown: Vec<&str> = shown
            .lines()
            .take_while(|line| line.is_empty() || line.starts_with("    "))
            .map(|line| line.strip_prefix("    ").unwrap_or(line))
            .collect();
        let reply = desk.turn(&demo::keeper(), None, date(2026, 11, 1), said).await;
        let reply = reply.map(|reply| reply.text()).unwrap_or_default();
        assert_eq!(reply, shown.join("\n").trim_end(), "the README shows something else for {said:?}");
        n += 1;
    }
    assert!(n >= 5, "only {n} turns were found");
}
