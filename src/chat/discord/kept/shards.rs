//! Who runs which shard: a lease in the database, so that two processes never answer for one shard, and a forgotten old
//! copy stops. Also when the next login may be made, and whether the commands are registered.

use std::time::Duration;

use sqlx::Row as _;

use super::{Away, Kept};

/// How long a shard is held without a renewal. Renewed every [`RENEW`]; a process that is away for longer has lost it.
pub const LEASE: Duration = Duration::from_secs(20);
/// How often a lease is renewed.
pub const RENEW: Duration = Duration::from_secs(5);
/// Logins of one bot are so far apart.
const APART_SECONDS: f64 = 5.0;

/// What became of an attempt to hold shards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lease {
    /// They are ours.
    Held,
    /// This process holds one of them for so many more seconds.
    Of {
        /// Its name.
        holder: String,
        /// The shard.
        shard: u32,
        /// Seconds until it is free, if it is not renewed.
        seconds: i64,
    },
}

/// Whether a holder was a process of this machine that is no longer there. Names are "machine:process:chance"; a process
/// with our own number was there before us, as the first process of a container is.
fn is_gone(holder: &str, ours: &str) -> bool {
    let parts = |name: &str| {
        let mut parts = name.rsplitn(3, ':');
        let _chance = parts.next()?.to_owned();
        let process = parts.next()?.parse::<u32>().ok()?;
        Some((parts.next()?.to_owned(), process))
    };
    let (Some((machine, process)), Some((here, own))) = (parts(holder), parts(ours)) else { return false };
    if machine != here || machine.is_empty() {
        return false;
    }
    let processes = std::path::Path::new("/proc");
    process == own || processes.join("self").exists() && !processes.join(process.to_string()).exists()
}

impl Kept {
    /// Takes `first..=last` of `total` shards for this process, or says who has them. `seize` takes them from anybody.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn hold(&self, first: u32, last: u32, total: u32, seize: bool) -> Result<Lease, Away> {
        let work = async {
            let mut tx = self.pool().begin().await?;
            // One at a time: two that start together must see one another.
            sqlx::query("select pg_advisory_xact_lock(7403310)").execute(&mut *tx).await?;
            // What a process of this machine holds that is gone is free at once.
            let holders =
                sqlx::query("select distinct holder from discord_shard where holder <> $1 and held_until > now()")
                    .bind(&self.holder)
                    .fetch_all(&mut *tx)
                    .await?;
            for row in holders {
                let holder: String = row.try_get("holder")?;
                if is_gone(&holder, &self.holder) {
                    sqlx::query("update discord_shard set held_until = now() where holder = $1")
                        .bind(&holder)
                        .execute(&mut *tx)
                        .await?;
                }
            }
            // Another count of shards deals the servers out anew, so none of its processes may go on.
            let other = sqlx::query(
                "select holder, shard, ceil(extract(epoch from held_until - now()))::bigint as seconds from discord_shard
                 where holder <> $1 and held_until > now() and (shard between $2 and $3 or total <> $4)
                 order by shard limit 1",
            )
            .bind(&self.holder)
            .bind(first.cast_signed())
            .bind(last.cast_signed())
            .bind(total.cast_signed())
            .fetch_optional(&mut *tx)
            .await?;
            if let (Some(row), false) = (other, seize) {
                let holder = row.try_get("holder")?;
                let shard = row.try_get::<i32, _>("shard")?.cast_unsigned();
                return Ok(Lease::Of { holder, shard, seconds: row.try_get("seconds")? });
            }
            if seize {
                sqlx::query("delete from discord_shard where total <> $1")
                    .bind(total.cast_signed())
                    .execute(&mut *tx)
                    .await?;
            }
            sqlx::query(
                "insert into discord_shard (shard, total, holder, held_until)
                 select s, $3, $4, now() + make_interval(secs => $5) from generate_series($1::integer, $2::integer) s
                 on conflict (shard) do update
                     set total = excluded.total, holder = excluded.holder, held_until = excluded.held_until",
            )
            .bind(first.cast_signed())
            .bind(last.cast_signed())
            .bind(total.cast_signed())
            .bind(&self.holder)
            .bind(LEASE.as_secs_f64())
            .execute(&mut *tx)
            .await?;
            tx.commit().await?;
            Ok(Lease::Held)
        };
        self.ask(work).await
    }

    /// Renews the leases of this process; `false` when one of them went to somebody else. `heard` says that the platform
    /// was heard on these shards just now.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn renew(&self, first: u32, last: u32, heard: bool) -> Result<bool, Away> {
        let query = sqlx::query(
            "update discord_shard set held_until = now() + make_interval(secs => $4),
                 heard_at = case when $5 then now() else heard_at end
             where shard between $1 and $2 and holder = $3",
        )
        .bind(first.cast_signed())
        .bind(last.cast_signed())
        .bind(&self.holder)
        .bind(LEASE.as_secs_f64())
        .bind(heard)
        .execute(self.pool());
        Ok(self.ask(query).await?.rows_affected() == u64::from(last - first) + 1)
    }

    /// Lets the shards of this process go, so that the next one need not wait.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn let_go(&self) -> Result<(), Away> {
        let query = sqlx::query("update discord_shard set held_until = now() where holder = $1")
            .bind(&self.holder)
            .execute(self.pool());
        self.ask(query).await.map(drop)
    }

    /// When the platform was last heard on a shard by whatever process, in milliseconds since 1970.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn last_heard(&self, shard: u32) -> Result<Option<i64>, Away> {
        let query = sqlx::query(
            "select (extract(epoch from heard_at) * 1000)::bigint as at from discord_shard where shard = $1",
        )
        .bind(shard.cast_signed())
        .fetch_optional(self.pool());
        let row = self.ask(query).await?;
        Ok(row.and_then(|row| row.try_get::<Option<i64>, _>("at").ok().flatten()))
    }

    /// Notes that the platform was heard on a shard just now.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn note_heard(&self, shard: u32) -> Result<(), Away> {
        let query = sqlx::query("update discord_shard set heard_at = now() where shard = $1 and holder = $2")
            .bind(shard.cast_signed())
            .bind(&self.holder)
            .execute(self.pool());
        self.ask(query).await.map(drop)
    }

    /// Takes the next `n` places for a login, which are five seconds apart whatever process makes them. Gives how long to
    /// wait, and how many logins were made today.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn login_turn(&self, n: u32) -> Result<(Duration, u32), Away> {
        let query = sqlx::query(
            "update discord_login set
                 next_at = greatest(next_at, now()) + make_interval(secs => $1 * $2),
                 today = case when day = current_date then today else 0 end + $2::integer,
                 day = current_date
             returning extract(epoch from next_at - now())::float8 - $1 * $2 as wait, today",
        )
        .bind(APART_SECONDS)
        .bind(f64::from(n))
        .fetch_one(self.pool());
        let row = self.ask(query).await?;
        let wait = row.try_get::<f64, _>("wait").unwrap_or(0.0).clamp(0.0, 600.0);
        let today = row.try_get::<i32, _>("today").unwrap_or(0).cast_unsigned();
        Ok((Duration::from_secs_f64(wait), today))
    }

    /// Whether the commands registered in this scope are these.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn registered(&self, scope: &str, hash: &str) -> Result<bool, Away> {
        let query = sqlx::query("select 1 from discord_commands where scope = $1 and hash = $2").bind(scope).bind(hash);
        Ok(self.ask(query.fetch_optional(self.pool())).await?.is_some())
    }

    /// Notes what is registered now.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn note_registered(&self, scope: &str, hash: &str) -> Result<(), Away> {
        let query = sqlx::query(
            "insert into discord_commands (scope, hash) values ($1, $2)
             on conflict (scope) do update set hash = excluded.hash, registered_at = now()",
        )
        .bind(scope)
        .bind(hash)
        .execute(self.pool());
        self.ask(query).await.map(drop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_processes_of_this_machine_can_be_known_to_be_gone() {
        let own = std::process::id();
        let here = |process: u32| format!("here:{process}:00000001");
        assert!(is_gone(&here(own), &here(own)), "the same number: it was there before us");
        assert!(!is_gone("there:4194999:00000001", &here(own)), "another machine");
        assert!(!is_gone("strange", &here(own)));
        if cfg!(target_os = "linux") {
            assert!(is_gone(&here(u32::MAX), &here(own)));
            assert!(!is_gone(&here(1), &here(own)), "the first process is always there");
        }
    }
}
