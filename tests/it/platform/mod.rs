//! A small model of the platform on loopback: HTTP and the gateway line, as the documentation describes them. The real
//! program logs in to it. It checks every body that arrives and can misbehave on request.

pub(crate) mod bot; // the real program as a process
pub(crate) mod events; // what the platform tells a bot
pub(crate) mod gateway; // the line: identify, resume, heartbeats, closes
pub(crate) mod http; // requests and what becomes of them
pub(crate) mod schema; // bodies against the published description

use std::collections::HashMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serde_json::Value;
use tokio::sync::Notify;

/// The bot's own id; also the id of its application.
pub(crate) const BOT: u64 = 900_000_000_000_000_007;
/// A server.
pub(crate) const SERVER: u64 = 100_000_000_000_000_001;
/// A text channel of it.
pub(crate) const CHANNEL: u64 = 200_000_000_000_000_001;
/// A second text channel of it.
pub(crate) const OTHER_CHANNEL: u64 = 200_000_000_000_000_002;
/// A direct-message channel.
pub(crate) const DIRECT: u64 = 300_000_000_000_000_001;
/// A member.
pub(crate) const MAREN: u64 = 400_000_000_000_000_001;
/// Another member.
pub(crate) const TJARK: u64 = 400_000_000_000_000_002;
/// The token that is accepted.
pub(crate) const TOKEN: &str = "MTA.standin.token-of-the-tests";

/// A request that arrived.
#[derive(Debug, Clone)]
pub(crate) struct Request {
    /// "POST".
    pub(crate) method: String,
    /// Behind `/api/v10`, with what stands behind the "?".
    pub(crate) path: String,
    /// The JSON body; for uploads the part that holds it.
    pub(crate) body: Value,
    /// When.
    pub(crate) at: Instant,
    /// The status that was answered; 0 where the line was cut.
    pub(crate) status: u16,
}

/// A way to misbehave.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Fault {
    /// Answers with this status and a code of the platform.
    Status(u16, u64),
    /// 429 with this wait.
    Slow {
        /// How long to wait.
        wait: Duration,
        /// Everywhere, not only here.
        everywhere: bool,
    },
    /// Does it, and cuts the line before the answer.
    LoseAnswer,
    /// Does nothing for so long, then goes on.
    Late(Duration),
    /// Does it, and says so only after so long.
    AnswerLate(Duration),
}

/// What will go wrong: where, how, and how often.
#[derive(Debug)]
pub(crate) struct Planned {
    method: &'static str,
    path: String,
    fault: Fault,
    times: usize,
}

/// What the stand-in knows.
#[derive(Debug, Default)]
pub(crate) struct State {
    /// Every request, in order of arrival.
    pub(crate) requests: Vec<Request>,
    /// Method and path of every request, as soon as it is there.
    pub(crate) arrived: Vec<(String, String)>,
    /// Messages by id.
    pub(crate) messages: HashMap<u64, Value>,
    /// First answers by interaction token.
    pub(crate) interactions: HashMap<String, Value>,
    /// Messages that components stand under, by interaction token.
    pub(crate) origins: HashMap<String, Value>,
    /// Messages by channel and nonce.
    pub(crate) nonces: HashMap<(String, String), u64>,
    /// Registered commands, by path.
    pub(crate) commands: HashMap<String, Value>,
    /// Sessions by id.
    pub(crate) sessions: HashMap<String, gateway::Session>,
    /// Identifies, with shard and total.
    pub(crate) identifies: Vec<(u64, u64)>,
    /// When the last of them came.
    pub(crate) identified_at: Option<Instant>,
    /// Resumes.
    pub(crate) resumes: usize,
    /// What will go wrong.
    pub(crate) planned: Vec<Planned>,
    /// Complaints about bodies: what a test must not leave behind.
    pub(crate) complaints: Vec<String>,
    /// Bodies are taken as they come: for measuring.
    pub(crate) lenient: bool,
    /// Intents of the last identify.
    pub(crate) intents: u64,
    /// Close codes for identifies to come.
    pub(crate) refuse_identify: Vec<u16>,
    /// Heartbeats are acknowledged.
    pub(crate) deaf: bool,
    /// The channel permissions that interactions tell; `None` tells all.
    pub(crate) permissions: Option<u64>,
    /// Servers whose messages are refused for want of a permission.
    pub(crate) no_embeds: bool,
    /// What is special about the usual server.
    pub(crate) special: Value,
    /// Servers beside the usual one that a login tells of, each with what is special about it.
    pub(crate) servers: Vec<(u64, Value)>,
    /// Files that were handed in, by their path.
    pub(crate) files: HashMap<String, Vec<u8>>,
    /// Paths of files that were fetched.
    pub(crate) fetched: Vec<String>,
    /// Direct messages are closed.
    pub(crate) closed_direct: bool,
}

/// The stand-in.
#[derive(Debug, Clone)]
pub(crate) struct Platform {
    /// What it knows.
    pub(crate) state: Arc<Mutex<State>>,
    /// Told of every change.
    pub(crate) changed: Arc<Notify>,
    /// The base address for requests.
    pub(crate) api: String,
    /// The address of the line.
    pub(crate) line: String,
    /// How often a heartbeat is asked for.
    pub(crate) heartbeat: Duration,
    /// A database of its own, where a server is installed.
    pub(crate) database: Option<String>,
    /// Shards that are recommended.
    pub(crate) shards: u64,
    last_id: Arc<AtomicU64>,
}

impl Platform {
    /// A stand-in with the usual heartbeat.
    pub(crate) async fn start() -> Self {
        Self::start_with(Duration::from_secs(41), 1).await
    }

    /// A stand-in with this heartbeat and so many recommended shards.
    pub(crate) async fn start_with(heartbeat: Duration, shards: u64) -> Self {
        let http = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port on loopback");
        let line = tokio::net::TcpListener::bind("127.0.0.1:0").await.expect("a port on loopback");
        let platform = Self {
            state: Arc::default(),
            changed: Arc::default(),
            api: format!("http://{}", http.local_addr().expect("an address")),
            line: format!("ws://{}", line.local_addr().expect("an address")),
            heartbeat,
            database: crate::store::server::shared().map(|s| s.url("hatchward", &s.fresh())),
            shards,
            last_id: Arc::new(AtomicU64::new(0)),
        };
        tokio::spawn(http::run(platform.clone(), http));
        tokio::spawn(gateway::run(platform.clone(), line));
        platform
    }

    /// A new id, with the present moment in it as the platform's ids have.
    pub(crate) fn id(&self) -> u64 {
        let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).expect("after 1970");
        let ms = u64::try_from(now.as_millis()).expect("fits") - 1_420_070_400_000;
        (ms << 22) + (self.last_id.fetch_add(1, Ordering::Relaxed) & 0x3f_ffff)
    }

    /// Looks at what is known.
    pub(crate) fn with<T>(&self, look: impl FnOnce(&mut State) -> T) -> T {
        look(&mut self.state.lock().expect("no test panicked inside"))
    }

    /// Plans a fault.
    pub(crate) fn plan(&self, method: &'static str, path: &str, fault: Fault, times: usize) {
        self.with(|s| s.planned.push(Planned { method, path: path.to_owned(), fault, times }));
    }

    /// Waits until `look` finds something.
    pub(crate) async fn until<T>(
        &self,
        what: &str,
        most: Duration,
        mut look: impl FnMut(&mut State) -> Option<T>,
    ) -> T {
        let end = Instant::now() + most;
        loop {
            let changed = self.changed.notified();
            tokio::pin!(changed);
            changed.as_mut().enable();
            if let Some(found) = self.with(&mut look) {
                return found;
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                let seen: Vec<String> = self.with(|s| {
                    s.requests.iter().map(|r| format!("{} {} {} {}", r.method, r.path, r.status, r.body)).collect()
                });
                panic!("{what} did not come within {most:?}; requests:\n{}", seen.join("\n"));
            }
            let _ = tokio::time::timeout(left.min(Duration::from_millis(200)), changed).await;
        }
    }

    /// The answer to a message, as the message that was sent.
    pub(crate) async fn answer_to(&self, message: u64) -> Value {
        let id = message.to_string();
        self.until("an answer", WAIT, |s| {
            s.messages.values().find(|m| m["message_reference"]["message_id"] == id.as_str()).cloned()
        })
        .await
    }

    /// How many messages answer this one.
    pub(crate) fn answers_to(&self, message: u64) -> usize {
        let id = message.to_string();
        self.with(|s| s.messages.values().filter(|m| m["message_reference"]["message_id"] == id.as_str()).count())
    }

    /// Waits until the answer to a message is as wanted.
    pub(crate) async fn until_answer(&self, message: u64, wanted: impl Fn(&Value) -> bool) -> Value {
        let id = message.to_string();
        self.until("the wanted answer", WAIT, |s| {
            s.messages.values().find(|m| m["message_reference"]["message_id"] == id.as_str() && wanted(m)).cloned()
        })
        .await
    }

    /// Waits until a request has come in, also one that is not answered yet.
    pub(crate) async fn arrived(&self, method: &str, path: &str) {
        self.until("a request", WAIT, |s| s.arrived.iter().any(|(m, p)| m == method && p.contains(path)).then_some(()))
            .await;
    }

    /// Waits for as long as an answer would take that must not come.
    pub(crate) async fn still(&self) {
        tokio::time::sleep(Duration::from_millis(700)).await;
    }

    /// Requests by method whose path holds these words.
    pub(crate) fn requests(&self, method: &str, path: &str) -> Vec<Request> {
        self.with(|s| s.requests.iter().filter(|r| r.method == method && r.path.contains(path)).cloned().collect())
    }

    /// The message that answers an interaction, once it is no longer only announced.
    pub(crate) async fn answer_to_interaction(&self, token: &str) -> Value {
        self.until("an answer to an interaction", WAIT, |s| {
            s.interactions.get(token).filter(|a| !a["message"].is_null()).cloned()
        })
        .await
    }

    /// Fails when a body broke the platform's rules.
    pub(crate) fn is_content(&self) {
        let complaints = self.with(|s| s.complaints.clone());
        assert!(complaints.is_empty(), "the platform complains:\n{}", complaints.join("\n"));
    }
}

/// How long a test waits for something that should come at once.
pub(crate) const WAIT: Duration = Duration::from_secs(30);

/// Whether a field holds this id; the platform writes ids as text, so a bare comparison with the number is never true.
pub(crate) fn is_id(field: &Value, id: u64) -> bool {
    field.as_str().is_some_and(|text| text.parse() == Ok(id))
}

/// All that a message says: content and embeds.
pub(crate) fn text(message: &Value) -> String {
    let mut text = message["content"].as_str().unwrap_or_default().to_owned();
    for embed in message["embeds"].as_array().into_iter().flatten() {
        for part in ["title", "description"] {
            text.push_str(embed[part].as_str().unwrap_or_default());
            text.push('\n');
        }
        for field in embed["fields"].as_array().into_iter().flatten() {
            text.push_str(field["name"].as_str().unwrap_or_default());
            text.push('\n');
            text.push_str(field["value"].as_str().unwrap_or_default());
            text.push('\n');
        }
        text.push_str(embed["footer"]["text"].as_str().unwrap_or_default());
    }
    text
}

/// The id of a component whose label or id holds `name`.
pub(crate) fn component(message: &Value, name: &str) -> String {
    let parts =
        message["components"].as_array().into_iter().flatten().filter_map(|r| r["components"].as_array()).flatten();
    let found = parts.clone().find(|c| {
        c["label"].as_str().is_some_and(|l| l.contains(name))
            || c["custom_id"].as_str().is_some_and(|i| i.contains(name))
    });
    let found = found.unwrap_or_else(|| panic!("no component is called {name:?}: {}", message["components"]));
    found["custom_id"].as_str().expect("it has an id").to_owned()
}
