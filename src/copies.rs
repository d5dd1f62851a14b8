//! Copies of what is kept: a keeper's collection out and in, and the whole database to a file and back.

use std::fs;
use std::io::{BufReader, BufWriter, IsTerminal as _, Write as _};
use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context as _, Result};

use hatchward::chat::keeper::{Keeper, runtime};
use hatchward::chat::terminal::{self, Form, say};
use hatchward::collection::store::{Place, Store};

/// Writes the keeper's collection to a file that is not there yet.
pub(crate) fn export(mut keeper: Keeper<'_>, file: &Path) -> Result<ExitCode> {
    let (reply, done) = keeper.export(file);
    keeper.close();
    say(&(Form::of_stdout().write(Some(&reply)) + "\n"))?;
    Ok(if done { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// Shows what a file holds, asks what is unclear, and saves it when the word that was shown is typed.
pub(crate) fn import(mut keeper: Keeper<'_>, file: &Path) -> Result<ExitCode> {
    let reply = keeper.import(file);
    let form = Form::of_stdout();
    say(&(form.write(Some(&reply)) + "\n"))?;
    let mut saved = false;
    let talking = std::io::stdin().is_terminal();
    while keeper.waits() {
        if talking {
            say("> ")?;
        }
        let Some(line) = terminal::next_line()? else { break };
        let reply = keeper.turn(&line);
        saved = keeper.has_saved();
        say(&(form.write(reply.as_ref()) + "\n"))?;
    }
    if keeper.waits() {
        anstream::eprintln!("hatchward: nothing was saved");
    }
    keeper.close();
    Ok(if saved { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// Writes the whole database to a file that is not there yet.
pub(crate) fn back_up(place: &Place, file: &Path) -> Result<ExitCode> {
    let shown = file.display();
    // Whole or not at all: what was interrupted is no backup, and must not look like one.
    let part = file.with_extension("part");
    anyhow::ensure!(!file.exists(), "{shown} is there already");
    let runtime = runtime()?;
    let n = runtime.block_on(async {
        let store = Store::open(place).await?;
        let mut out = BufWriter::new(private(&part).with_context(|| format!("writing {}", part.display()))?);
        let n = store.back_up(&mut out).await;
        store.close().await;
        let n = n?;
        out.flush().and_then(|()| out.get_ref().sync_all()).with_context(|| format!("writing {}", part.display()))?;
        anyhow::Ok(n)
    })?;
    fs::rename(&part, file).with_context(|| format!("writing {shown}"))?;
    say(&format!("{n} rows written to {shown}\n"))?;
    Ok(ExitCode::SUCCESS)
}

fn private(file: &Path) -> std::io::Result<fs::File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    options.open(file)
}

/// Takes a backup in.
pub(crate) fn restore(place: &Place, file: &Path, replace: bool) -> Result<ExitCode> {
    let shown = file.display();
    let mut from = BufReader::new(fs::File::open(file).with_context(|| format!("reading {shown}"))?);
    let runtime = runtime()?;
    let n = runtime.block_on(async {
        let store = Store::open(place).await?;
        let n = store.restore(&mut from, replace).await;
        store.close().await;
        anyhow::Ok(n?)
    })?;
    say(&format!("{n} rows taken in from {shown}\n"))?;
    Ok(ExitCode::SUCCESS)
}
