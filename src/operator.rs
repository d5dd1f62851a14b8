//! The operator's commands: run the bot, check what it needs. Each gives the exit code: 0 fine, 1 fault, 2 wrong use,
//! 75 try again, 78 configuration (as sysexits.h has them).

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::process::ExitCode;
use std::time::Duration;

use anyhow::{Context as _, Result};

use hatchward::chat::discord::{doctor, serve, turns::Books, watch};
use hatchward::collection::store::{Place, ServerUrl};
use hatchward::folders::Folders;
use hatchward::reading::Reader;
use hatchward::settings::{Settings, keys};
use hatchward::species::Catalogue;

/// Exit code for faults of the configuration.
const CONFIGURATION: u8 = 78;

/// The settings in force; faults are printed, and their exit code comes back.
fn settings(file: Option<&Path>) -> Result<Settings, ExitCode> {
    let environment = std::env::vars_os()
        .filter_map(|(name, value)| Some((name.into_string().ok()?, value.into_string().ok()?)))
        .collect();
    Settings::load(file, &environment).map_err(|error| {
        anstream::eprintln!("{error}");
        ExitCode::from(CONFIGURATION)
    })
}

/// Where the database is: the server that was named, else the user's data folder.
fn place(settings: &Settings) -> Result<Place> {
    Ok(match &settings.database {
        Some(address) => Place::Server(ServerUrl::new(address.reveal().to_owned())),
        None => Place::Folder(Folders::of_user().context("looking for the user's folders")?.data),
    })
}

/// Names every fault of the settings, or shows what is in force.
pub(crate) fn check(file: Option<&Path>) -> ExitCode {
    let settings = match settings(file) {
        Ok(settings) => settings,
        Err(code) => return code,
    };
    for key in keys() {
        anstream::println!("{} = {:?}", key.name, (key.get)(&settings));
    }
    for (name, given) in [("token", settings.token.is_some()), ("database", settings.database.is_some())] {
        anstream::println!("{name}: {}", if given { "given" } else { "not given" });
    }
    ExitCode::SUCCESS
}

/// Looks at everything that the bot needs, and says what to do.
pub(crate) fn doctor(file: Option<&Path>) -> Result<ExitCode> {
    let settings = match settings(file) {
        Ok(settings) => settings,
        Err(code) => return Ok(code),
    };
    let place = place(&settings)?;
    let runtime = tokio::runtime::Runtime::new().context("starting the threads")?;
    let found = runtime.block_on(doctor::look(&settings, &place));
    for finding in &found {
        let mark = if finding.code == 0 { "fine " } else { "WRONG" };
        anstream::println!("{mark}  {}", finding.text);
    }
    // What somebody has to mend comes before what may pass by itself.
    Ok(ExitCode::from(found.iter().map(|f| f.code).max().unwrap_or(0)))
}

/// Asks the running bot of this machine whether it is alive, for supervisors that only run commands.
pub(crate) fn health(file: Option<&Path>) -> ExitCode {
    let settings = match settings(file) {
        Ok(settings) => settings,
        Err(code) => return code,
    };
    let Some(address) = settings.listen else {
        anstream::eprintln!("hatchward: health is not served: health.listen is empty");
        return ExitCode::from(CONFIGURATION);
    };
    match ask_health(address) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(error) => {
            anstream::eprintln!("hatchward: {address}: {error}: is the bot running?");
            ExitCode::from(1)
        }
    }
}

fn ask_health(address: SocketAddr) -> std::io::Result<bool> {
    let patience = Duration::from_secs(3);
    let mut line = TcpStream::connect_timeout(&address, patience)?;
    line.set_read_timeout(Some(patience))?;
    line.write_all(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")?;
    let mut answer = String::new();
    line.take(1024).read_to_string(&mut answer)?;
    Ok(answer.starts_with("HTTP/1.1 200"))
}

/// Runs the bot until it is told to stop.
pub(crate) fn serve(file: Option<&Path>, seize: bool, catalogue: Catalogue, reader: Reader) -> Result<ExitCode> {
    let settings = match settings(file) {
        Ok(settings) => settings,
        Err(code) => return Ok(code),
    };
    hatchward::upkeep::log::start(&settings, watch::Ear)?;
    // The dictionaries live as long as the program; handlers on every thread borrow them.
    let books = Books { catalogue: Box::leak(Box::new(catalogue)), reader: Box::leak(Box::new(reader)) };
    let runtime = tokio::runtime::Runtime::new().context("starting the threads")?;
    let place = place(&settings)?;
    let ended = runtime.block_on(serve::serve(books, settings, &place, seize))?;
    // A line that spins inside the library would never let the threads go: they end with the process.
    runtime.shutdown_background();
    if !ended.why.is_empty() {
        anstream::eprintln!("hatchward: {}", ended.why);
    }
    Ok(ExitCode::from(ended.code))
}
