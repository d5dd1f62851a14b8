//! Files that were handed in and wait until somebody says that they are to be taken in.
//!
//! Each is kept with the question that it came with, so that whatever erases that erases the file too.

use std::time::Duration;

use super::turns::Source;
use super::{Away, Kept, signed};

/// A file that nobody came back to is erased after so long.
const WAITS: Duration = Duration::from_hours(24);

impl Kept {
    /// Keeps a file with a question that was claimed before.
    ///
    /// # Errors
    /// [`Away`]; also where the claim itself is not in the database.
    pub async fn keep_file(&self, source: Source, bytes: &[u8]) -> Result<(), Away> {
        let query = sqlx::query(
            "insert into discord_upload (source, bytes) select source, $2 from discord_turn where source = $1
             on conflict (source) do update set bytes = excluded.bytes, kept_at = now()",
        )
        .bind(signed(source))
        .bind(bytes)
        .execute(self.pool());
        if self.ask(query).await?.rows_affected() == 0 { Err(Away) } else { Ok(()) }
    }

    /// A file that was kept; none where it was taken in or waited too long.
    ///
    /// # Errors
    /// [`Away`].
    pub async fn file(&self, source: Source) -> Result<Option<Vec<u8>>, Away> {
        let query = sqlx::query_scalar("select bytes from discord_upload where source = $1").bind(signed(source));
        self.ask(query.fetch_optional(self.pool())).await
    }

    /// Erases a file: it was taken in, or nobody wants it any more.
    pub async fn drop_file(&self, source: Source) {
        let query = sqlx::query("delete from discord_upload where source = $1").bind(signed(source));
        let _ = self.ask(query.execute(self.pool())).await;
    }

    /// Erases the files that nobody came back to.
    pub(super) async fn sweep_files(&self) -> Result<(), Away> {
        let query = sqlx::query("delete from discord_upload where kept_at < now() - make_interval(secs => $1)")
            .bind(WAITS.as_secs_f64())
            .execute(self.pool());
        self.ask(query).await.map(drop)
    }
}
