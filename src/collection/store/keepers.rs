//! What is asked of the database for one keeper. Every function here runs in a transaction that is scoped to the keeper
//! before its first query, and there is no other way to a keeper's rows.

use std::collections::HashMap;

use jiff::Timestamp;
use serde_json::Value;
use sqlx::types::Json;
use sqlx::{PgConnection, Postgres, Transaction};

use super::{Store, StoreError};
use crate::collection::animal::{AnimalId, ClutchId, KeeperId};
use crate::collection::change::{Change, Row};
use crate::collection::herd::Herd;

/// Who is asking: a platform and the user's number there. Nothing else of a person is kept.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Who {
    /// "terminal", "discord": small letters, at most 20.
    pub platform: &'static str,
    /// The user's number or name there, at most 64 characters.
    pub user: String,
}

/// A change that was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// It had been saved before, under the same `once`: this is the sentence of then.
    pub before: Option<String>,
    ids: HashMap<i64, i64>,
}

impl Saved {
    /// The lasting number of an animal that had none yet.
    #[must_use]
    pub fn animal(&self, id: AnimalId) -> AnimalId {
        AnimalId(self.ids.get(&id.0).copied().unwrap_or(id.0))
    }

    /// The lasting number of a clutch that had none yet.
    #[must_use]
    pub fn clutch(&self, id: ClutchId) -> ClutchId {
        ClutchId(self.ids.get(&id.0).copied().unwrap_or(id.0))
    }
}

/// One entry of "what changed".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// When.
    pub at: Timestamp,
    /// Our own sentence about it.
    pub said: String,
    /// It was taken back.
    pub undone: bool,
}

impl Store {
    /// The keeper's number, if anything was ever saved for them.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn keeper(&self, who: &Who) -> Result<Option<KeeperId>, StoreError> {
        let mut connection = self.connection().await?;
        let id =
            sqlx::query_scalar!("select keeper_of($1, $2)", who.platform, who.user).fetch_one(&mut *connection).await?;
        Ok(id.map(KeeperId))
    }

    /// The keeper's number; they are noted down now if they were not.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn keeper_or_new(&self, who: &Who) -> Result<KeeperId, StoreError> {
        let mut connection = self.connection().await?;
        let id = sqlx::query_scalar!(r#"select keeper_for($1, $2) as "id!""#, who.platform, who.user)
            .fetch_one(&mut *connection)
            .await?;
        Ok(KeeperId(id))
    }

    /// Everything of a keeper.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn herd(&self, keeper: KeeperId) -> Result<Herd, StoreError> {
        let mut tx = self.scoped(keeper).await?;
        let herd = herd(&mut tx).await?;
        tx.commit().await?;
        Ok(herd)
    }

    /// Saves a change whole, or not at all. With `once` (the id of the message or press that asked for it) it is saved
    /// only the first time.
    ///
    /// # Errors
    /// [`StoreError::Changed`] when a record was changed meanwhile; others when the database does not answer or refuses.
    pub async fn save(&self, keeper: KeeperId, change: &Change, once: Option<&str>) -> Result<Saved, StoreError> {
        let mut tx = self.scoped(keeper).await?;
        let (rows, ids) = numbered(&mut tx, &change.rows).await?;
        let saved = sqlx::query!(
            r#"select change_id as "id!", sentence_before from keep($1, $2, $3, $4)"#,
            change.kind,
            change.said,
            once,
            Value::Array(rows)
        )
        .fetch_one(&mut *tx)
        .await?;
        if let Some(next) = change.next_number {
            sqlx::query!("update keeper set next_number = greatest(next_number, $1) where id = keeper_now()", next)
                .execute(&mut *tx)
                .await?;
        }
        tx.commit().await?;
        self.settle().await;
        Ok(Saved { before: saved.sentence_before, ids })
    }

    /// Takes back the last change that still stands; its sentence, or nothing where there is none.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn undo(&self, keeper: KeeperId) -> Result<Option<String>, StoreError> {
        let mut tx = self.scoped(keeper).await?;
        let said = sqlx::query_scalar!(r#"select said as "said!" from take_back()"#).fetch_optional(&mut *tx).await?;
        tx.commit().await?;
        self.settle().await;
        Ok(said)
    }

    /// Lets go of the list of changes: what is kept now is the beginning, and nothing before it can be taken back.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn begin_here(&self, keeper: KeeperId) -> Result<(), StoreError> {
        let mut tx = self.scoped(keeper).await?;
        sqlx::query!("delete from change where keeper_id = $1", keeper.0).execute(&mut *tx).await?;
        tx.commit().await?;
        self.settle().await;
        Ok(())
    }

    /// The changes of the last days, newest first, at most 200.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn changes(&self, keeper: KeeperId, days: i32) -> Result<Vec<Changed>, StoreError> {
        let mut tx = self.scoped(keeper).await?;
        let rows = sqlx::query!(
            r#"select extract(epoch from at)::bigint as "at!", said, undone_at is not null as "undone!" from change
               where keeper_id = $1 and at >= now() - make_interval(days => $2) order by id desc limit 200"#,
            keeper.0,
            days
        )
        .fetch_all(&mut *tx)
        .await?;
        tx.commit().await?;
        let changed = |at| Timestamp::from_second(at).unwrap_or(Timestamp::UNIX_EPOCH);
        Ok(rows.into_iter().map(|r| Changed { at: changed(r.at), said: r.said, undone: r.undone }).collect())
    }

    /// Erases a person with everything of theirs, changes and what their platform's tables hold included. Nothing is left to
    /// tell that they were here.
    ///
    /// # Errors
    /// [`StoreError`] when the database does not answer.
    pub async fn forget(&self, who: &Who) -> Result<(), StoreError> {
        let mut connection = self.connection().await?;
        sqlx::query!("select erase_person($1, $2)", who.platform, who.user).fetch_one(&mut *connection).await?;
        drop(connection);
        self.settle().await;
        Ok(())
    }

    /// A transaction that sees one keeper's rows and no others.
    pub(super) async fn scoped(&self, keeper: KeeperId) -> Result<Transaction<'static, Postgres>, StoreError> {
        let mut tx = self.begin().await?;
        // The role is set again for this transaction: behind a pooler the connection may not be the one that was greeted.
        sqlx::query_scalar!(
            "select set_config('role', 'hatchward_keeper', true) || set_config('hatchward.keeper', $1, true)",
            keeper.0.to_string()
        )
        .fetch_one(&mut *tx)
        .await?;
        Ok(tx)
    }
}

async fn herd(db: &mut PgConnection) -> Result<Herd, StoreError> {
    let herd = sqlx::query_scalar!(
        r#"select jsonb_build_object(
            'next_number', coalesce((select next_number from keeper where id = keeper_now()), 1),
            'animals', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from animal t where keeper_id = keeper_now()),
            'weights', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from weight t where keeper_id = keeper_now()),
            'meals', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from meal t where keeper_id = keeper_now()),
            'signs', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from sign t where keeper_id = keeper_now()),
            'meetings', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from meeting t where keeper_id = keeper_now()),
            'clutches', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from clutch t where keeper_id = keeper_now()),
            'goals', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from goal t where keeper_id = keeper_now()),
            'frequencies', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from carrier_frequency t where keeper_id = keeper_now()),
            'own_numbers', (select coalesce(jsonb_agg(to_jsonb(t) order by id), '[]') from own_number t where keeper_id = keeper_now()),
            'home', (select to_jsonb(t) from home t where keeper_id = keeper_now()),
            'reminders', (select coalesce(jsonb_agg(to_jsonb(t) || jsonb_build_object('moments', (select coalesce(jsonb_agg(
                to_jsonb(d) order by due_at, id), '[]') from due d where d.keeper_id = t.keeper_id and d.reminder_id = t.id
                )) order by id), '[]') from reminder t where keeper_id = keeper_now())
        ) as "herd!: Json<Herd>""#
    )
    .fetch_one(db)
    .await?;
    Ok(herd.0)
}

/// Gives lasting numbers to records that have none yet, and to those that name them.
async fn numbered(db: &mut PgConnection, rows: &[Row]) -> Result<(Vec<Value>, HashMap<i64, i64>), StoreError> {
    let new: Vec<i64> = rows.iter().map(|r| r.id).filter(|id| *id < 0).collect();
    let mut ids = HashMap::new();
    if !new.is_empty() {
        let numbers = sqlx::query_scalar!(
            r#"select nextval('record_id') as "id!" from generate_series(1, $1::bigint)"#,
            i64::try_from(new.len()).unwrap_or(i64::MAX)
        )
        .fetch_all(db)
        .await?;
        ids.extend(new.into_iter().zip(numbers));
    }
    let lasting = |value: &mut Value| {
        if let Some(id) = value.as_i64().filter(|id| *id < 0).and_then(|id| ids.get(&id)) {
            *value = Value::from(*id);
        }
    };
    let rows = rows
        .iter()
        .map(|row| {
            let mut value = serde_json::to_value(row).unwrap_or_default();
            lasting(&mut value["id"]);
            if let Some(fields) = value["row"].as_object_mut() {
                for (name, field) in fields {
                    if name == "id" || name.ends_with("_id") {
                        lasting(field);
                    } else if name == "sires" {
                        let sires = field.get_mut("of").and_then(Value::as_array_mut);
                        sires.into_iter().flatten().for_each(|sire| lasting(&mut sire["id"]));
                    }
                }
            }
            value
        })
        .collect();
    Ok((rows, ids))
}
