//! A server's own words, and drafts of them. Written by moderators, read with every question in the server.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use sqlx::Row as _;

use super::{Away, Kept, signed, unsigned};
use crate::explanations::own::Own;

/// Words are read again after so long, in case another process changed them.
const FRESH: Duration = Duration::from_mins(5);

/// Words remembered in this process.
#[derive(Debug, Default)]
pub(super) struct Spoken(Mutex<HashMap<u64, (Instant, Arc<Own>)>>);

/// A text that is not published yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// The interaction that began it.
    pub id: u64,
    /// The server.
    pub server: u64,
    /// Who writes it.
    pub member: u64,
    /// The id of the topic.
    pub topic: String,
    /// Its title; empty leaves the built-in one.
    pub title: String,
    /// Questions that lead to it, one a line.
    pub questions: String,
    /// The text.
    pub body: String,
}

impl Kept {
    /// A server's own words; `read` makes them of their file. None in direct messages, and none that are not remembered
    /// while the database is away.
    pub async fn words(&self, server: u64, read: impl FnOnce(&str) -> Own) -> Arc<Own> {
        if server == 0 {
            return Arc::default();
        }
        let remembered = self.spoken.0.lock().ok().and_then(|s| s.get(&server).cloned());
        if let Some((at, own)) = &remembered
            && at.elapsed() < FRESH
        {
            return Arc::clone(own);
        }
        let query = sqlx::query_scalar::<_, String>("select file from discord_words where guild_id = $1")
            .bind(signed(server))
            .fetch_optional(self.pool());
        let Ok(file) = self.ask(query).await else { return remembered.map(|r| r.1).unwrap_or_default() };
        let own = Arc::new(file.as_deref().map(read).unwrap_or_default());
        self.remember_words(server, Arc::clone(&own));
        own
    }

    fn remember_words(&self, server: u64, own: Arc<Own>) {
        if let Ok(mut spoken) = self.spoken.0.lock() {
            spoken.insert(server, (Instant::now(), own));
        }
    }

    /// Changes a server's own words: they are read, changed and written while nobody else does.
    ///
    /// # Errors
    /// [`Away`]; nothing is changed then. What `change` says is handed on.
    pub async fn change_words<T, E>(
        &self,
        server: u64,
        read: impl FnOnce(&str) -> Own,
        write: impl FnOnce(&Own) -> String,
        change: impl FnOnce(&mut Own) -> Result<T, E>,
    ) -> Result<Result<T, E>, Away> {
        let mut after = None;
        let work = async {
            let mut tx = self.pool().begin().await?;
            sqlx::query("insert into discord_words (guild_id, file) values ($1, '') on conflict do nothing")
                .bind(signed(server))
                .execute(&mut *tx)
                .await?;
            let file: String = sqlx::query_scalar("select file from discord_words where guild_id = $1 for update")
                .bind(signed(server))
                .fetch_one(&mut *tx)
                .await?;
            let mut own = if file.is_empty() { Own::default() } else { read(&file) };
            let changed = change(&mut own);
            if changed.is_ok() {
                sqlx::query("update discord_words set file = $2, changed_at = now() where guild_id = $1")
                    .bind(signed(server))
                    .bind(write(&own))
                    .execute(&mut *tx)
                    .await?;
                tx.commit().await?;
                after = Some(Arc::new(own));
            }
            Ok(changed)
        };
        let changed = self.ask(work).await?;
        if let Some(own) = after {
            self.remember_words(server, own);
        }
        Ok(changed)
    }

    /// Keeps a draft as it is now.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn keep_draft(&self, draft: &Draft) -> Result<(), Away> {
        let query = sqlx::query(
            "insert into discord_draft (id, guild_id, member_id, topic, title, questions, body)
             values ($1, $2, $3, $4, $5, $6, $7) on conflict (id) do update set title = excluded.title,
                 questions = excluded.questions, body = excluded.body, written_at = now()",
        )
        .bind(signed(draft.id))
        .bind(signed(draft.server))
        .bind(signed(draft.member))
        .bind(&draft.topic)
        .bind(&draft.title)
        .bind(&draft.questions)
        .bind(&draft.body)
        .execute(self.pool());
        self.ask(query).await.map(drop)
    }

    /// A member's draft.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn draft(&self, id: u64, member: u64) -> Result<Option<Draft>, Away> {
        let query = sqlx::query(
            "select id, guild_id, member_id, topic, title, questions, body from discord_draft
             where id = $1 and member_id = $2",
        )
        .bind(signed(id))
        .bind(signed(member))
        .fetch_optional(self.pool());
        let read = |row: &sqlx::postgres::PgRow| -> Result<Draft, sqlx::Error> {
            Ok(Draft {
                id: unsigned(row.try_get("id")?),
                server: unsigned(row.try_get("guild_id")?),
                member: unsigned(row.try_get("member_id")?),
                topic: row.try_get("topic")?,
                title: row.try_get("title")?,
                questions: row.try_get("questions")?,
                body: row.try_get("body")?,
            })
        };
        Ok(self.ask(query).await?.and_then(|row| read(&row).ok()))
    }

    /// Forgets a draft: it is published.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn drop_draft(&self, id: u64) -> Result<(), Away> {
        let query = sqlx::query("delete from discord_draft where id = $1").bind(signed(id)).execute(self.pool());
        self.ask(query).await.map(drop)
    }
}
