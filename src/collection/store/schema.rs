//! The schema, step by step. Forward only; each step works while the previous release still runs.

use std::future::Future;
use std::pin::Pin;

use sqlx::error::BoxDynError;
use sqlx::migrate::{MigrateError, Migration, MigrationSource, MigrationType, Migrator};
use sqlx::{Executor as _, PgConnection};

use super::StoreError;

/// Every step: number, name, SQL. A new step is a new line; a step that was ever released is never changed.
const STEPS: [(i64, &str, &str); 14] = [
    (1, "roles", include_str!("../../../migrations/0001_roles.sql")),
    (2, "collection", include_str!("../../../migrations/0002_collection.sql")),
    (3, "goals", include_str!("../../../migrations/0003_goals.sql")),
    (4, "carrier_frequency", include_str!("../../../migrations/0004_carrier_frequency.sql")),
    (5, "many_rows", include_str!("../../../migrations/0005_many_rows.sql")),
    (6, "home", include_str!("../../../migrations/0006_home.sql")),
    (7, "own_numbers", include_str!("../../../migrations/0007_own_numbers.sql")),
    (8, "reminders", include_str!("../../../migrations/0008_reminders.sql")),
    (9, "pipped", include_str!("../../../migrations/0009_pipped.sql")),
    (1001, "discord", include_str!("../../../migrations/1001_discord.sql")),
    (1002, "discord_keeper", include_str!("../../../migrations/1002_discord_keeper.sql")),
    (1003, "discord_community", include_str!("../../../migrations/1003_discord_community.sql")),
    (1101, "erase", include_str!("../../../migrations/1101_erase.sql")),
    (1201, "discord_files", include_str!("../../../migrations/1201_discord_files.sql")),
];

#[derive(Debug)]
struct Steps;

impl MigrationSource<'static> for Steps {
    fn resolve(self) -> Pin<Box<dyn Future<Output = Result<Vec<Migration>, BoxDynError>> + Send>> {
        let steps = STEPS
            .into_iter()
            .map(|(n, name, sql)| Migration::new(n, name.into(), MigrationType::Simple, sql.into(), false))
            .collect();
        Box::pin(async move { Ok(steps) })
    }
}

/// The last step that this program knows.
pub(super) fn known() -> i64 {
    STEPS.last().map_or(0, |step| step.0)
}

/// Brings the schema up to date. Processes that start together wait for one another, at most 5 s.
pub(super) async fn migrate(connection: &mut PgConnection) -> Result<(), StoreError> {
    let known = known();
    let run = async {
        connection.execute("set lock_timeout = '5s'; set client_min_messages = 'warning'").await?;
        Migrator::new(Steps).await?.run_direct(connection).await
    };
    run.await.map_err(|error: MigrateError| StoreError::migrating(error, known))
}
