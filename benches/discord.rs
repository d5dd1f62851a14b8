//! Answering on Discord: from a mention to its reply, against the stand-in of the platform on loopback.
//!
//! The real program with its database, and beside it, in the same run, a bare handler from the same crates that sends every
//! mention back as it came. Run with `cargo bench --bench discord`; it prints figures and asserts nothing.

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

/// Messages of the run at an even pace, and how many a second.
const PACED: (u64, u64) = (2000, 200);
/// Messages of the run as fast as they are taken, offered at this pace.
const FLOOD: (u64, u64) = (8000, 2000);
/// Servers for the memory at rest.
const SERVERS: u64 = 1000;

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

fn start(name: &str, platform: &Platform) -> Child {
    let mut command = if name == "echo" {
        let mut command = Command::new(std::env::current_exe().expect("this program"));
        command.env("ECHO_AT", &platform.api);
        command
    } else {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hatchward"));
        command.arg("serve").env("HATCHWARD_DISCORD_API", &platform.api).env("DISCORD_TOKEN", TOKEN);
        command.env("HATCHWARD_HEALTH_LISTEN", "").env("HATCHWARD_LOG_LEVEL", "warn");
        command.env("HATCHWARD_LIMITS_SERVER_QUESTIONS", "1000000").env("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "1000");
        command.env("DATABASE_URL", platform.database.as_ref().expect("a Postgres server is installed"));
        command
    };
    command.stdout(Stdio::null()).stderr(Stdio::inherit()).spawn().expect("it starts")
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
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within the list
    times.get(at as usize).copied().unwrap_or(f64::NAN)
}

async fn measure(name: &str) {
    let platform = Platform::start().await;
    platform.with(|s| s.lenient = true);
    let begun = Instant::now();
    let mut child = start(name, &platform);
    platform.until("a login", Duration::from_secs(30), |s| (!s.identifies.is_empty()).then_some(())).await;
    let ready = begun.elapsed();
    tokio::time::sleep(Duration::from_secs(2)).await;
    let small = memory(&child);
    for n in 0..SERVERS {
        let id = 120_000_000_000_000_000 + n * 10_000_000;
        platform.server(id, "2024-01-01T00:00:00+00:00", &serde_json::json!({"roles": [], "channels": (0..40).map(|c| serde_json::json!({
            "id": (id + c).to_string(), "type": 0, "name": "channel", "position": 0, "permission_overwrites": [], "nsfw": false
        })).collect::<Vec<_>>()}));
    }
    tokio::time::sleep(Duration::from_secs(5)).await;
    let large = memory(&child);
    // One question first: connections are opened, caches are warm.
    let warm = ask(&platform, (50, 100)).await;
    answers(&platform, &warm).await;
    platform.with(|s| s.requests.clear());
    let asked = ask(&platform, PACED).await;
    let (mut times, _) = answers(&platform, &asked).await;
    times.sort_by(f64::total_cmp);
    println!(
        "{name}: start to login {:.0} ms; memory {small:.0} MiB, {large:.0} MiB with {SERVERS} servers",
        ready.as_secs_f64() * 1000.0
    );
    println!(
        "{name}: {} of {} answered at {} a second; ms p50 {:.2} p90 {:.2} p99 {:.2} max {:.2}",
        times.len(),
        asked.len(),
        PACED.1,
        share(&times, 0.5),
        share(&times, 0.9),
        share(&times, 0.99),
        share(&times, 1.0)
    );
    platform.with(|s| s.requests.clear());
    let begun = Instant::now();
    let asked = ask(&platform, FLOOD).await;
    let (times, last) = answers(&platform, &asked).await;
    let took = (last - begun).as_secs_f64();
    println!(
        "{name}: {} of {} answered in {took:.1} s when offered {} a second: {:.0} a second",
        times.len(),
        asked.len(),
        FLOOD.1,
        times.len() as f64 / took
    );
    println!("{name}: memory afterwards {:.0} MiB", memory(&child));
    let _ = child.kill();
    let _ = child.wait();
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
        measure("echo").await;
        measure("hatchward").await;
    });
}
