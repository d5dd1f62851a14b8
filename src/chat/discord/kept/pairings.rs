//! Pairings that members saved, in the program's own words. Each member sees only their own: every query names them.

use sqlx::Row as _;

use super::{Away, Kept, signed};

/// Pairings that one member may save.
pub const MOST: i64 = 200;

/// A saved pairing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// Its id.
    pub id: i64,
    /// The request.
    pub request: String,
}

/// What became of saving.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Saving {
    /// It is saved now.
    Done,
    /// It was already.
    Already,
    /// There are [`MOST`] already.
    Full,
}

impl Kept {
    /// Saves a pairing for a member. After this returns it is on disk.
    ///
    /// # Errors
    /// [`Away`]; nothing is saved then.
    pub async fn save(&self, member: u64, request: &str) -> Result<Saving, Away> {
        let query = sqlx::query(
            "with n as (select count(*) as saved from discord_pairing where member_id = $1),
             new as (
                 insert into discord_pairing (member_id, request) select $1, $2 from n where saved < $3
                 on conflict do nothing returning id)
             select (select count(*) from new) > 0 as done, saved >= $3 as full from n",
        )
        .bind(signed(member))
        .bind(request)
        .bind(MOST)
        .fetch_one(self.pool());
        let row = self.ask(query).await?;
        let told = |name: &str| row.try_get::<bool, _>(name).unwrap_or(false);
        Ok(match (told("done"), told("full")) {
            (true, _) => Saving::Done,
            (false, true) => Saving::Full,
            (false, false) => Saving::Already,
        })
    }

    /// A member's pairings, the newest first.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn saved(&self, member: u64) -> Result<Vec<Saved>, Away> {
        let query = sqlx::query("select id, request from discord_pairing where member_id = $1 order by id desc")
            .bind(signed(member))
            .fetch_all(self.pool());
        let rows = self.ask(query).await?;
        let read = |row: &sqlx::postgres::PgRow| -> Result<Saved, sqlx::Error> {
            Ok(Saved { id: row.try_get("id")?, request: row.try_get("request")? })
        };
        Ok(rows.iter().filter_map(|row| read(row).ok()).collect())
    }

    /// Removes one of a member's pairings.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn unsave(&self, member: u64, id: i64) -> Result<bool, Away> {
        let query = sqlx::query("delete from discord_pairing where member_id = $1 and id = $2")
            .bind(signed(member))
            .bind(id)
            .execute(self.pool());
        Ok(self.ask(query).await?.rows_affected() > 0)
    }

    /// How much is kept of a member: saved pairings, answers.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn how_much(&self, member: u64) -> Result<(i64, i64), Away> {
        let query = sqlx::query(
            "select (select count(*) from discord_pairing where member_id = $1) as pairings,
                    (select count(*) from discord_turn where asker_id = $1) as answers",
        )
        .bind(signed(member))
        .fetch_one(self.pool());
        let row = self.ask(query).await?;
        Ok((row.try_get("pairings").unwrap_or(0), row.try_get("answers").unwrap_or(0)))
    }

    /// Erases everything of a member: their animals, saved pairings, answers, drafts, and their id beside what they changed
    /// for a server.
    ///
    /// # Errors
    /// [`Away`]; what is still there then is shown again.
    pub async fn forget(&self, member: u64) -> Result<(), Away> {
        let work = sqlx::query("select erase_person('discord', $1)").bind(member.to_string()).execute(self.pool());
        self.ask(async { work.await.map(|_| ()) }).await
    }
}
