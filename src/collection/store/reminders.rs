//! Moments of reminders that are due: claimed for a while, told, settled. Several processes share the work.
//!
//! A claim that is not settled in its time is anybody's again, so nothing is lost with a process that dies; what it may
//! have told before is told again under the same number ([`Due::id`]), for the platform to know it by.

use jiff::Timestamp;
use sqlx::Row as _;
use sqlx::postgres::PgRow;

use super::{Store, StoreError};
use crate::collection::animal::KeeperId;
use crate::collection::reminder::OLD_HOURS;
use crate::collection::reminder::rule::Rule;
use crate::reading::places;

/// A moment of a reminder that is to be told now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// Its number, the same however often it is tried.
    pub id: i64,
    /// Whose it is.
    pub keeper: KeeperId,
    /// Their number or name on the platform.
    pub user: String,
    /// Its number in their list.
    pub number: i32,
    /// What to say.
    pub what: String,
    /// The zone whose clock counts.
    pub zone: String,
    /// When it comes again.
    pub rule: Option<Rule>,
    /// Put off to this moment, beside the rule.
    pub extra: bool,
    /// The channel where it was set.
    pub channel: Option<u64>,
    /// When it was due.
    pub at: Timestamp,
    /// How often it was claimed, this time included.
    pub tries: i16,
}

impl Due {
    /// When its rule comes next, seen from `now`; `None` where it comes once.
    #[must_use]
    pub fn next(&self, now: Timestamp) -> Option<Timestamp> {
        self.rule.as_ref()?.next(&places::zone(&self.zone)?, self.at.max(now))
    }
}

/// Whose moments are claimed.
#[derive(Debug, Clone, Copy)]
pub struct Claim<'a> {
    /// The platform.
    pub platform: &'a str,
    /// Of this keeper alone.
    pub keeper: Option<KeeperId>,
    /// Who claims, for a person to read.
    pub worker: &'a str,
    /// Seconds until the claim ends by itself.
    pub lease_s: f64,
    /// How many at most.
    pub most: i32,
}

/// What became of a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It was told.
    Told,
    /// It cannot be told anywhere; the keeper hears of it at their next visit.
    Missed,
}

impl Store {
    /// Claims moments that are due and not yet old, the oldest first.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn claim_due(&self, claim: Claim<'_>) -> Result<Vec<Due>, StoreError> {
        let rows = sqlx::query(
            "select * from claim_due($1, $2, $3, make_interval(secs => $4), make_interval(hours => $5), $6)",
        )
        .bind(claim.platform)
        .bind(claim.keeper.map(|k| k.0))
        .bind(claim.worker)
        .bind(claim.lease_s)
        .bind(OLD_HOURS)
        .bind(claim.most)
        .fetch_all(self.pool())
        .await?;
        rows.iter().map(due).collect()
    }

    /// Claims every old moment of one keeper, the oldest first; empty where nobody has any.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn claim_old(&self, claim: Claim<'_>) -> Result<Vec<Due>, StoreError> {
        let rows =
            sqlx::query("select * from claim_old($1, $2, $3, make_interval(secs => $4), make_interval(hours => $5))")
                .bind(claim.platform)
                .bind(claim.keeper.map(|k| k.0))
                .bind(claim.worker)
                .bind(claim.lease_s)
                .bind(OLD_HOURS)
                .fetch_all(self.pool())
                .await?;
        rows.iter().map(due).collect()
    }

    /// Writes down what became of moments that were told together, all of them or none; a rule goes on to its next moment.
    /// False for those that were settled before.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn settle_all_due(
        &self,
        outcome: Outcome,
        together: &[(i64, Option<Timestamp>)],
    ) -> Result<Vec<bool>, StoreError> {
        let outcome = match outcome {
            Outcome::Told => "told",
            Outcome::Missed => "missed",
        };
        let mut tx = self.pool().begin().await?;
        let mut settled = Vec::with_capacity(together.len());
        for (id, next) in together {
            let row = sqlx::query("select settle_due($1, $2, to_timestamp($3::float8 / 1000))")
                .bind(id)
                .bind(outcome)
                .bind(next.map(|at| at.as_millisecond() as f64))
                .fetch_one(&mut *tx)
                .await?;
            settled.push(row.try_get(0)?);
        }
        tx.commit().await?;
        self.settle().await;
        Ok(settled)
    }

    /// A moment could not be told now; anybody may try again after so many seconds.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn put_due_back(&self, id: i64, pause_s: f64) -> Result<(), StoreError> {
        sqlx::query("select put_due_back($1, make_interval(secs => $2))")
            .bind(id)
            .bind(pause_s)
            .execute(self.pool())
            .await?;
        Ok(())
    }

    /// How many moments of a platform are due and not told, and how late the latest of them is, in seconds.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn owed(&self, platform: &str) -> Result<(i64, f64), StoreError> {
        let row = sqlx::query("select n, late_s from owed($1)").bind(platform).fetch_one(self.pool()).await?;
        Ok((row.try_get("n")?, row.try_get("late_s")?))
    }

    /// Lets go of what was told so many hours ago; how many reminders went with it.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn sweep_reminders(&self, after_hours: i32) -> Result<i64, StoreError> {
        let row = sqlx::query("select sweep_reminders(make_interval(hours => $1))")
            .bind(after_hours)
            .fetch_one(self.pool())
            .await?;
        Ok(row.try_get(0)?)
    }

    /// The keeper has heard of what could not be told before.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn heard_of_missed(&self, keeper: KeeperId) -> Result<(), StoreError> {
        let mut tx = self.scoped(keeper).await?;
        sqlx::query(
            "update due set state = 'told', told_at = now() where keeper_id = keeper_now() and state = 'missed'",
        )
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        self.settle().await;
        Ok(())
    }
}

fn due(row: &PgRow) -> Result<Due, StoreError> {
    let rule: Option<String> = row.try_get("rule")?;
    let channel: Option<String> = row.try_get("channel")?;
    Ok(Due {
        id: row.try_get("id")?,
        keeper: KeeperId(row.try_get("keeper_id")?),
        user: row.try_get("user_id")?,
        number: row.try_get("number")?,
        what: row.try_get("what")?,
        zone: row.try_get("zone")?,
        // A rule that this program cannot read comes once more and then no more; it was written by a newer one.
        rule: rule.and_then(|rule| serde_json::from_str(&rule).ok()),
        extra: row.try_get("extra")?,
        channel: channel.and_then(|c| c.parse().ok()),
        at: Timestamp::from_millisecond(row.try_get("due_ms")?).unwrap_or(Timestamp::UNIX_EPOCH),
        tries: row.try_get("tries")?,
    })
}
