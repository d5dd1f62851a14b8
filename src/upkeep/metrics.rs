//! Numbers for the operator, in the form that Prometheus reads. Counts and times only: no ids, no words.

use std::fmt;
use std::sync::Mutex;
use std::sync::atomic::AtomicU64;
use std::time::Duration;

use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::Registry;

/// Limits of the histogram of times, in seconds: from a plain answer to the most a member waits.
const TIMES: [f64; 11] = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.3, 1.0, 3.0, 10.0];

/// From here on a reminder is late, in seconds.
const LATE_S: f64 = 15.0;

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Asked {
    kind: &'static str,
    outcome: &'static str,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Kind {
    kind: &'static str,
}

/// The numbers of this process.
pub struct Numbers {
    registry: Mutex<Registry>,
    questions: Family<Asked, Counter>,
    times: Family<Kind, Histogram, fn() -> Histogram>,
    /// Answers with words that were not understood.
    pub unread: Counter,
    /// Answers in all, to set `unread` against.
    pub answers: Counter,
    /// Logins that were made anew.
    pub logins: Counter,
    /// Lines that were resumed.
    pub resumes: Counter,
    /// Mentions answered that were missed while disconnected.
    pub caught_up: Counter,
    /// Shards with a line to the platform.
    pub connected: Gauge,
    /// Shards of this process.
    pub shards: Gauge,
    /// Servers known.
    pub servers: Gauge,
    /// Logins that are left today, by the platform's count.
    pub logins_left: Gauge,
    /// Whether the database answered last time.
    pub database: Gauge,
    /// Connections to the database.
    pub connections: Gauge,
    /// Reminders that are due and not told.
    pub reminders_due: Gauge,
    /// Reminders that were told, those of them that were late, and those that could be told nowhere.
    reminders: Family<Kind, Counter>,
    /// Requests to the platform by what became of them.
    requests: Family<Asked, Gauge<i64>>,
    /// Memory of the process, in bytes.
    memory: Gauge<u64, AtomicU64>,
}

impl fmt::Debug for Numbers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Numbers")
    }
}

impl Default for Numbers {
    fn default() -> Self {
        let numbers = Self {
            registry: Mutex::new(Registry::with_prefix("hatchward")),
            questions: Family::default(),
            times: Family::new_with_constructor(|| Histogram::new(TIMES)),
            unread: Counter::default(),
            answers: Counter::default(),
            logins: Counter::default(),
            resumes: Counter::default(),
            caught_up: Counter::default(),
            connected: Gauge::default(),
            shards: Gauge::default(),
            servers: Gauge::default(),
            logins_left: Gauge::default(),
            database: Gauge::default(),
            connections: Gauge::default(),
            reminders_due: Gauge::default(),
            reminders: Family::default(),
            requests: Family::default(),
            memory: Gauge::default(),
        };
        if let Ok(mut registry) = numbers.registry.lock() {
            registry.register("questions", "Questions by kind and outcome", numbers.questions.clone());
            registry.register("answer_seconds", "Time from hearing a question to its answer", numbers.times.clone());
            registry.register("answers", "Answers worked out", numbers.answers.clone());
            registry.register("answers_with_unread_words", "Answers with words not understood", numbers.unread.clone());
            registry.register("logins", "Logins made anew", numbers.logins.clone());
            registry.register("resumes", "Lines resumed", numbers.resumes.clone());
            registry.register("caught_up", "Missed mentions answered afterwards", numbers.caught_up.clone());
            registry.register("shards_connected", "Shards with a line to the platform", numbers.connected.clone());
            registry.register("shards", "Shards of this process", numbers.shards.clone());
            registry.register("servers", "Servers known", numbers.servers.clone());
            registry.register("logins_left", "Logins left today", numbers.logins_left.clone());
            registry.register("database_up", "Whether the database answered last time", numbers.database.clone());
            registry.register("database_connections", "Connections to the database", numbers.connections.clone());
            registry.register("reminders_due", "Reminders due and not told", numbers.reminders_due.clone());
            registry.register("reminders", "Reminders sent, late and failed", numbers.reminders.clone());
            registry.register("requests", "Requests to the platform by outcome", numbers.requests.clone());
            registry.register("memory_bytes", "Resident memory", numbers.memory.clone());
        }
        numbers
    }
}

impl Numbers {
    /// Counts a question.
    pub fn question(&self, kind: &'static str, fine: bool, took: Duration) {
        let outcome = if fine { "answered" } else { "failed" };
        self.questions.get_or_create(&Asked { kind, outcome }).inc();
        self.times.get_or_create(&Kind { kind }).observe(took.as_secs_f64());
    }

    /// Counts a reminder that was told, or could be told nowhere, so many seconds after it was due.
    pub fn reminder(&self, told: bool, late_s: f64) {
        let count = |kind| self.reminders.get_or_create(&Kind { kind }).inc();
        count(if told { "sent" } else { "failed" });
        if told && late_s > LATE_S {
            count("late");
        }
    }

    /// Notes how many requests ended in this way so far.
    pub fn requests(&self, outcome: &'static str, so_far: u64) {
        let gauge = self.requests.get_or_create(&Asked { kind: "http", outcome });
        gauge.set(i64::try_from(so_far).unwrap_or(i64::MAX));
    }

    /// All numbers as text.
    ///
    /// # Errors
    /// When the text cannot be written.
    pub fn text(&self) -> Result<String, fmt::Error> {
        if let Some(bytes) = memory() {
            self.memory.set(bytes);
        }
        let mut out = String::new();
        if let Ok(registry) = self.registry.lock() {
            prometheus_client::encoding::text::encode(&mut out, &registry)?;
        }
        Ok(out)
    }
}

/// Resident memory of this process in bytes, where the system tells it.
#[must_use]
pub fn memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:"))?;
    line.split_whitespace().next()?.parse::<u64>().ok().map(|kib| kib * 1024)
}
