//! Many reminders, told by several processes of the real program that are killed on the way.
//!
//! The stand-in sets no limit of requests, so that the program and not the platform sets the pace; each of its answers comes
//! late, so that there is much on its way when a process is killed. It remembers the number of a message for ever and counts
//! what came twice.

use std::collections::HashMap;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use hatchward::collection::store::{Place, ServerUrl, Store};
use sqlx::PgPool;

use crate::platform::bot::Bot;
use crate::platform::{CHANNEL, Fault, Platform};
use crate::store::server::Server;

/// Processes that share the work.
pub(crate) const PROCESSES: usize = 4;
/// Reminders of one keeper.
const OF_A_KEEPER: i32 = 100;
/// How late the stand-in's answers to messages come.
const ANSWERS_AFTER: Duration = Duration::from_millis(150);

/// How much is told, and what goes wrong.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Size {
    /// Reminders.
    pub(crate) reminders: i32,
    /// Over how long they fall due, from a few seconds after the start on; nothing: all are due at the start.
    pub(crate) over: Duration,
    /// How often a process is killed.
    pub(crate) kills: usize,
    /// A claim of a process that was killed ends at once, as if its time were over.
    pub(crate) claims_end: bool,
}

/// What became of them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Told {
    /// Those that came never.
    pub(crate) lost: Vec<i32>,
    /// Messages that said one of them again under another number.
    pub(crate) said_twice: usize,
    /// Messages that were sent again under the same number.
    pub(crate) doubles: usize,
    /// The longest time between a message and its double.
    pub(crate) apart: Duration,
    /// How late they were, in seconds, in order.
    pub(crate) late_s: Vec<f64>,
    /// From the start of the processes to the last message.
    pub(crate) took: Duration,
}

impl Told {
    /// So many in a hundred were not later, in seconds.
    pub(crate) fn late(&self, percent: usize) -> f64 {
        let at = (self.late_s.len() * percent).div_ceil(100).saturating_sub(1);
        self.late_s.get(at).copied().unwrap_or(f64::NAN)
    }

    /// The figures for a person.
    pub(crate) fn show(&self, what: &str) {
        println!(
            "{what}: {} lost, {} doubles under the same number within {:.1} s, {} said twice, {:.1} s in all; late p50 {:.1} s, p99 {:.1} s",
            self.lost.len(),
            self.doubles,
            self.apart.as_secs_f64(),
            self.said_twice,
            self.took.as_secs_f64(),
            self.late(50),
            self.late(99),
        );
    }
}

/// A stand-in with a server of its own, because so many processes take all its connections.
pub(crate) async fn start(server: &Server) -> Platform {
    let mut platform = Platform::start().await;
    platform.database = Some(server.url("hatchward", &server.fresh()));
    platform.plan("POST", "/messages", Fault::AnswerLate(ANSWERS_AFTER), usize::MAX);
    platform
}

/// Opens the database, so that it has its tables, and fills it with reminders.
pub(crate) async fn fill(url: &str, size: Size) -> PgPool {
    Store::open(&Place::Server(ServerUrl::new(url.to_owned()))).await.expect("it opens").close().await;
    let pool = PgPool::connect(url).await.expect("the database");
    sqlx::query(
        "insert into keeper (platform, user_id)
         select 'discord', (410000000000000000 + n)::text from generate_series(0, ($1 - 1) / $2) n",
    )
    .bind(size.reminders)
    .bind(OF_A_KEEPER)
    .execute(&pool)
    .await
    .expect("keepers");
    // As the program itself writes them down, in one go.
    sqlx::query(
        "with new as (
             select n, nextval('record_id') as id, k.id as keeper_id, now() + case when $4 = 0 then interval '-1 second'
                 else interval '5 seconds' + make_interval(secs => $4 * n / $1) end as at
             from generate_series(0, $1 - 1) n join keeper k on k.user_id = (410000000000000000 + n / $2)::text
         ), told as (
             insert into reminder (keeper_id, id, version, number, what, zone, next_at, channel)
             select keeper_id, id, 1, n % $2 + 1, 'note ' || n || '.', 'Europe/Berlin', at, $3 from new
             returning keeper_id, id, next_at
         )
         insert into due (keeper_id, reminder_id, due_at) select keeper_id, id, next_at from told",
    )
    .bind(size.reminders)
    .bind(OF_A_KEEPER)
    .bind(CHANNEL.to_string())
    .bind(size.over.as_secs_f64())
    .execute(&pool)
    .await
    .expect("reminders");
    pool
}

/// A process of the run, with shards of its own.
pub(crate) fn process(platform: &Platform, n: usize) -> Bot {
    let shard = format!("{n}/{PROCESSES}");
    // One that was killed holds its shards for a while; its successor need not wait.
    let settings = [("HATCHWARD_DISCORD_SHARDS", shard.as_str()), ("HATCHWARD_LOG_LEVEL", "warn")];
    Bot::run(&["serve", "--take-over"], platform, &settings)
}

/// How many were told so far.
fn told(platform: &Platform) -> usize {
    platform.with(|s| s.nonces.len())
}

/// Lets the processes tell everything, killing some of them at random moments.
pub(crate) async fn run(platform: &Platform, size: Size) -> Told {
    let url = platform.database.clone().expect("a database");
    let pool = fill(&url, size).await;
    let begun = Instant::now();
    let mut processes: Vec<Bot> = (0..PROCESSES).map(|n| process(platform, n)).collect();
    let seed = std::env::var("HATCHWARD_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or_else(|| fastrand::u64(..));
    println!("HATCHWARD_SEED={seed}");
    let mut chance = fastrand::Rng::with_seed(seed);
    let all = usize::try_from(size.reminders).expect("a count");
    // Each kill comes once so many were told: at random points of the whole work.
    let mut points: Vec<usize> = (0..size.kills).map(|_| chance.usize(0..all * 9 / 10)).collect();
    points.sort_unstable();
    for point in points {
        until(platform, "as many as told before the next kill", || told(platform) >= point).await;
        tokio::time::sleep(Duration::from_millis(chance.u64(0..400))).await;
        let n = chance.usize(0..PROCESSES);
        let pid = processes[n].pid();
        processes[n] = {
            processes[n].signal("KILL");
            processes[n].ended(Duration::from_secs(10)).await;
            process(platform, n)
        };
        if size.claims_end {
            sqlx::query("update due set claimed_until = now() where claimed_by = $1 and state = 'open'")
                .bind(format!("process {pid}"))
                .execute(&pool)
                .await
                .expect("the claims end");
        }
    }
    until_told(platform, &pool).await;
    drop(processes);
    let due: Vec<(String, f64)> = sqlx::query_as(
        "select r.what, extract(epoch from d.due_at)::float8 from due d
         join reminder r on r.keeper_id = d.keeper_id and r.id = d.reminder_id",
    )
    .fetch_all(&pool)
    .await
    .expect("what was due");
    judge(platform, size, &due, begun)
}

/// Waits until all are written down as told.
pub(crate) async fn until_told(platform: &Platform, pool: &PgPool) {
    let mut left = i64::MAX;
    let mut progress = (Instant::now(), 0);
    while left > 0 {
        tokio::time::sleep(Duration::from_millis(200)).await;
        // A database that is away is what some of this is about.
        if let Ok(n) = sqlx::query_scalar("select count(*) from due where state = 'open'").fetch_one(pool).await {
            left = n;
        }
        if told(platform) != progress.1 {
            progress = (Instant::now(), told(platform));
        }
        assert!(progress.0.elapsed() < STUCK, "{left} are left, and nothing is told any more");
    }
}

/// How long nothing may happen: longer than a claim of a process that was killed holds.
const STUCK: Duration = Duration::from_secs(150);

async fn until(platform: &Platform, what: &str, done: impl Fn() -> bool) {
    let mut progress = (Instant::now(), told(platform));
    while !done() {
        tokio::time::sleep(Duration::from_millis(20)).await;
        if told(platform) != progress.1 {
            progress = (Instant::now(), told(platform));
        }
        assert!(progress.0.elapsed() < STUCK, "{what}: nothing is told any more");
    }
}

/// Goes through everything that arrived.
pub(crate) fn judge(platform: &Platform, size: Size, due: &[(String, f64)], begun: Instant) -> Told {
    let mut out = Told::default();
    // When each number arrived: at the stand-in, whatever became of the process that sent it.
    let mut arrivals: HashMap<String, Vec<Instant>> = HashMap::new();
    for request in platform.requests("POST", "/messages") {
        let nonce = request.body["nonce"].as_str().expect("every reminder has a number").to_owned();
        arrivals.entry(nonce).or_default().push(request.at);
    }
    for times in arrivals.values() {
        let (first, last) = (times.iter().min().expect("one"), times.iter().max().expect("one"));
        out.doubles += times.len() - 1;
        out.apart = out.apart.max(*last - *first);
        out.took = out.took.max(*first - begun);
    }
    // What members read: messages, each with the moment at which it was first there.
    let read: Vec<(u64, String)> = platform.with(|s| {
        s.messages.iter().map(|(id, m)| (*id, m["content"].as_str().unwrap_or_default().to_owned())).collect()
    });
    let mut heard: HashMap<&str, Vec<u64>> = HashMap::new();
    for (id, text) in &read {
        for line in text.lines() {
            let Some((_, rest)) = line.split_once("note ") else { continue };
            let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
            heard.entry(&rest[..end]).or_default().push(*id);
        }
    }
    let now_s = SystemTime::now().duration_since(UNIX_EPOCH).expect("after 1970").as_secs_f64();
    for n in 0..size.reminders {
        let Some(ids) = heard.get(n.to_string().as_str()) else {
            out.lost.push(n);
            continue;
        };
        out.said_twice += ids.len() - 1;
        let at_s = due.iter().find(|d| d.0 == format!("note {n}.")).map_or(now_s, |d| d.1);
        let first = ids.iter().min().copied().unwrap_or(0);
        // An id of the platform begins with the milliseconds since the first moment of 2015.
        let told_s = ((first >> 22) + 1_420_070_400_000) as f64 / 1000.0;
        out.late_s.push(told_s - at_s);
    }
    out.late_s.sort_by(f64::total_cmp);
    out
}
