//! Why the library gave a line up. It closes some lines for good and then spins at full processor without a word to its
//! caller; only its own log says so. This listens to that log and to nothing else of it.

use std::fmt;
use std::sync::OnceLock;

use tokio::sync::Notify;
use tracing::field::{Field, Visit};
use tracing::{Event, Subscriber};
use tracing_subscriber::layer::{Context, Layer};

/// What the library writes, what it means, and the exit code.
const MEANING: [(&str, &str, u8); 3] = [
    (
        "Sent invalid shard data",
        "the platform does not take these shards: mend discord.shards (first-last/total) in all processes",
        78,
    ),
    (
        "Shard has too many guilds",
        "the bot is in too many servers for so few shards: set discord.shards to \"auto\" or to a higher total",
        78,
    ),
    ("Sent no authentication", "the platform lost the login of this line: try again", 75),
];

static SEEN: OnceLock<(&str, u8)> = OnceLock::new();
static TOLD: Notify = Notify::const_new();

/// Waits until the library has given a line up for good: the sentence for the operator, and the exit code.
pub async fn given_up() -> (&'static str, u8) {
    loop {
        let told = TOLD.notified();
        if let Some(seen) = SEEN.get() {
            return *seen;
        }
        told.await;
    }
}

/// The ear at the library's log.
#[derive(Debug, Default)]
pub struct Ear;

impl<S: Subscriber> Layer<S> for Ear {
    fn on_event(&self, event: &Event<'_>, _: Context<'_, S>) {
        let mut words = Words::default();
        event.record(&mut words);
        if let Some((_, why, code)) = MEANING.iter().find(|(said, ..)| words.0.contains(said)) {
            let _ = SEEN.set((why, *code));
            TOLD.notify_waiters();
        }
    }
}

#[derive(Default)]
struct Words(String);

impl Visit for Words {
    fn record_debug(&mut self, field: &Field, value: &dyn fmt::Debug) {
        if field.name() == "message" {
            self.0 = format!("{value:?}");
        }
    }
}
