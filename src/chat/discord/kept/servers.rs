//! What each server set, who changed what and when, and when it was left.
//!
//! A server is heard by one process, which reads its settings once and remembers them for a while.

use std::collections::HashMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use sqlx::Row as _;

use super::{Away, Kept, signed, unsigned};

/// Settings are read again after so long, in case the server moved to another process and back.
const FRESH: Duration = Duration::from_mins(5);

/// What a mention leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mentions {
    /// An answer in the channel.
    #[default]
    On,
    /// A sign under the message; the answer comes by direct message.
    React,
    /// Nothing.
    Off,
}

impl Mentions {
    /// All, in the order of the panel.
    pub const ALL: [Self; 3] = [Self::On, Self::React, Self::Off];

    /// As it is kept.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::On => "on",
            Self::React => "react",
            Self::Off => "off",
        }
    }

    /// The way back from [`Mentions::id`].
    #[must_use]
    pub fn of(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.id() == id)
    }
}

/// The settings of one server.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Manner {
    /// The key of the species where a message names none; empty asks.
    pub species: String,
    /// Channels in which a mention is answered; empty is all.
    pub channels: Vec<u64>,
    /// What a mention leads to.
    pub mentions: Mentions,
    /// All answers are private.
    pub quiet: bool,
    /// The language of the answers; empty follows the asker.
    pub locale: String,
    /// Whether the server's own texts may hold links to elsewhere.
    pub links: bool,
}

/// One change, for those who look after the server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Who.
    pub member: u64,
    /// When, in seconds since 1970.
    pub at: i64,
    /// Which setting.
    pub setting: String,
    /// What it was.
    pub before: String,
    /// What it became.
    pub after: String,
}

/// How much the bot is used in a server: numbers alone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Used {
    /// Answers in the last week.
    pub week: i64,
    /// Answers in the last 30 days, or for as long as answers are kept.
    pub month: i64,
    /// Members who were answered in that time.
    pub members: i64,
}

/// Settings remembered in this process.
#[derive(Debug, Default)]
pub(super) struct Known(Mutex<HashMap<u64, (Instant, Manner)>>);

impl Manner {
    /// Name and value of each setting, as they are kept in the list of changes.
    #[must_use]
    pub fn parts(&self) -> [(&'static str, String); 6] {
        let channels: Vec<String> = self.channels.iter().map(ToString::to_string).collect();
        [
            ("species", self.species.clone()),
            ("channels", channels.join(" ")),
            ("mentions", self.mentions.id().to_owned()),
            ("quiet", self.quiet.to_string()),
            ("locale", self.locale.clone()),
            ("links", self.links.to_string()),
        ]
    }
}

impl Kept {
    /// The settings of a server; the usual ones where it set none, or the database is away.
    pub async fn manner(&self, server: u64) -> Manner {
        if server == 0 {
            return Manner::default();
        }
        let remembered = self.known.0.lock().ok().and_then(|k| k.get(&server).cloned());
        if let Some((at, manner)) = &remembered
            && at.elapsed() < FRESH
        {
            return manner.clone();
        }
        let query = sqlx::query(
            "select species, channels, mentions, quiet, locale, links from discord_server where guild_id = $1",
        )
        .bind(signed(server))
        .fetch_optional(self.pool());
        let Ok(row) = self.ask(query).await else {
            // Better the settings of a while ago than none: a quiet server stays quiet.
            return remembered.map(|r| r.1).unwrap_or_default();
        };
        let manner = row.and_then(|row| read(&row).ok()).unwrap_or_default();
        self.remember(server, &manner);
        manner
    }

    fn remember(&self, server: u64, manner: &Manner) {
        if let Ok(mut known) = self.known.0.lock() {
            known.insert(server, (Instant::now(), manner.clone()));
        }
    }

    /// Sets a server's settings and notes each change. The last of two who change the same at once wins; both are noted.
    ///
    /// # Errors
    /// [`Away`]; nothing is changed then.
    pub async fn set_manner(&self, server: u64, member: u64, new: &Manner) -> Result<(), Away> {
        let channels: Vec<i64> = new.channels.iter().copied().map(signed).collect();
        let work = async {
            let mut tx = self.pool().begin().await?;
            sqlx::query("insert into discord_server (guild_id) values ($1) on conflict do nothing")
                .bind(signed(server))
                .execute(&mut *tx)
                .await?;
            let row = sqlx::query(
                "select species, channels, mentions, quiet, locale, links from discord_server where guild_id = $1 for update",
            )
            .bind(signed(server))
            .fetch_one(&mut *tx)
            .await?;
            let old = read(&row)?;
            sqlx::query(
                "update discord_server set species = $2, channels = $3, mentions = $4, quiet = $5, locale = $6, links = $7
                 where guild_id = $1",
            )
            .bind(signed(server))
            .bind(&new.species)
            .bind(&channels)
            .bind(new.mentions.id())
            .bind(new.quiet)
            .bind(&new.locale)
            .bind(new.links)
            .execute(&mut *tx)
            .await?;
            for ((setting, before), (_, after)) in old.parts().into_iter().zip(new.parts()) {
                if before != after {
                    sqlx::query(
                        "insert into discord_server_change (guild_id, member_id, setting, before, after)
                         values ($1, $2, $3, $4, $5)",
                    )
                    .bind(signed(server))
                    .bind(signed(member))
                    .bind(setting)
                    .bind(before)
                    .bind(after)
                    .execute(&mut *tx)
                    .await?;
                }
            }
            tx.commit().await
        };
        self.ask(work).await?;
        self.remember(server, new);
        Ok(())
    }

    /// The last changes of a server, the newest first.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn changes(&self, server: u64, most: i64) -> Result<Vec<Change>, Away> {
        let query = sqlx::query(
            "select member_id, extract(epoch from changed_at)::bigint as at, setting, before, after
             from discord_server_change where guild_id = $1 order by id desc limit $2",
        )
        .bind(signed(server))
        .bind(most)
        .fetch_all(self.pool());
        let rows = self.ask(query).await?;
        let read = |row: &sqlx::postgres::PgRow| -> Result<Change, sqlx::Error> {
            Ok(Change {
                member: unsigned(row.try_get("member_id")?),
                at: row.try_get("at")?,
                setting: row.try_get("setting")?,
                before: row.try_get("before")?,
                after: row.try_get("after")?,
            })
        };
        Ok(rows.iter().filter_map(|row| read(row).ok()).collect())
    }

    /// How much the bot is used in a server.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn used(&self, server: u64) -> Result<Used, Away> {
        let query = sqlx::query(
            "select count(*) filter (where claimed_at > now() - interval '7 days') as week, count(*) as month,
                 count(distinct asker_id) as members
             from discord_turn where guild_id = $1 and answered_at is not null and claimed_at > now() - interval '30 days'",
        )
        .bind(signed(server))
        .fetch_one(self.pool());
        let row = self.ask(query).await?;
        let number = |name: &str| row.try_get(name).unwrap_or(0);
        Ok(Used { week: number("week"), month: number("month"), members: number("members") })
    }

    /// Notes that the bot is in a server; `true` when it was not, so that a hello is due. Once for each joining, whatever
    /// process hears of it and however often.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn joined(&self, server: u64, greet: bool) -> Result<bool, Away> {
        let query = sqlx::query(
            "insert into discord_server as s (guild_id, greeted_at) values ($1, now())
             on conflict (guild_id) do update set greeted_at = now(), removed_at = null
             where s.greeted_at is null or s.removed_at is not null
             returning guild_id",
        )
        .bind(signed(server))
        .fetch_optional(self.pool());
        Ok(self.ask(query).await?.is_some() && greet)
    }

    /// Notes that the bot was removed; the settings wait for their time to be erased.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn left(&self, server: u64) -> Result<(), Away> {
        if let Ok(mut known) = self.known.0.lock() {
            known.remove(&server);
        }
        let query =
            sqlx::query("update discord_server set removed_at = now() where guild_id = $1 and removed_at is null")
                .bind(signed(server))
                .execute(self.pool());
        self.ask(query).await.map(drop)
    }

    /// Erases what is over its time: old answers, settings of servers that were left. Gives how many of each.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn sweep(&self, answers_days: u32, grace_days: u32) -> Result<(u64, u64), Away> {
        let answers = sqlx::query(
            "delete from discord_turn where source in (
                 select source from discord_turn where claimed_at < now() - make_interval(days => $1)
                 limit 10000 for update skip locked)",
        )
        .bind(answers_days.cast_signed())
        .execute(self.pool());
        let answers = self.ask(answers).await?.rows_affected();
        let asked = sqlx::query(
            "update discord_turn set asked = '{}', choices = '[]'
             where asked <> '{}' and claimed_at < now() - interval '1 day'",
        );
        self.ask(asked.execute(self.pool())).await?;
        self.sweep_files().await?;
        let left = "select guild_id from discord_server where removed_at < now() - make_interval(days => $1)";
        for table in ["discord_words", "discord_post", "discord_draft"] {
            let query = format!("delete from {table} where guild_id in ({left})");
            self.ask(sqlx::query(&query).bind(grace_days.cast_signed()).execute(self.pool())).await?;
        }
        let drafts = sqlx::query("delete from discord_draft where written_at < now() - interval '30 days'");
        self.ask(drafts.execute(self.pool())).await?;
        let servers = sqlx::query("delete from discord_server where removed_at < now() - make_interval(days => $1)")
            .bind(grace_days.cast_signed())
            .execute(self.pool());
        Ok((answers, self.ask(servers).await?.rows_affected()))
    }
}

fn read(row: &sqlx::postgres::PgRow) -> Result<Manner, sqlx::Error> {
    let channels: Vec<i64> = row.try_get("channels")?;
    Ok(Manner {
        species: row.try_get("species")?,
        channels: channels.into_iter().map(unsigned).collect(),
        mentions: Mentions::of(row.try_get("mentions")?).unwrap_or_default(),
        quiet: row.try_get("quiet")?,
        locale: row.try_get("locale")?,
        links: row.try_get("links")?,
    })
}
