//! Posts of explanations: where they stand, what they are about, and a mark of what they say.

use std::collections::HashSet;
use std::sync::Mutex;

use sqlx::Row as _;

use super::{Away, Kept, signed, unsigned};

/// What became of a post.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Trouble {
    /// Nothing.
    #[default]
    None,
    /// It was deleted, or its channel was.
    Gone,
    /// The bot may no longer see or change it.
    Refused,
    /// Somebody unpinned it.
    Unpinned,
}

impl Trouble {
    const ALL: [(Self, &'static str); 4] =
        [(Self::None, ""), (Self::Gone, "gone"), (Self::Refused, "refused"), (Self::Unpinned, "unpinned")];

    fn id(self) -> &'static str {
        Self::ALL.iter().find(|(known, _)| *known == self).map_or("", |(_, id)| id)
    }

    fn of(id: &str) -> Self {
        Self::ALL.iter().find(|(_, known)| *known == id).map_or(Self::None, |(trouble, _)| *trouble)
    }
}

/// One post.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Post {
    /// Its number here.
    pub id: i64,
    /// The server.
    pub server: u64,
    /// The channel.
    pub channel: u64,
    /// The message.
    pub message: u64,
    /// Ids of its topics: one, or several to choose from.
    pub topics: Vec<String>,
    /// What it says.
    pub mark: String,
    /// Whether it was pinned.
    pub pinned: bool,
    /// What became of it.
    pub trouble: Trouble,
}

/// Servers with posts, once they are known: most have none, and are not looked up at every deleted message.
#[derive(Debug, Default)]
pub(super) struct Posting(Mutex<Option<HashSet<u64>>>);

impl Kept {
    /// Whether a server may have posts, as far as this process knows.
    #[must_use]
    pub fn may_have_posts(&self, server: u64) -> bool {
        self.posting.0.lock().is_ok_and(|known| known.as_ref().is_none_or(|known| known.contains(&server)))
    }

    /// Remembers which servers have posts.
    ///
    /// # Errors
    /// [`Away`]; then every server may have some.
    pub async fn learn_who_has_posts(&self) -> Result<(), Away> {
        let query = sqlx::query_scalar::<_, i64>("select distinct guild_id from discord_post").fetch_all(self.pool());
        let servers = self.ask(query).await?;
        if let Ok(mut known) = self.posting.0.lock() {
            *known = Some(servers.into_iter().map(unsigned).collect());
        }
        Ok(())
    }

    /// Notes a new post; its number.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn add_post(&self, post: &Post) -> Result<i64, Away> {
        if let Ok(mut known) = self.posting.0.lock()
            && let Some(known) = known.as_mut()
        {
            known.insert(post.server);
        }
        let query = sqlx::query_scalar(
            "insert into discord_post (guild_id, channel_id, message_id, topics, mark, pinned)
             values ($1, $2, $3, $4, $5, $6) returning id",
        )
        .bind(signed(post.server))
        .bind(signed(post.channel))
        .bind(signed(post.message))
        .bind(&post.topics)
        .bind(&post.mark)
        .bind(post.pinned)
        .fetch_one(self.pool());
        self.ask(query).await
    }

    /// The posts of a server, or of all servers, the oldest first.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn posts(&self, server: Option<u64>) -> Result<Vec<Post>, Away> {
        let query = sqlx::query(
            "select id, guild_id, channel_id, message_id, topics, mark, pinned, trouble from discord_post
             where $1::bigint is null or guild_id = $1 order by id",
        )
        .bind(server.map(signed))
        .fetch_all(self.pool());
        let read = |row: &sqlx::postgres::PgRow| -> Result<Post, sqlx::Error> {
            Ok(Post {
                id: row.try_get("id")?,
                server: unsigned(row.try_get("guild_id")?),
                channel: unsigned(row.try_get("channel_id")?),
                message: unsigned(row.try_get("message_id")?),
                topics: row.try_get("topics")?,
                mark: row.try_get("mark")?,
                pinned: row.try_get("pinned")?,
                trouble: Trouble::of(row.try_get("trouble")?),
            })
        };
        Ok(self.ask(query).await?.iter().filter_map(|row| read(row).ok()).collect())
    }

    /// Notes what a post is about, what it says now, whether it is pinned and what became of it.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn change_post(&self, post: &Post) -> Result<(), Away> {
        let query =
            sqlx::query("update discord_post set topics = $2, mark = $3, pinned = $4, trouble = $5 where id = $1")
                .bind(post.id)
                .bind(&post.topics)
                .bind(&post.mark)
                .bind(post.pinned)
                .bind(post.trouble.id())
                .execute(self.pool());
        self.ask(query).await.map(drop)
    }

    /// Notes posts that are gone: this message, or all of this channel. Gives how many there were that was news of.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn posts_gone(&self, message_or_channel: u64) -> Result<u64, Away> {
        let query = sqlx::query(
            "update discord_post set trouble = 'gone', pinned = false
             where (message_id = $1 or channel_id = $1) and trouble <> 'gone'",
        )
        .bind(signed(message_or_channel))
        .execute(self.pool());
        Ok(self.ask(query).await?.rows_affected())
    }

    /// Those who look after a server have seen what became of its posts: what is gone is forgotten.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn posts_told(&self, server: u64) -> Result<(), Away> {
        let gone =
            sqlx::query("delete from discord_post where guild_id = $1 and trouble = 'gone'").bind(signed(server));
        self.ask(gone.execute(self.pool())).await?;
        let unpinned = sqlx::query("update discord_post set trouble = '' where guild_id = $1 and trouble = 'unpinned'");
        self.ask(unpinned.bind(signed(server)).execute(self.pool())).await.map(drop)
    }

    /// Forgets posts: this message, or all of this channel. Gives how many there were.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn drop_posts(&self, message_or_channel: u64) -> Result<u64, Away> {
        let query = sqlx::query("delete from discord_post where message_id = $1 or channel_id = $1")
            .bind(signed(message_or_channel))
            .execute(self.pool());
        Ok(self.ask(query).await?.rows_affected())
    }
}
