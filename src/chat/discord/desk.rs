//! The desk at which every question is answered: dictionaries, the way to the platform, records, limits.
//!
//! One for the whole program; handlers borrow it. Invariant: once it is closed nothing new is begun, and closing waits for
//! what is being written.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use serenity::model::id::{ApplicationId, UserId};
use tokio::sync::{Notify, OwnedMutexGuard, OwnedRwLockReadGuard, RwLock};

use super::kept::Kept;
use super::patience::Times;
use super::places::Places;
use super::rate::Rate;
use super::rest::Rest;
use super::turns::{Asker, Books};
use crate::collection::store::{Place, Who};
use crate::conversation::desk::{Front, Present, Shelf};
use crate::settings::Settings;
use crate::upkeep::metrics::Numbers;

/// The platform's ids count milliseconds from here: the first moment of 2015.
const EPOCH_MS: u64 = 1_420_070_400_000;

/// Long work in one server at once.
const LONG_IN_SERVER: usize = 2;

/// Everything that answering takes.
#[derive(Debug)]
pub struct Desk {
    /// The dictionaries.
    pub books: Books,
    /// The way to the platform.
    pub rest: Rest,
    /// What is kept.
    pub kept: Kept,
    /// Members' own animals.
    pub shelf: Arc<Shelf>,
    /// Servers and channels.
    pub places: Places,
    /// Servers that logins named: each is told of soon after.
    pub named: AtomicUsize,
    /// How much may be asked.
    pub rate: Rate,
    /// Numbers for the operator.
    pub numbers: Numbers,
    /// What the operator set.
    pub settings: Settings,
    /// When what is said while an answer takes its time.
    pub times: Times,
    /// The bot's own id, from its login on.
    pub me: OnceLock<UserId>,
    /// The id of the application, from its login on.
    pub application: OnceLock<ApplicationId>,
    /// Shards of the whole bot.
    pub total: OnceLock<u32>,
    /// The shards of this process, first and last.
    pub held: OnceLock<(u32, u32)>,
    /// When the platform was last heard on each shard, in milliseconds since 1970.
    heard: Mutex<HashMap<u32, u64>>,
    /// Since when nothing was heard on a shard before its last login; nothing where it never was.
    missed: Mutex<HashMap<u32, Option<u64>>>,
    /// That has been looked up for a shard.
    looked_up: Notify,
    /// Answers that take a while: who asked, and how to be told to give up.
    waiting: Mutex<HashMap<u64, (u64, Arc<Notify>)>>,
    /// Long work at hand: of which member, in which server.
    long: Mutex<Vec<(u64, u64)>>,
    closed: AtomicBool,
    busy: Arc<RwLock<()>>,
    being_changed: Mutex<HashMap<u64, Arc<tokio::sync::Mutex<()>>>>,
}

/// Held while an answer is being written.
#[derive(Debug)]
pub struct Work(#[allow(dead_code)] OwnedRwLockReadGuard<()>); // it is held, not read

/// Held while long work runs, also when nobody waits for it any more.
#[derive(Debug)]
pub struct Long {
    desk: Arc<Desk>,
    who: (u64, u64),
}

impl Drop for Long {
    fn drop(&mut self) {
        if let Ok(mut long) = self.desk.long.lock()
            && let Some(at) = long.iter().position(|who| *who == self.who)
        {
            long.swap_remove(at);
        }
    }
}

impl Desk {
    /// Opens a desk.
    #[must_use]
    pub fn new(books: Books, rest: Rest, kept: Kept, settings: Settings) -> Self {
        // Both are one store; the place is only for one that is not open yet.
        let shelf = Arc::new(Shelf::open(Place::Memory, kept.store().clone()));
        Self {
            books,
            rest,
            kept,
            shelf,
            places: Places::default(),
            named: AtomicUsize::new(0),
            rate: Rate::new(&settings),
            numbers: Numbers::default(),
            settings,
            times: Times::default(),
            me: OnceLock::new(),
            application: OnceLock::new(),
            total: OnceLock::new(),
            held: OnceLock::new(),
            heard: Mutex::default(),
            missed: Mutex::default(),
            looked_up: Notify::new(),
            waiting: Mutex::default(),
            long: Mutex::default(),
            closed: AtomicBool::new(false),
            busy: Arc::new(RwLock::new(())),
            being_changed: Mutex::default(),
        }
    }

    /// Begins an answer; `None` once the desk is closed.
    pub async fn begin(&self) -> Option<Work> {
        if self.closed.load(Ordering::Acquire) {
            return None;
        }
        let work = Work(Arc::clone(&self.busy).read_owned().await);
        // It may have closed while this one waited.
        (!self.closed.load(Ordering::Acquire)).then_some(work)
    }

    /// Nothing new is begun from here on.
    pub fn stop_taking(&self) {
        self.closed.store(true, Ordering::Release);
    }

    /// Closes the desk: nothing new is begun. Waits for the answers in flight, `most` at longest; `true` when all are done.
    pub async fn close(&self, most: Duration) -> bool {
        self.stop_taking();
        tokio::time::timeout(most, self.busy.write()).await.is_ok()
    }

    /// Is told when this answer is to be given up.
    #[must_use]
    pub fn cancelled(&self, source: u64, asker: u64) -> Arc<Notify> {
        let notify = Arc::new(Notify::new());
        if let Ok(mut waiting) = self.waiting.lock() {
            waiting.insert(source, (asker, Arc::clone(&notify)));
        }
        notify
    }

    /// Gives an answer up, if `by` asked for it.
    pub fn cancel(&self, source: u64, by: u64) {
        if let Ok(waiting) = self.waiting.lock()
            && let Some((_, notify)) = waiting.get(&source).filter(|(asker, _)| *asker == by)
        {
            notify.notify_one();
        }
    }

    /// The answer is there, or given up.
    pub fn settle(&self, source: u64) {
        if let Ok(mut waiting) = self.waiting.lock() {
            waiting.remove(&source);
        }
    }

    /// Begins long work for a member: one at a time, and two in a server. `None` when there is no room.
    #[must_use]
    pub fn begin_long(self: &Arc<Self>, member: u64, server: u64) -> Option<Long> {
        let mut long = self.long.lock().ok()?;
        let in_server = long.iter().filter(|(_, s)| server != 0 && *s == server).count();
        if long.iter().any(|(m, _)| *m == member) || in_server >= LONG_IN_SERVER {
            return None;
        }
        long.push((member, server));
        Some(Long { desk: Arc::clone(self), who: (member, server) })
    }

    /// Whether the operator shut a member or server out.
    #[must_use]
    pub fn is_blocked(&self, id: u64) -> bool {
        id != 0 && self.settings.blocked.contains(&id)
    }

    /// A member as the collection knows them.
    #[must_use]
    pub fn keeper(member: u64) -> Who {
        Who { platform: "discord", user: member.to_string() }
    }

    /// A member who asks; `source` is the message or interaction.
    #[must_use]
    pub fn asker(&self, member: u64, source: u64) -> Asker {
        let now = jiff::Timestamp::now();
        Asker {
            who: Self::keeper(member),
            shelf: Arc::clone(&self.shelf),
            // Who told no time zone is on the day of the whole world's clock.
            present: Present {
                day: now.to_zoned(jiff::tz::TimeZone::UTC).date(),
                now: Some(now),
                zone: None,
                front: Front::Direct,
            },
            once: format!("discord {source}"),
            file: None,
        }
    }

    /// Whether this process hears a server.
    #[must_use]
    pub fn hears_server(&self, server: u64) -> bool {
        let (Some((first, last)), Some(shard)) = (self.held.get(), self.shard_of(server)) else { return false };
        (*first..=*last).contains(&shard)
    }

    /// The shard that hears a server; `None` before it is known how many there are.
    fn shard_of(&self, server: u64) -> Option<u32> {
        u32::try_from((server >> 22) % u64::from(*self.total.get()?).max(1)).ok()
    }

    /// How long ago an id of the platform was given.
    #[must_use]
    pub fn age_of(&self, id: u64) -> Duration {
        Duration::from_millis(now_ms().saturating_sub((id >> 22) + EPOCH_MS))
    }

    /// Changes of one answer go one after the other; the last edit wins.
    pub async fn one_at_a_time(&self, id: u64) -> Option<OwnedMutexGuard<()>> {
        let lock = {
            let mut changing = self.being_changed.lock().ok()?;
            if changing.len() > 256 {
                changing.retain(|_, lock| Arc::strong_count(lock) > 1);
            }
            Arc::clone(changing.entry(id).or_default())
        };
        Some(lock.lock_owned().await)
    }

    /// The platform was heard on a shard just now.
    pub fn hears(&self, shard: u32) {
        if let Ok(mut heard) = self.heard.lock() {
            heard.insert(shard, now_ms());
        }
    }

    /// When it was last heard there; `None` where it never was.
    #[must_use]
    pub fn heard(&self, shard: u32) -> Option<u64> {
        self.heard.lock().ok()?.get(&shard).copied()
    }

    /// Notes since when nothing was heard on a shard.
    pub fn set_missed(&self, shard: u32, since: Option<u64>) {
        if let Ok(mut missed) = self.missed.lock() {
            missed.insert(shard, since);
        }
        self.looked_up.notify_waiters();
    }

    /// The shard of a server, and since when something may have been missed there. The login's servers come while that is
    /// still being looked up: then it is waited for.
    pub async fn missed(&self, server: u64) -> Option<(u32, u64)> {
        let shard = self.shard_of(server)?;
        loop {
            let looked_up = self.looked_up.notified();
            if let Some(since) = self.missed.lock().ok()?.get(&shard).copied() {
                return since.map(|since| (shard, since));
            }
            tokio::time::timeout(LOOKED_UP, looked_up).await.ok()?;
        }
    }
}

/// How long a server waits to hear since when something may have been missed; a database that is away tells nobody.
const LOOKED_UP: Duration = Duration::from_secs(30);

/// Milliseconds since 1970.
#[must_use]
pub fn now_ms() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| u64::try_from(d.as_millis()).unwrap_or(u64::MAX))
}

/// The first id that the platform gives after a moment in milliseconds since 1970.
#[must_use]
pub fn id_after(ms: u64) -> u64 {
    ms.saturating_sub(EPOCH_MS) << 22
}
