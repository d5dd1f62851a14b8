//! What breaks: the process is killed while it writes, the server goes away and comes back, a query takes too long.

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use hatchward::collection::store::{Place, Store, StoreError, Who};

use super::server::Server;
use crate::keeper::Town;

/// Kills the program while it is told one weight after the other; how many it had said were saved.
fn killed_while_writing(database: &[(&str, &str)], args: &[&str]) -> usize {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hatchward"));
    command
        .args(["chat", "--plain", "--separator", "--", "--species", "ball python", "--today", "2026-11-25"])
        .args(args);
    command.env("USER", "maren").envs(database.iter().copied());
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("it starts");
    let mut input = child.stdin.take().expect("a pipe");
    let output = BufReader::new(child.stdout.take().expect("a pipe"));
    let writing = std::thread::spawn(move || {
        // A killed reader is how this ends.
        let _ = writeln!(input, "add 0.1 clown named Juno");
        for grams in 1000..2000 {
            if writeln!(input, "Juno {grams} g").is_err() {
                break;
            }
        }
    });
    let mut saved = 0;
    for line in output.lines().map_while(Result::ok) {
        saved += usize::from(line.starts_with("Saved Juno (#1): 1"));
        if saved == 40 {
            child.kill().expect("it is killed");
        }
    }
    let _ = child.wait();
    let _ = writing.join();
    saved
}

async fn weights_kept(place: &Place) -> Vec<i32> {
    let store = Store::open(place).await.expect("it opens again");
    let who = Who { platform: "terminal", user: "maren".to_owned() };
    let keeper = store.keeper(&who).await.expect("an answer").expect("she is there");
    let herd = store.herd(keeper).await.expect("a herd");
    // Nothing is half written: every weight is in the list of changes, with its row.
    assert_eq!(store.changes(keeper, 7).await.expect("a list").len().min(200), (herd.weights.len() + 1).min(200));
    store.close().await;
    herd.weights.iter().map(|w| w.grams).collect()
}

#[track_caller]
fn in_order(kept: &[i32], acknowledged: usize) {
    assert!(acknowledged >= 40, "only {acknowledged} were saved");
    assert!(kept.len() >= acknowledged, "{acknowledged} were acknowledged, {} are there", kept.len());
    let expected: Vec<i32> = (1000..).take(kept.len()).collect();
    assert_eq!(kept, expected);
}

#[tokio::test]
async fn what_was_acknowledged_survives_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let acknowledged = killed_while_writing(&[], &["--data", data.to_str().expect("a path")]);
    in_order(&weights_kept(&Place::Folder(data)).await, acknowledged);
    let Some(server) = Server::start() else { return };
    let name = server.fresh();
    let url = server.url("hatchward", &name);
    let acknowledged = killed_while_writing(&[("DATABASE_URL", &url)], &[]);
    // The server crashes as well.
    server.down();
    server.up();
    in_order(&weights_kept(&server.place("hatchward", &name)).await, acknowledged);
}

#[tokio::test]
async fn a_server_that_goes_away_in_mid_talk() {
    let Some(server) = Server::start() else { return };
    let town = Town::at(server.database());
    let mut maren = town.breeder("Maren");
    maren.hears("add 0.1 clown named Juno", &["Saved Juno"]).await;
    maren.hears("Juno 1500 g", &["Saved Juno (#1): 1,500 g"]).await;
    server.down();
    let start = Instant::now();
    maren.hears("Juno 1600 g", &["cannot reach your collection", "Nothing was saved"]).await;
    assert!(start.elapsed() < Duration::from_secs(10), "the member waits for {:?}", start.elapsed());
    maren.hears("het clown x clown", &["1/2"]).await;
    server.up();
    // Without a restart of the program.
    maren.hears("Juno 1700 g", &["Saved Juno (#1): 1,700 g"]).await;
    let grams: Vec<i32> = maren.herd().await.weights.iter().map(|w| w.grams).collect();
    assert_eq!(grams, [1500, 1700]);
    drop(server);
}

#[tokio::test]
async fn a_question_that_takes_too_long_is_given_up() {
    let Some(server) = Server::start() else { return };
    let place = server.database();
    let store = Store::open(&place).await.expect("it opens");
    let slow = sqlx::query("select pg_sleep(60)").execute(store.pool()).await.expect_err("it is cut off");
    assert!(matches!(StoreError::from(slow), StoreError::Busy));
    // All connections are taken: who comes then hears so in time.
    let mut held = Vec::new();
    for _ in 0..10 {
        held.push(store.pool().acquire().await.expect("a connection"));
    }
    let who = Who { platform: "terminal", user: "maren".to_owned() };
    let error = store.keeper(&who).await.expect_err("no connection is free");
    assert!(error.passes(), "{error}");
    drop(held);
    assert_eq!(store.keeper(&who).await.expect("it goes on"), None);
    store.close().await;
}
