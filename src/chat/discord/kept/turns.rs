//! Answers: who may give one, what a follow-up goes on from, what a button stands for.
//!
//! Invariant: a message or interaction is claimed once, whatever process hears it; a button that was used up does nothing
//! twice. While the database is away this process remembers by itself.

use std::collections::{HashMap, VecDeque};
use std::sync::Mutex;
use std::time::Duration;

use serenity::model::id::MessageId;
use sqlx::Row as _;
use sqlx::types::Json;

use super::super::turns::Thread;
use super::{Away, Kept, signed, unsigned};

/// Answers remembered in memory at most; the oldest leave first.
const HELD: usize = 10_000;
/// A claim without an answer is free again after so long: its process was killed in the middle of it. Longer than any
/// answer takes that is not told to wait.
const ABANDONED_SECONDS: f64 = 20.0;

/// A message or interaction that asks something: its id, which is also the id of its answer.
pub type Source = u64;

/// What is kept of one answer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Answer {
    /// The channel it stands in.
    pub channel: u64,
    /// The server, 0 in direct messages.
    pub guild: u64,
    /// Who asked.
    pub asker: u64,
    /// The message that holds the answer, 0 until it is sent.
    pub message: u64,
    /// The channel of that message where it is another than was asked in, as a direct message is; 0 else.
    pub stands_in: u64,
    /// Only the asker sees it.
    pub private: bool,
    /// A button has put another answer in its place.
    pub replaced: bool,
    /// What the talk is about.
    pub thread: Thread,
}

/// What a follow-up goes on from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Before {
    /// Nothing.
    Nothing,
    /// The answer in this message, which was given to this question (0 where that is not told): the message is noted
    /// only once it is sent, its question before.
    Message(u64, u64),
    /// The asker's last answer in the channel, if it is not older than this.
    Recent(Duration),
}

/// What became of a claim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Claim {
    /// It is ours to answer; what was talked of before, where that is known.
    Mine(Option<Thread>),
    /// Somebody has it.
    Taken,
    /// The shard belongs to another process now: this one must stay silent.
    NotOurs,
}

/// What this process remembers by itself.
#[derive(Debug, Default)]
pub(super) struct Held(Mutex<Memory>);

#[derive(Debug, Default)]
struct Memory {
    answers: HashMap<Source, Answer>,
    order: VecDeque<Source>,
}

impl Held {
    fn claim(&self, source: Source, answer: &Answer, before: Before) -> Claim {
        let Ok(mut memory) = self.0.lock() else { return Claim::Taken };
        if memory.answers.contains_key(&source) {
            return Claim::Taken;
        }
        let found = match before {
            Before::Nothing => None,
            Before::Message(message, asked) => {
                let found = memory.answers.values().find(|a| a.message == message);
                found.or_else(|| memory.answers.get(&asked)).cloned()
            }
            Before::Recent(_) => {
                let same = |s: &&Source| {
                    let known = memory.answers.get(*s);
                    known
                        .is_some_and(|a| a.channel == answer.channel && a.asker == answer.asker && !a.thread.is_empty())
                };
                memory.order.iter().rev().take(200).find(same).and_then(|s| memory.answers.get(s).cloned())
            }
        };
        memory.put(source, answer.clone());
        let theirs = |a: &Answer| a.asker == answer.asker;
        Claim::Mine(found.map(|a| if theirs(&a) { a.thread } else { a.thread.for_others() }))
    }
}

impl Memory {
    fn put(&mut self, source: Source, answer: Answer) {
        if self.answers.insert(source, answer).is_none() {
            self.order.push_back(source);
        }
        while self.order.len() > HELD {
            if let Some(oldest) = self.order.pop_front() {
                self.answers.remove(&oldest);
            }
        }
    }
}

/// One statement: whether the shard is ours, the claim, and what was said before. One way to the database and back, because
/// it stands before every answer. A claim that a crash of the database loses was for an answer that the crash lost too, so
/// nobody waits for the disk.
const CLAIM: &str = "
with quick as (select set_config('synchronous_commit', 'off', true) as set),
held as (
    select count(*) > 0 as ours from discord_shard, quick
    where shard = $6 and holder = $7 and held_until > now() and quick.set is not null
),
got as (
    insert into discord_turn as t (source, channel_id, guild_id, asker_id, private)
    select $1, $2, $3, $4, $5 from held where held.ours
    on conflict (source) do update set claimed_at = now()
    where t.answered_at is null and t.claimed_at < now() - make_interval(secs => $8)
    returning source
),
by_message as (
    select first_request, last_request, choices, about, asked, asker_id from (
        select * from discord_turn where $9 <> 0 and message_id = $9
        union all select * from discord_turn where $11 <> 0 and source = $11
    ) t order by source desc limit 1
),
by_talk as (
    select first_request, last_request, choices, about, asked, asker_id from discord_turn
    where $10 > 0 and channel_id = $2 and asker_id = $4 and source < $1
      and (last_request <> '' or choices <> '[]' or about <> '[]' or asked <> '{}') and claimed_at > now() - make_interval(secs => $10)
    order by source desc limit 1
)
select held.ours, (select count(*) from got) > 0 as got, p.first_request, p.last_request, p.choices, p.about, p.asked,
    p.asker_id
from held left join (select * from by_message union all select * from by_talk) p on true";

impl Kept {
    /// Takes a message or interaction for this process. `shard` is the one that it came by.
    pub async fn claim(&self, source: Source, answer: &Answer, before: Before, shard: u32) -> Claim {
        let (message, asked, recent) = match before {
            Before::Nothing => (0, 0, 0.0),
            Before::Message(message, asked) => (signed(message), signed(asked), 0.0),
            Before::Recent(span) => (0, 0, span.as_secs_f64()),
        };
        let query = sqlx::query(CLAIM)
            .bind(signed(source))
            .bind(signed(answer.channel))
            .bind(signed(answer.guild))
            .bind(signed(answer.asker))
            .bind(answer.private)
            .bind(shard.cast_signed())
            .bind(&self.holder)
            .bind(ABANDONED_SECONDS)
            .bind(message)
            .bind(recent)
            .bind(asked)
            .fetch_one(self.pool());
        let Ok(row) = self.ask(query).await else { return self.held.claim(source, answer, before) };
        let told = || -> Result<Claim, sqlx::Error> {
            if !row.try_get::<bool, _>("ours")? {
                return Ok(Claim::NotOurs);
            }
            if !row.try_get::<bool, _>("got")? {
                return Ok(Claim::Taken);
            }
            if row.try_get::<Option<String>, _>("last_request")?.is_none() {
                return Ok(Claim::Mine(None));
            }
            let theirs = unsigned(row.try_get("asker_id")?) == answer.asker;
            let thread = thread(&row)?;
            Ok(Claim::Mine(Some(if theirs { thread } else { thread.for_others() })))
        };
        told().unwrap_or(Claim::Taken)
    }

    /// Keeps what the buttons of an answer stand for. Before it is sent: somebody may press within the moment that it takes
    /// to hear that it was. `done` says that nobody has to give it again, whatever becomes of the sending.
    pub async fn keep(&self, source: Source, answer: &Answer, done: bool) {
        let query = sqlx::query(
            "with quick as (select set_config('synchronous_commit', 'off', true) as set)
             update discord_turn set message_id = coalesce(nullif($2, 0), message_id), private = $3, first_request = $4,
                 last_request = $5, choices = $6, about = $7, asked = $8,
                 answered_at = case when $9 then now() else answered_at end
             from quick where source = $1 and quick.set is not null",
        )
        .bind(signed(source))
        .bind(signed(answer.message))
        .bind(answer.private)
        .bind(&answer.thread.first)
        .bind(&answer.thread.last)
        .bind(Json(&answer.thread.choices))
        .bind(Json(&answer.thread.about))
        .bind(asked(&answer.thread))
        .bind(done)
        .execute(self.pool());
        let kept = self.ask(query).await;
        if kept.is_err()
            && let Ok(mut memory) = self.held.0.lock()
        {
            memory.put(source, answer.clone());
        }
    }

    /// Notes that an answer was given, and in which message of which channel it stands; 0 where it stands in none.
    pub async fn given(&self, source: Source, message: u64, channel: u64) {
        let query = sqlx::query(
            "with quick as (select set_config('synchronous_commit', 'off', true) as set)
             update discord_turn set message_id = coalesce(nullif($2, 0), message_id),
                 stands_in = nullif(nullif($3, 0), channel_id), answered_at = now()
             from quick where source = $1 and quick.set is not null",
        )
        .bind(signed(source))
        .bind(signed(message))
        .bind(signed(channel))
        .execute(self.pool());
        let _ = self.ask(query).await;
        if let Ok(mut memory) = self.held.0.lock()
            && let Some(answer) = memory.answers.get_mut(&source)
        {
            answer.message = message;
            answer.stands_in = if channel == answer.channel { 0 } else { channel };
        }
    }

    /// Erases the words that were asked back about in earlier turns of a talk: they are answered, or something else was
    /// said.
    pub async fn no_longer_asked(&self, source: Source, answer: &Answer) {
        let query = sqlx::query(
            "update discord_turn set asked = '{}', choices = '[]'
             where channel_id = $1 and asker_id = $2 and source < $3 and asked <> '{}'",
        )
        .bind(signed(answer.channel))
        .bind(signed(answer.asker))
        .bind(signed(source))
        .execute(self.pool());
        let _ = self.ask(query).await;
    }

    /// The answer to this message or interaction.
    pub async fn answer(&self, source: Source) -> Option<Answer> {
        let query = sqlx::query("select * from discord_turn where source = $1").bind(signed(source));
        let found = match self.ask(query.fetch_optional(self.pool())).await {
            Ok(Some(row)) => read(&row).ok(),
            _ => None,
        };
        match found {
            Some(answer) if !answer.thread.is_empty() => Some(answer),
            // What was kept while the database was away is here alone, even if the claim is there.
            found => self.held.0.lock().ok().and_then(|memory| memory.answers.get(&source).cloned()).or(found),
        }
    }

    /// Those of these messages that were questions.
    pub async fn asked_among(&self, messages: &[MessageId]) -> Vec<MessageId> {
        let ids: Vec<i64> = messages.iter().map(|message| signed(message.get())).collect();
        let query = sqlx::query_scalar::<_, i64>("select source from discord_turn where source = any($1)").bind(ids);
        let found = self.ask(query.fetch_all(self.pool())).await.unwrap_or_default();
        found.into_iter().map(|source| MessageId::new(unsigned(source))).collect()
    }

    /// Marks an answer as replaced; `false` when it was already, so that a second press does nothing.
    pub async fn replace(&self, source: Source) -> bool {
        let query = sqlx::query("update discord_turn set replaced = true where source = $1 and not replaced")
            .bind(signed(source))
            .execute(self.pool());
        match self.ask(query).await {
            Ok(done) if done.rows_affected() > 0 => true,
            _ => {
                // Not in the database: then this process may remember it.
                let Ok(mut memory) = self.held.0.lock() else { return false };
                memory.answers.get_mut(&source).is_some_and(|a| !std::mem::replace(&mut a.replaced, true))
            }
        }
    }

    /// A button that was used up may be used again: what it led to could not be shown.
    pub async fn replace_no_more(&self, source: Source) {
        let query = sqlx::query("update discord_turn set replaced = false where source = $1")
            .bind(signed(source))
            .execute(self.pool());
        let _ = self.ask(query).await;
        if let Ok(mut memory) = self.held.0.lock()
            && let Some(answer) = memory.answers.get_mut(&source)
        {
            answer.replaced = false;
        }
    }

    /// Channels for direct messages in which something was answered within this span, the latest first.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn direct_channels(&self, within: Duration, most: usize) -> Result<Vec<u64>, Away> {
        let query = sqlx::query(
            "select channel_id from discord_turn where guild_id = 0 and claimed_at > now() - make_interval(secs => $1)
             group by channel_id order by max(source) desc limit $2",
        )
        .bind(within.as_secs_f64())
        .bind(i64::try_from(most).unwrap_or(i64::MAX))
        .fetch_all(self.pool());
        let rows = self.ask(query).await?;
        Ok(rows.iter().filter_map(|row| row.try_get("channel_id").ok().map(unsigned)).collect())
    }

    /// Erases an answer, because the question was deleted.
    pub async fn erase(&self, source: Source) {
        let query = sqlx::query("delete from discord_turn where source = $1").bind(signed(source)).execute(self.pool());
        let _ = self.ask(query).await;
        if let Ok(mut memory) = self.held.0.lock() {
            memory.answers.remove(&source);
        }
    }
}

fn read(row: &sqlx::postgres::PgRow) -> Result<Answer, sqlx::Error> {
    Ok(Answer {
        channel: unsigned(row.try_get("channel_id")?),
        guild: unsigned(row.try_get("guild_id")?),
        asker: unsigned(row.try_get("asker_id")?),
        message: row.try_get::<Option<i64>, _>("message_id")?.map_or(0, unsigned),
        stands_in: row.try_get::<Option<i64>, _>("stands_in")?.map_or(0, unsigned),
        private: row.try_get("private")?,
        replaced: row.try_get("replaced")?,
        thread: thread(row)?,
    })
}

fn thread(row: &sqlx::postgres::PgRow) -> Result<Thread, sqlx::Error> {
    let (Json(choices), Json(about), Json(asked)) =
        (row.try_get("choices")?, row.try_get("about")?, row.try_get("asked")?);
    Ok(Thread { first: row.try_get("first_request")?, last: row.try_get("last_request")?, choices, about, asked })
}

/// What was asked back, as it is kept: an empty object where nothing was.
fn asked(thread: &Thread) -> Json<serde_json::Value> {
    let none = || serde_json::json!({});
    Json(if thread.asked.is_empty() { none() } else { serde_json::to_value(&thread.asked).unwrap_or_else(|_| none()) })
}
