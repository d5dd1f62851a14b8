//! Records: saved whole or not at all, taken back, seen by their keeper alone. Every test runs on both databases.

use hatchward::collection::animal::{Animal, AnimalId, Basis, Belief, KeeperId, Sex};
use hatchward::collection::change::Change;
use hatchward::collection::events::{Clutch, Weight};
use hatchward::collection::name::Name;
use hatchward::collection::store::{Store, StoreError, Who};
use hatchward::engine::odds::odds;
use hatchward::reading::dates::When;
use jiff::civil::date;
use sqlx::Row as _;

use super::server::{shared, stores};

fn who(user: &str) -> Who {
    Who { platform: "terminal", user: user.to_owned() }
}

/// Saves a female of this name and gives her number.
async fn add(store: &Store, keeper: KeeperId, name: &str) -> AnimalId {
    let herd = store.herd(keeper).await.expect("a herd");
    let (id, number) = herd.ids().animal();
    let mut animal = Animal::new(id, number, "ball_python".to_owned());
    animal.name = Some(Name::new(name).expect("a name"));
    animal.sex = Sex::Female;
    animal.genes.push(Belief {
        gene: "clown".to_owned(),
        copies: 1,
        chance: odds(2, 3),
        basis: Basis::Stated,
        side: None,
    });
    animal.hatched = Some(When::Year(2021));
    let mut change = Change::new("add", format!("added {name}"));
    change.put(&animal);
    store.save(keeper, &change, None).await.expect("it is saved").animal(id)
}

#[tokio::test]
async fn what_is_saved_comes_back_unchanged() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        let mother = add(&store, keeper, "Juno").await;
        let herd = store.herd(keeper).await.expect("a herd");
        let mut ids = herd.ids();
        let (young, number) = ids.animal();
        let clutch = Clutch {
            id: ids.clutch(),
            version: 0,
            code: Some("23-04".to_owned()),
            sire_id: None,
            sire_out: Some("a clown from the show".to_owned()),
            sires: None,
            dam_id: Some(mother),
            dam_out: None,
            laid: Some(When::Day(date(2025, 4, 3))),
            eggs: Some(7),
            slugs: Some(1),
            doubtful: None,
            warmth: Some(315),
            pipped: None,
            hatched: None,
            lost: None,
            young: Vec::new(),
            notes: Some("two lines\nof notes".to_owned()),
        };
        let mut animal = Animal::new(young, number, "ball_python".to_owned());
        animal.dam_id = Some(mother);
        animal.clutch_id = Some(clutch.id);
        animal.tags = vec!["holdback".to_owned()];
        let weight = Weight { id: ids.event(), version: 0, animal_id: young, on: date(2025, 6, 1), grams: 61 };
        let mut change = Change::new("clutch", "recorded a clutch of Juno");
        change.put(&clutch);
        change.put(&animal);
        change.put(&weight);
        store.save(keeper, &change, None).await.expect("it is saved");

        let herd = store.herd(keeper).await.expect("a herd");
        let [juno, kept] = &herd.animals[..] else { panic!("two animals: {herd:?}") };
        assert_eq!((juno.called(), juno.number.0, juno.version), ("Juno".to_owned(), 1, 1));
        assert_eq!(juno.genes[0].chance, odds(2, 3));
        assert_eq!(kept.dam_id, Some(juno.id));
        assert_eq!(kept.number.0, 2);
        assert_eq!(kept.clutch_id, Some(herd.clutches[0].id));
        assert_eq!(herd.weights[0].animal_id, kept.id);
        let mut same = herd.clutches[0].clone();
        same.id = clutch.id;
        same.version = 0;
        assert_eq!(same, clutch);
        store.close().await;
    }
}

#[tokio::test]
async fn undo_takes_back_one_change_after_the_other() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        assert_eq!(store.undo(keeper).await.expect("an answer"), None);
        let mut before = vec![store.herd(keeper).await.expect("a herd")];
        let juno = add(&store, keeper, "Juno").await;
        before.push(store.herd(keeper).await.expect("a herd"));
        add(&store, keeper, "Duke").await;
        for n in 0..53 {
            let herd = store.herd(keeper).await.expect("a herd");
            let mut change = Change::new("weight", format!("weight {n}"));
            let on = date(2025, 1, 1);
            change.put(&Weight { id: herd.ids().event(), version: 0, animal_id: juno, on, grams: 1000 + n });
            store.save(keeper, &change, None).await.expect("it is saved");
            before.push(herd);
        }
        // All at once go with her: her weights first.
        let herd = store.herd(keeper).await.expect("a herd");
        before.push(herd.clone());
        let mut change = Change::new("remove", "removed Juno");
        for weight in &herd.weights {
            change.drop(weight);
        }
        change.drop(herd.animal(juno).expect("she is there"));
        store.save(keeper, &change, None).await.expect("it is saved");
        assert_eq!(store.herd(keeper).await.expect("a herd").animals.len(), 1);

        assert_eq!(store.undo(keeper).await.expect("an answer").as_deref(), Some("removed Juno"));
        for was in before.iter().rev().take(52) {
            let now = store.herd(keeper).await.expect("a herd");
            assert_eq!((&now.animals, &now.weights), (&was.animals, &was.weights));
            store.undo(keeper).await.expect("an answer").expect("a change to take back");
        }
        let changes = store.changes(keeper, 7).await.expect("a list");
        assert_eq!(changes.len(), 56);
        assert_eq!(changes.iter().filter(|c| c.undone).count(), 53);
        assert_eq!(changes[0].said, "removed Juno");
        store.close().await;
    }
}

#[tokio::test]
async fn two_devices_lose_no_update() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        add(&store, keeper, "Juno").await;
        let seen = store.herd(keeper).await.expect("a herd").animals[0].clone();
        let rename = |name: &str| {
            let mut animal = seen.clone();
            animal.name = Some(Name::new(name).expect("a name"));
            let mut change = Change::new("rename", format!("Juno is now {name}"));
            change.put(&animal);
            change
        };
        store.save(keeper, &rename("June"), None).await.expect("the first is saved");
        let late = store.save(keeper, &rename("Junia"), None).await.expect_err("the second is told");
        assert!(matches!(&late, StoreError::Changed { record } if record.starts_with("animal ")), "{late:?}");
        assert_eq!(store.herd(keeper).await.expect("a herd").animals[0].called(), "June");
        // Gone is changed, too.
        let june = store.herd(keeper).await.expect("a herd").animals[0].clone();
        let mut change = Change::new("remove", "removed June");
        change.drop(&june);
        store.save(keeper, &change, None).await.expect("it is saved");
        let late = store.save(keeper, &rename("Junia"), None).await.expect_err("she is gone");
        assert!(matches!(late, StoreError::Changed { .. }), "{late:?}");
        store.close().await;
    }
}

#[tokio::test]
async fn a_message_that_arrives_twice_is_done_once() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        let juno = add(&store, keeper, "Juno").await;
        let herd = store.herd(keeper).await.expect("a herd");
        let mut change = Change::new("weight", "Juno 1,634 g");
        let on = date(2025, 1, 1);
        change.put(&Weight { id: herd.ids().event(), version: 0, animal_id: juno, on, grams: 1634 });
        let (a, b) = tokio::join!(store.save(keeper, &change, Some("m-1")), store.save(keeper, &change, Some("m-1")));
        let (a, b) = (a.expect("it is saved"), b.expect("it is known"));
        let told: Vec<_> = [a.before, b.before].into_iter().flatten().collect();
        assert_eq!(told, ["Juno 1,634 g"]);
        assert_eq!(store.herd(keeper).await.expect("a herd").weights.len(), 1);
        store.close().await;
    }
}

#[tokio::test]
async fn half_a_change_is_none() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        let juno = add(&store, keeper, "Juno").await;
        let herd = store.herd(keeper).await.expect("a herd");
        let mut ids = herd.ids();
        let on = date(2025, 1, 1);
        let mut change = Change::new("weight", "two weights");
        change.put(&Weight { id: ids.event(), version: 0, animal_id: juno, on, grams: 1634 });
        change.put(&Weight { id: ids.event(), version: 0, animal_id: juno, on, grams: -5 });
        let error = store.save(keeper, &change, None).await.expect_err("the second is no weight");
        assert!(matches!(&error, StoreError::Rule { rule } if rule == "weight_is_sane"), "{error:?}");
        assert!(store.herd(keeper).await.expect("a herd").weights.is_empty());
        assert_eq!(store.changes(keeper, 7).await.expect("a list").len(), 1);
        store.close().await;
    }
}

#[tokio::test]
async fn a_whole_collection_is_one_change() {
    // On a server alone: no statement may take longer than 5 s there.
    let Some(server) = shared() else { return };
    let store = Store::open(&server.database()).await.expect("it opens");
    let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
    let mut ids = store.herd(keeper).await.expect("a herd").ids();
    let mut change = Change::new("import", "imported 5,000 animals");
    let mut parents: Option<(AnimalId, AnimalId)> = None;
    for n in 0..5_000_i32 {
        let (id, number) = ids.animal();
        let mut animal = Animal::new(id, number, "ball_python".to_owned());
        animal.name = Some(Name::new(&format!("Animal {n}")).expect("a name"));
        animal.sex = if n % 2 == 0 { Sex::Male } else { Sex::Female };
        (animal.sire_id, animal.dam_id) = parents.filter(|_| n > 1).unzip();
        change.put(&animal);
        let on = date(2025, 1, 1);
        change.put(&Weight { id: ids.event(), version: 0, animal_id: id, on, grams: 1 + n });
        parents = match (n, parents) {
            (0, _) => Some((id, id)),
            (1, Some((sire, _))) => Some((sire, id)),
            _ => parents,
        };
    }
    store.save(keeper, &change, None).await.expect("it is saved");
    let all = store.herd(keeper).await.expect("a herd");
    assert_eq!((all.animals.len(), all.weights.len(), all.next_number), (5_000, 5_000, 5_001));
    // All but the two parents go, with their weights; and are back.
    let mut gone = Change::new("remove", "removed 4,998 animals");
    let leaves = |id: AnimalId| parents.is_some() && id != all.animals[0].id && id != all.animals[1].id;
    all.weights.iter().filter(|w| leaves(w.animal_id)).for_each(|w| gone.drop(w));
    all.animals.iter().filter(|a| leaves(a.id)).for_each(|a| gone.drop(a));
    store.save(keeper, &gone, None).await.expect("they go");
    assert_eq!(store.herd(keeper).await.expect("a herd").animals.len(), 2);
    assert_eq!(store.undo(keeper).await.expect("an answer").as_deref(), Some("removed 4,998 animals"));
    let back = store.herd(keeper).await.expect("a herd");
    assert_eq!((back.animals, back.weights), (all.animals, all.weights));
    assert_eq!(store.undo(keeper).await.expect("an answer").as_deref(), Some("imported 5,000 animals"));
    assert!(store.herd(keeper).await.expect("a herd").is_empty());
    store.close().await;
}

#[tokio::test]
async fn a_record_that_stands_twice_in_a_change_is_refused() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        let juno = add(&store, keeper, "Juno").await;
        let seen = store.herd(keeper).await.expect("a herd").animal(juno).expect("she is there").clone();
        let mut change = Change::new("rename", "x");
        change.put(&seen);
        change.put(&seen);
        let error = store.save(keeper, &change, None).await.expect_err("it stands twice");
        assert!(matches!(error, StoreError::Changed { .. }), "{error:?}");
        assert_eq!(store.herd(keeper).await.expect("a herd").animals[0], seen);
        store.close().await;
    }
}

const TABLES: [&str; 15] = [
    "keeper",
    "animal",
    "weight",
    "meal",
    "sign",
    "meeting",
    "clutch",
    "goal",
    "carrier_frequency",
    "own_number",
    "home",
    "reminder",
    "due",
    "change",
    "change_row",
];

#[tokio::test]
async fn a_query_without_scope_finds_nothing() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        add(&store, keeper, "Juno").await;
        for table in TABLES {
            let rows = sqlx::query(&format!("select * from {table}")).fetch_all(store.pool()).await.expect("an answer");
            assert!(rows.is_empty(), "{table} shows {} rows", rows.len());
        }
        let changed = sqlx::query("update animal set notes = 'x'").execute(store.pool()).await.expect("an answer");
        assert_eq!(changed.rows_affected(), 0);
        let error = sqlx::query("select * from keep('add', 'x', null, '[]')").fetch_all(store.pool()).await;
        assert!(error.is_err(), "nobody is on hand");
        // The list above has every table with a keeper in it.
        let rows = sqlx::query(
            "select distinct table_name::text from information_schema.columns c join pg_class k on k.relname = c.table_name
             where c.table_schema = 'public' and (c.column_name = 'keeper_id' or c.table_name = 'keeper') and k.relkind = 'r'",
        )
        .fetch_all(store.pool())
        .await
        .expect("an answer");
        let mut tables: Vec<String> = rows.iter().map(|r| r.get(0)).collect();
        let mut known: Vec<String> = TABLES.iter().map(|t| (*t).to_owned()).collect();
        tables.sort();
        known.sort();
        assert_eq!(tables, known);
        store.close().await;
    }
}

#[tokio::test]
async fn two_keepers_never_meet() {
    for store in stores().await {
        let maren = store.keeper_or_new(&who("maren")).await.expect("a keeper");
        let tove = store.keeper_or_new(&who("tove")).await.expect("a keeper");
        assert_eq!(store.keeper(&who("maren")).await.expect("an answer"), Some(maren));
        assert_eq!(store.keeper(&who("nobody")).await.expect("an answer"), None);
        let juno = add(&store, maren, "Juno").await;
        add(&store, tove, "Duke").await;
        assert_eq!(store.herd(tove).await.expect("a herd").animals[0].called(), "Duke");
        assert_eq!(store.changes(tove, 7).await.expect("a list").len(), 1);

        // Records of another keeper can be neither named nor changed nor removed.
        let hers = store.herd(maren).await.expect("a herd").animals[0].clone();
        let ids = store.herd(tove).await.expect("a herd").ids();
        let mut weight = Change::new("weight", "x");
        let on = date(2025, 1, 1);
        weight.put(&Weight { id: ids.clone().event(), version: 0, animal_id: juno, on, grams: 1634 });
        let mut put = Change::new("rename", "x");
        put.put(&hers);
        let mut gone = Change::new("remove", "x");
        gone.drop(&hers);
        let mut child = Animal::new(ids.clone().animal().0, ids.clone().animal().1, "ball_python".to_owned());
        child.dam_id = Some(juno);
        let mut young = Change::new("add", "x");
        young.put(&child);
        for change in [weight, put, gone, young] {
            store.save(tove, &change, None).await.expect_err("it is not hers");
        }
        store.undo(tove).await.expect("an answer").expect("her own change");
        assert_eq!(store.undo(tove).await.expect("an answer"), None);
        let herd = store.herd(maren).await.expect("a herd");
        assert_eq!((herd.animals.len(), herd.weights.len(), herd.animals[0].called()), (1, 0, "Juno".to_owned()));

        store.forget(&who("tove")).await.expect("she is forgotten");
        assert_eq!(store.herd(maren).await.expect("a herd").animals.len(), 1);
        store.close().await;
    }
}

#[tokio::test]
async fn after_forgetting_no_table_holds_the_keeper() {
    for store in stores().await {
        let keeper = store.keeper_or_new(&who("a-user-of-2026")).await.expect("a keeper");
        add(&store, keeper, "Juno").await;
        add(&store, keeper, "Duke").await;
        store.undo(keeper).await.expect("an answer");
        store.forget(&who("a-user-of-2026")).await.expect("it is forgotten");
        assert_eq!(store.keeper(&who("a-user-of-2026")).await.expect("an answer"), None);
        // As the owner, who sees everything.
        let mut owner = store.pool().acquire().await.expect("a connection");
        sqlx::query("reset role").execute(&mut *owner).await.expect("the owner");
        let tables = sqlx::query(
            "select relname::text from pg_class where relkind = 'r' and relnamespace = 'public'::regnamespace",
        )
        .fetch_all(&mut *owner)
        .await
        .expect("a list");
        assert!(tables.len() >= TABLES.len());
        for table in tables {
            let table: String = table.get(0);
            if table == "_sqlx_migrations" {
                continue;
            }
            let rows = sqlx::query(&format!("select to_jsonb(t)::text from {table} t")).fetch_all(&mut *owner).await;
            for row in rows.expect("rows") {
                let row: String = row.get(0);
                assert!(!row.contains("a-user-of-2026") && !row.contains("Juno"), "{table}: {row}");
            }
        }
        drop(owner.detach());
        store.close().await;
    }
}
