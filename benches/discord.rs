//! Answering on Discord: from a mention to its reply, against the stand-in of the platform on loopback.
//!
//! The real program with its database, and beside it, in the same run, a bare handler from the same crates that sends every
//! mention back as it came. Run with `cargo bench --bench discord`; it prints figures and asserts nothing.
//! `HATCHWARD_BENCH=handful` does the same with a few messages and servers, to see that it works; `HATCHWARD_BENCH=memory`
//! looks at the start and the memory at rest alone.

#![allow(missing_docs, dead_code, unreachable_pub)] // a program of its own, which takes in the tests' stand-in
#![allow(clippy::cast_precision_loss, clippy::print_stdout)] // figures for a person

#[path = "../tests/it/platform/mod.rs"]
mod platform;
#[path = "../tests/it/store"]
mod store {
    pub(crate) mod server;
}

use std::collections::HashMap;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serenity::all::{
    Client, ClientBuilder, Context, CreateMessage, EventHandler, GatewayIntents, HttpBuilder, Message, async_trait,
};

use platform::events::Said;
use platform::{BOT, CHANNEL, MAREN, Platform, SERVER, TOKEN};

/// How much is measured.
#[derive(Debug, Clone, Copy)]
struct Size {
    /// Messages of the run at an even pace, and how many a second.
    paced: (u64, u64),
    /// Messages of the run as fast as they are taken, offered at this pace.
    flood: (u64, u64),
    /// Servers for the memory at rest.
    servers: u64,
}

impl Size {
    const FULL: Self = Self { paced: (4000, 200), flood: (12_000, 2000), servers: 1000 };
    const HANDFUL: Self = Self { paced: (20, 200), flood: (40, 2000), servers: 20 };

    fn wanted() -> Self {
        if std::env::var("HATCHWARD_BENCH").is_ok_and(|size| size == "handful") { Self::HANDFUL } else { Self::FULL }
    }
}

/// Of each server: roles, channels with two exceptions each, open threads.
const OF_A_SERVER: (u64, u64, u64) = (20, 40, 10);

struct Echo;

#[async_trait]
impl EventHandler for Echo {
    async fn message(&self, ctx: Context, message: Message) {
        if message.author.bot || !message.mentions_user_id(BOT) {
            return;
        }
        let reply = CreateMessage::new().content(message.content.clone()).reference_message(&message);
        let _ = message.channel_id.send_message(&ctx.http, reply).await;
    }
}

async fn echo(api: String) {
    let http = HttpBuilder::new(TOKEN).proxy(api).ratelimiter_disabled(true).build();
    let intents = GatewayIntents::GUILDS | GatewayIntents::GUILD_MESSAGES;
    let mut client: Client = ClientBuilder::new_with_http(http, intents).event_handler(Echo).await.expect("a client");
    client.start().await.expect("it runs");
}

/// A program of the run: it is ended when the run is.
struct Running {
    child: Child,
    /// Where it says that it is ready.
    health: Option<std::net::SocketAddr>,
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn start(name: &str, platform: &Platform) -> Running {
    let mut health = None;
    let mut command = if name == "echo" {
        let mut command = Command::new(std::env::current_exe().expect("this program"));
        command.env("ECHO_AT", &platform.api);
        command
    } else {
        let free = std::net::TcpListener::bind("127.0.0.1:0").and_then(|l| l.local_addr()).expect("a free port");
        health = Some(free);
        let mut command = Command::new(env!("CARGO_BIN_EXE_hatchward"));
        command.arg("serve").env("HATCHWARD_DISCORD_API", &platform.api).env("DISCORD_TOKEN", TOKEN);
        command.env("HATCHWARD_HEALTH_LISTEN", free.to_string()).env("HATCHWARD_LOG_LEVEL", "warn");
        command.env("HATCHWARD_LIMITS_SERVER_QUESTIONS", "1000000").env("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "1000");
        command.env("DATABASE_URL", platform.database.as_ref().expect("a Postgres server is installed"));
        command
    };
    let child = command.stdout(Stdio::null()).stderr(Stdio::inherit()).spawn().expect("it starts");
    Running { child, health }
}

/// Waits until the program says that it is ready.
async fn ready(running: &Running) {
    let Some(health) = running.health else { return };
    let end = Instant::now() + Duration::from_secs(30);
    let address = format!("http://{health}/readyz");
    while Instant::now() < end {
        if reqwest::get(&address).await.is_ok_and(|answer| answer.status().as_u16() == 200) {
            return;
        }
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    println!("it was not ready within half a minute");
}

/// The program logs in: how long that takes from its start, and until it is ready.
async fn logged_in(name: &str, platform: &Platform) -> (Running, Duration, Duration) {
    let begun = Instant::now();
    let running = start(name, platform);
    platform.until("a login", Duration::from_secs(30), |s| (!s.identifies.is_empty()).then_some(())).await;
    // The stand-in takes a while to tell of many servers, and nobody looks in meanwhile.
    let login = platform.with(|s| s.identified_at).map_or_else(|| begun.elapsed(), |at| at - begun);
    ready(&running).await;
    (running, login, begun.elapsed())
}

/// Memory once it no longer changes.
async fn at_rest(running: &Running) -> f64 {
    let (mut last, mut same) = (0.0, 0);
    while same < 4 {
        tokio::time::sleep(Duration::from_millis(500)).await;
        let now = memory(&running.child);
        same = if (now - last).abs() < 0.1 { same + 1 } else { 0 };
        last = now;
    }
    last
}

fn memory(child: &Child) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:")).unwrap_or_default().to_owned();
    line.split_whitespace().next().and_then(|k| k.parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}

/// Asks so many questions at this pace; gives when each was asked.
async fn ask(platform: &Platform, (count, pace): (u64, u64)) -> HashMap<u64, Instant> {
    let questions = [
        "1.0 pastel het clown x 0.1 clown, 7 eggs?",
        "odds on a clown pied from dh clown pied x dh clown pied",
        "het amel x het amel corn",
        "66% het pied girl to my pied, at least one pied in 6 eggs",
    ];
    let mut asked = HashMap::new();
    let begun = Instant::now();
    for n in 0..count {
        let due = begun + Duration::from_secs_f64(n as f64 / pace as f64);
        tokio::time::sleep_until(due.into()).await;
        let words = format!("<@{BOT}> {}", questions[usize::try_from(n).expect("few") % questions.len()]);
        let at = Instant::now();
        let id = platform.says_in(CHANNEL + n % 50, Some(SERVER), MAREN + n % 5000, &words, &Said::default());
        asked.insert(id, at);
    }
    asked
}

/// Waits for the answers; gives the times and when the last came.
async fn answers(platform: &Platform, asked: &HashMap<u64, Instant>) -> (Vec<f64>, Instant) {
    let end = Instant::now() + Duration::from_mins(1);
    loop {
        let (times, last) = platform.with(|s| {
            let mut first: HashMap<u64, Instant> = HashMap::new();
            for request in s.requests.iter().filter(|r| r.method == "POST") {
                let id = request.body["message_reference"]["message_id"].as_str().and_then(|i| i.parse().ok());
                if let Some(id) = id {
                    first.entry(id).or_insert(request.at);
                }
            }
            let times: Vec<f64> =
                asked.iter().filter_map(|(id, at)| Some((*first.get(id)? - *at).as_secs_f64() * 1000.0)).collect();
            (times, first.values().max().copied())
        });
        if times.len() == asked.len() || Instant::now() > end {
            return (times, last.unwrap_or(end));
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

fn share(times: &[f64], part: f64) -> f64 {
    let at = ((times.len().max(1) - 1) as f64 * part).round();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within the list
    times.get(at as usize).copied().unwrap_or(f64::NAN)
}

/// A server as large as many are, for the login to tell of.
fn large_server(n: u64) -> (u64, serde_json::Value) {
    let id = (120_000_000_000_000_000 + n * 10_000_000) & !0x3f_ffff | n & 0xffff;
    let (roles, channels, threads) = OF_A_SERVER;
    let role = |r: u64| {
        serde_json::json!({"id": (id + if r == 0 { 0 } else { 10_000 + r }).to_string(), "name": "role", "color": 0, "colors": {"primary_color": 0, "secondary_color": null, "tertiary_color": null},
            "hoist": false, "position": r, "permissions": "2252074691709952", "managed": false, "mentionable": false, "flags": 0})
    };
    let except =
        |r: u64| serde_json::json!({"id": (id + 10_001 + r).to_string(), "type": 0, "allow": "1024", "deny": "2048"});
    let channel = |c: u64| {
        serde_json::json!({"id": (id + 20_000 + c).to_string(), "type": 0, "name": "channel", "position": c, "nsfw": false,
            "permission_overwrites": [except(c % (roles - 1)), except((c + 1) % (roles - 1))]})
    };
    let thread = |t: u64| {
        serde_json::json!({"id": (id + 30_000 + t).to_string(), "type": 11, "name": "thread", "guild_id": id.to_string(),
            "parent_id": (id + 20_000 + t).to_string(), "message_count": 1, "member_count": 1, "rate_limit_per_user": 0,
            "thread_metadata": {"archived": false, "auto_archive_duration": 60, "archive_timestamp": "2024-01-01T00:00:00+00:00", "locked": false}})
    };
    let more = serde_json::json!({
        "roles": (0..roles).map(role).collect::<Vec<_>>(),
        "channels": (0..channels).map(channel).collect::<Vec<_>>(),
        "threads": (0..threads).map(thread).collect::<Vec<_>>(),
    });
    (id, more)
}

/// Memory at rest, with nobody and with many servers.
async fn rest(name: &str, size: Size) {
    for n in [0, size.servers] {
        let platform = Platform::start().await;
        platform.with(|s| {
            s.lenient = true;
            s.servers = (0..n).map(large_server).collect();
        });
        let (running, login, ready) = logged_in(name, &platform).await;
        let memory = at_rest(&running).await;
        let ready =
            running.health.map_or_else(String::new, |_| format!(", to ready {:.0} ms", ready.as_secs_f64() * 1000.0));
        let login = login.as_secs_f64() * 1000.0;
        println!("{name}: {n} servers: start to login {login:.0} ms{ready}; {memory:.1} MiB at rest");
    }
}

/// Times at an even pace, and how many a second at most.
async fn speed(name: &str, size: Size) {
    let platform = Platform::start().await;
    platform.with(|s| s.lenient = true);
    let (running, ..) = logged_in(name, &platform).await;
    // Some questions first: connections are opened, caches are warm.
    let warm = ask(&platform, (size.paced.0.min(100), 100)).await;
    answers(&platform, &warm).await;
    platform.with(|s| s.requests.clear());
    let asked = ask(&platform, size.paced).await;
    let (mut times, _) = answers(&platform, &asked).await;
    times.sort_by(f64::total_cmp);
    println!(
        "{name}: {} of {} answered at {} a second; ms p50 {:.2} p90 {:.2} p99 {:.2} max {:.2}",
        times.len(),
        asked.len(),
        size.paced.1,
        share(&times, 0.5),
        share(&times, 0.9),
        share(&times, 0.99),
        share(&times, 1.0)
    );
    platform.with(|s| s.requests.clear());
    let begun = Instant::now();
    let asked = ask(&platform, size.flood).await;
    let (times, last) = answers(&platform, &asked).await;
    let took = (last - begun).as_secs_f64();
    println!(
        "{name}: {} of {} answered in {took:.1} s when offered {} a second: {:.0} a second",
        times.len(),
        asked.len(),
        size.flood.1,
        times.len() as f64 / took
    );
    println!("{name}: memory afterwards {:.1} MiB", memory(&running.child));
}

fn main() {
    let runtime = tokio::runtime::Runtime::new().expect("threads");
    if let Ok(api) = std::env::var("ECHO_AT") {
        runtime.block_on(echo(api));
        return;
    }
    // `cargo test --benches` runs this too, and must not measure.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    runtime.block_on(async {
        let size = Size::wanted();
        for name in ["echo", "hatchward"] {
            rest(name, size).await;
            if !std::env::var("HATCHWARD_BENCH").is_ok_and(|what| what == "memory") {
                speed(name, size).await;
            }
        }
    });
}
