//! Everything of a database to a file and back, from either kind of database to either.
//!
//! The file has a line of JSON each: first what it is, then every row of every table, then how many rows there were, so
//! that a file that was cut off is known as such. It is written in one snapshot and taken in as one transaction.
//! Both run as the owner of the tables, because a backup is nobody's query.

use std::collections::HashMap;
use std::io::{BufRead, Write};

use serde_json::{Value, json};
use sqlx::{Connection as _, Executor as _, PgConnection, Row as _};

use super::{Store, StoreError, schema};

const FORMAT: &str = "hatchward-backup";
const VERSION: u64 = 1;
/// Rows that are taken in by one query.
const BATCH: usize = 500;
/// Backups of large collections take longer than a member's question may.
const UNBOUND: &str = "reset role; set statement_timeout = 0; set idle_in_transaction_session_timeout = 0";
/// Tables that say how the database itself is; they are not a backup's.
const OWN_TABLES: &str = "'_sqlx_migrations', 'discord_shard', 'discord_login', 'discord_commands'";

/// Why a backup was not written or taken in.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The file cannot be written or read.
    #[error("the file cannot be used: {0}")]
    File(#[from] std::io::Error),
    /// It is no backup.
    #[error("line {line} of the file is none of a backup: {reason}")]
    NoBackup {
        /// The line, from 1.
        line: usize,
        /// What was expected.
        reason: String,
    },
    /// The file ends too early.
    #[error("the file is cut off: its end is missing")]
    CutOff,
    /// It comes from a newer program.
    #[error("this backup was made by a newer Hatchward (step {found}, this program knows {known}): update the program")]
    Newer {
        /// The schema of the backup.
        found: i64,
        /// The last that is known.
        known: i64,
    },
    /// The database is not empty.
    #[error(
        "the database holds {n} rows already: restore into an empty one, or say --replace to throw away what is there"
    )]
    NotEmpty {
        /// Rows that are there.
        n: i64,
    },
}

impl From<sqlx::Error> for BackupError {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

impl Store {
    /// Writes everything to `out`; how many rows there were.
    ///
    /// # Errors
    /// [`BackupError`]; what was written then is no backup.
    pub async fn back_up(&self, out: &mut (impl Write + Send)) -> Result<u64, BackupError> {
        let mut connection = self.owner().await?;
        let done = back_up(&mut connection, out).await;
        let _ = connection.close().await;
        done
    }

    /// Takes a backup in; how many rows there were. A database that holds rows is refused unless `replace` is said, and
    /// then they are gone.
    ///
    /// # Errors
    /// [`BackupError`]; the database is as it was then.
    pub async fn restore(&self, from: &mut (impl BufRead + Send), replace: bool) -> Result<u64, BackupError> {
        let mut connection = self.owner().await?;
        let done = restore(&mut connection, from, replace).await;
        let _ = connection.close().await;
        self.settle().await;
        done
    }

    /// A connection outside of row-level security and limits; it never goes back to the pool.
    async fn owner(&self) -> Result<PgConnection, StoreError> {
        let mut connection = self.connection().await?.detach();
        connection.execute(UNBOUND).await?;
        Ok(connection)
    }
}

async fn back_up(db: &mut PgConnection, out: &mut (impl Write + Send)) -> Result<u64, BackupError> {
    db.execute("begin isolation level repeatable read read only").await?;
    let tables = tables(db).await?;
    let head = json!({ "format": FORMAT, "version": VERSION, "schema": schema::known(), "tables": tables });
    writeln!(out, "{head}")?;
    let mut n: u64 = 0;
    for table in &tables {
        // By a cursor, so that a large table never stands in memory whole.
        let declare = format!("declare rows no scroll cursor for select to_jsonb(t)::text from \"{table}\" t");
        db.execute(declare.as_str()).await?;
        loop {
            let rows = sqlx::query(&format!("fetch {BATCH} from rows")).fetch_all(&mut *db).await?;
            for row in &rows {
                let row: String = row.try_get(0)?;
                writeln!(out, "[{},{row}]", Value::from(table.as_str()))?;
                n += 1;
            }
            if rows.len() < BATCH {
                break;
            }
        }
        db.execute("close rows").await?;
    }
    db.execute("commit").await?;
    writeln!(out, "{}", json!({ "rows": n }))?;
    out.flush()?;
    Ok(n)
}

/// The tables of ours, those that are referred to before those that refer to them.
async fn tables(db: &mut PgConnection) -> Result<Vec<String>, StoreError> {
    let names: Vec<String> = sqlx::query(&format!(
        "select relname::text from pg_class where relkind = 'r' and relnamespace = 'public'::regnamespace
         and relname not in ({OWN_TABLES}) order by relname"
    ))
    .fetch_all(&mut *db)
    .await?
    .iter()
    .map(|row| row.try_get(0))
    .collect::<Result<_, _>>()?;
    let mut before: HashMap<String, Vec<String>> = HashMap::new();
    // Deferrable references are looked at when all is there.
    let references = sqlx::query(
        "select conrelid::regclass::text, confrelid::regclass::text from pg_constraint
         where contype = 'f' and not condeferrable and conrelid <> confrelid",
    )
    .fetch_all(&mut *db)
    .await?;
    for row in references {
        before.entry(row.try_get(0)?).or_default().push(row.try_get(1)?);
    }
    let mut open = names;
    let mut out: Vec<String> = Vec::new();
    while !open.is_empty() {
        let waits = |name: &String| before.get(name).is_some_and(|b| b.iter().any(|t| open.contains(t)));
        let (later, now): (Vec<String>, Vec<String>) = open.iter().cloned().partition(waits);
        // A ring of such references would never end; there is none, and the rows would say so.
        if now.is_empty() {
            out.extend(later);
            break;
        }
        out.extend(now);
        open = later;
    }
    Ok(out)
}

async fn restore(
    connection: &mut PgConnection,
    from: &mut (impl BufRead + Send),
    replace: bool,
) -> Result<u64, BackupError> {
    let mut lines = (1..).zip(from.lines());
    let (_, head) = lines.next().ok_or(BackupError::CutOff)?;
    let head: Value = serde_json::from_str(&head?).unwrap_or_default();
    checked_head(&head)?;
    let mut db = connection.begin().await?;
    let done = take_in(&mut db, lines, replace).await;
    match &done {
        Ok(_) => db.commit().await?,
        // Said outright, because the connection ends next: left to itself it would only be noted for later.
        Err(_) => db.rollback().await?,
    }
    done
}

async fn take_in(
    db: &mut PgConnection,
    lines: impl Iterator<Item = (usize, std::io::Result<String>)>,
    replace: bool,
) -> Result<u64, BackupError> {
    let tables = tables(&mut *db).await?;
    let held = held(&mut *db, &tables).await?;
    if held > 0 && !replace {
        return Err(BackupError::NotEmpty { n: held });
    }
    let all = tables.iter().map(|t| format!("\"{t}\"")).collect::<Vec<_>>().join(", ");
    db.execute(format!("truncate {all}; set constraints all deferred").as_str()).await?;
    let mut n: u64 = 0;
    let mut batch: (String, Vec<Value>) = (String::new(), Vec::new());
    for (line, text) in lines {
        let value: Value = serde_json::from_str(&text?).map_err(|e| no_backup(line, e.to_string()))?;
        match value {
            Value::Array(mut pair) if pair.len() == 2 => {
                let (Some(row), Some(Value::String(table))) = (pair.pop(), pair.pop()) else {
                    return Err(no_backup(line, "a table and a row"));
                };
                if !tables.contains(&table) {
                    return Err(no_backup(line, format!("a table of this program, not {table:?}")));
                }
                if batch.0 != table || batch.1.len() >= BATCH {
                    put(&mut *db, &batch).await?;
                    batch = (table, Vec::new());
                }
                batch.1.push(row);
                n += 1;
            }
            Value::Object(end) if end.get("rows").and_then(Value::as_u64) == Some(n) => {
                put(&mut *db, &batch).await?;
                db.execute("set constraints all immediate").await?;
                numbers_go_on(&mut *db).await?;
                return Ok(n);
            }
            _ => return Err(no_backup(line, "a row, or the right number of rows")),
        }
    }
    Err(BackupError::CutOff)
}

fn no_backup(line: usize, reason: impl Into<String>) -> BackupError {
    BackupError::NoBackup { line, reason: reason.into() }
}

fn checked_head(head: &Value) -> Result<(), BackupError> {
    if head.get("format").and_then(Value::as_str) != Some(FORMAT) {
        return Err(no_backup(1, format!("its \"format\" should be \"{FORMAT}\"")));
    }
    let known = schema::known();
    match (head.get("version").and_then(Value::as_u64), head.get("schema").and_then(Value::as_i64)) {
        (Some(VERSION), Some(step)) if step <= known => Ok(()),
        (Some(_), Some(found)) => Err(BackupError::Newer { found, known }),
        _ => Err(no_backup(1, "its \"version\" and \"schema\" should be numbers")),
    }
}

async fn held(db: &mut PgConnection, tables: &[String]) -> Result<i64, BackupError> {
    let mut n = 0;
    for table in tables {
        let row = sqlx::query(&format!("select count(*) from \"{table}\"")).fetch_one(&mut *db).await?;
        n += row.try_get::<i64, _>(0)?;
    }
    Ok(n)
}

async fn put(db: &mut PgConnection, (table, rows): &(String, Vec<Value>)) -> Result<(), BackupError> {
    if rows.is_empty() {
        return Ok(());
    }
    // Columns are named, so that those which are worked out by the database itself are left to it.
    let insert = format!(
        "insert into \"{table}\" overriding system value
         select (jsonb_populate_record(null::\"{table}\", row)).* from jsonb_array_elements($1) row"
    );
    sqlx::query(&insert).bind(Value::Array(rows.clone())).execute(db).await?;
    Ok(())
}

/// Numbers that are given next come after all that are there.
async fn numbers_go_on(db: &mut PgConnection) -> Result<(), BackupError> {
    let owned = sqlx::query(
        "select pg_get_serial_sequence(quote_ident(table_name), column_name), table_name::text, column_name::text
         from information_schema.columns where table_schema = 'public' and is_identity = 'YES'",
    )
    .fetch_all(&mut *db)
    .await?;
    for row in owned {
        let (sequence, table, column): (String, String, String) = (row.try_get(0)?, row.try_get(1)?, row.try_get(2)?);
        let set = format!(
            "select setval($1, greatest((select coalesce(max(\"{column}\"), 0) from \"{table}\") + 1, 1), false)"
        );
        sqlx::query(&set).bind(sequence).execute(&mut *db).await?;
    }
    // One numbering for all records; removed ones stay in the list of changes.
    let tables = sqlx::query(
        "select c.table_name::text from information_schema.columns c join pg_class k on k.relname = c.table_name
         where c.table_schema = 'public' and c.column_name = 'id' and k.relkind = 'r' and c.is_identity = 'NO'
         and c.data_type = 'bigint'",
    )
    .fetch_all(&mut *db)
    .await?;
    let mut last: i64 = 0;
    for row in tables {
        let table: String = row.try_get(0)?;
        let row = sqlx::query(&format!("select coalesce(max(id), 0) from \"{table}\"")).fetch_one(&mut *db).await?;
        last = last.max(row.try_get(0)?);
    }
    sqlx::query("select setval('record_id', $1, true)").bind(last.max(1)).execute(db).await?;
    Ok(())
}
