//! What a keeper waits for, in a server that holds 10,000 keepers with 40 animals each: the time of each kind of message
//! through the whole walk (reading, loading, deciding, saving), half and 95 in 100 of them.
//!
//!     DATABASE_URL=postgres://... cargo bench --bench collection
//!
//! Every command of the collection is among them. What a turn costs the database is one read of all of a keeper's rows, by the
//! first column of an index of each table, and for a change one row by its whole key:
//!
//!     explain select * from weight where keeper_id = 7;   -- Index Scan using weight_of_animal, Index Cond: (keeper_id = 7)
//!     explain select * from animal where keeper_id = 7 and id = 7001;   -- Index Scan using animal_key
//!
//! The few other indexes are for animals that go, and `migrations/0005_many_rows.sql` says what they save.
//!
//! The database is filled where it is empty. `HATCHWARD_BENCH_KEEPERS` takes another number of keepers,
//! `HATCHWARD_BENCH_TURNS` another number of messages.

use std::sync::Arc;
use std::time::{Duration, Instant};

use hatchward::collection::store::{Place, ServerUrl, Store, Who};
use hatchward::conversation::desk::{Desk, Shelf};
use hatchward::reading::Reader;
use hatchward::species::Catalogue;
use jiff::civil::date;
use sqlx::{Connection as _, Executor as _, PgConnection};

/// Animals, weights and changes of every keeper, as the owner of the tables writes them.
const FILL: &str = "
insert into keeper (id, platform, user_id, next_number)
  select k, 'terminal', 'keeper-' || k, 41 from generate_series(1, $1::int) k;
insert into animal (keeper_id, id, version, number, name, species, sex, sexed, genes, hatched, status, tags)
  select k, k::bigint * 1000 + a, 1, a, 'Animal' || chr(64 + (a % 26)) || a, 'ball_python',
    case when a % 2 = 0 then 'male' else 'female' end, 'stated',
    case a % 4 when 0 then '[{\"gene\":\"clown\",\"copies\":1,\"chance\":\"1\",\"basis\":\"stated\"}]'::jsonb
      when 1 then '[{\"gene\":\"pastel\",\"copies\":1,\"chance\":\"1\",\"basis\":\"stated\"},
                   {\"gene\":\"clown\",\"copies\":1,\"chance\":\"2/3\",\"basis\":\"inferred\"}]'
      when 2 then '[{\"gene\":\"clown\",\"copies\":2,\"chance\":\"1\",\"basis\":\"stated\"}]' else '[]' end,
    '2021', 'active', '[]'
  from generate_series(1, $1::int) k, generate_series(1, 40) a;
insert into weight (keeper_id, id, version, animal_id, \"on\", grams)
  select k, k::bigint * 1000 + 100 + a * 5 + w, 1, k::bigint * 1000 + a, date '2026-01-01' + w * 30, 1200 + a * 10 + w
  from generate_series(1, $1::int) k, generate_series(1, 40) a, generate_series(0, 4) w;
select setval('record_id', greatest($1::bigint * 1000 + 1000, 1));
";

fn main() {
    let Ok(url) = std::env::var("DATABASE_URL") else {
        println!("collection: set DATABASE_URL to a database of a server that may be filled");
        return;
    };
    let number = |name: &str, usual: usize| std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(usual);
    let keepers = number("HATCHWARD_BENCH_KEEPERS", 10_000);
    // Messages of one kind, each by another keeper.
    let turns = number("HATCHWARD_BENCH_TURNS", 200);
    let runtime = tokio::runtime::Runtime::new().expect("threads");
    runtime.block_on(measure(&url, keepers, turns));
}

async fn measure(url: &str, keepers: usize, turns: usize) {
    let place = Place::Server(ServerUrl::new(url.to_owned()));
    let store = Store::open(&place).await.expect("it opens");
    fill(url, keepers).await;
    let catalogue = Catalogue::builtin().expect("sound");
    let reader = Reader::new(&catalogue).expect("sound");
    let shelf = Arc::new(Shelf::open(place, store));
    println!("{keepers} keepers with 40 animals and 200 weights each, {turns} messages of a kind");
    for (kind, said) in [
        ("weight", "AnimalC3 1634 g"),
        ("meal", "AnimalC3 refused again"),
        ("card", "AnimalC3"),
        ("share", "share AnimalC3"),
        ("sale card", "sale card for AnimalC3"),
        ("list", "list my girls"),
        ("who carries", "who carries clown"),
        ("clutches", "my clutches"),
        ("odds by name", "AnimalB2 x AnimalC3"),
        ("what if", "what if AnimalC3 was het pied, what do I get from AnimalB2 x AnimalC3"),
        ("all pairings", "all pairings that can make a pastel clown"),
        ("how sure", "how sure is AnimalA1 het clown now"),
        ("more eggs", "how many more eggs until AnimalA1 is 95 % sure"),
        ("prove first", "who should I prove out first"),
        ("next clutch", "what if AnimalA1's next 6 eggs are all normal"),
        ("related", "how related are AnimalB2 and AnimalC3"),
        ("add", "add a 2022 female pastel het clown, 1400g, named Juno"),
        ("add young", "add a 2024 female normal from AnimalB2 x AnimalC3 named Maple"),
        ("lock", "AnimalB2 locked with AnimalC3 3 Dec 2025"),
        ("sign", "AnimalC3 ovulated 1 march"),
        ("laid", "AnimalB2 x AnimalC3 laid 6 eggs on 18 april"),
        ("fathers", "AnimalB2 or AnimalD4 fathered the AnimalC3 clutch"),
        ("hatched", "hatched 3.3 normals from AnimalC3 on 15 june"),
        ("carriers", "assume 1 in 20 normals carry piebald"),
        ("rename", "rename AnimalE5 to Fern"),
        ("correct", "AnimalG7 is het pied"),
        ("prove", "mark AnimalA1 proven het clown"),
        ("note", "note for AnimalC3: shy eater"),
        ("status", "AnimalI9 is for sale"),
        ("goal", "goal: pastel clown"),
        ("remove", "delete AnimalK11"),
        ("what changed", "what changed this week"),
        ("undo", "undo"),
        ("export json", "export everything as json"),
        ("export tables", "export"),
        ("forget", "forget me"),
    ] {
        let mut took: Vec<Duration> = Vec::new();
        let mut heard = String::new();
        for n in 0..turns {
            let user = format!("keeper-{}", 1 + n * 7919 % keepers);
            let who = Who { platform: "terminal", user };
            let mut desk = Desk::new(&catalogue, &reader, catalogue.by_name("ball python"), Some(Arc::clone(&shelf)));
            let start = Instant::now();
            let reply = desk.turn(&who, None, date(2026, 11, 25), said).await;
            took.push(start.elapsed());
            heard = reply.expect("every one of them is answered").text();
        }
        took.sort();
        let at = |share: usize| took[(turns * share / 100).min(turns - 1)].as_secs_f64() * 1000.0;
        // The beginning of an answer, to see that it is what was to be measured.
        let heard: String = heard.lines().next().unwrap_or_default().chars().take(60).collect();
        println!("{kind:14} half {:6.2} ms   95 in 100 {:6.2} ms   {heard}", at(50), at(95));
    }
}

async fn fill(url: &str, keepers: usize) {
    let mut db = PgConnection::connect(url).await.expect("the owner");
    let there: i64 = sqlx::query_scalar("select count(*) from keeper").fetch_one(&mut db).await.expect("a count");
    if there > 0 {
        return;
    }
    for step in FILL.split(";\n").map(|s| s.replace("$1", &keepers.to_string())).filter(|s| !s.trim().is_empty()) {
        db.execute(step.as_str()).await.expect("it is filled");
    }
    db.execute("analyze").await.expect("statistics");
}
