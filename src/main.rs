//! The command line: parse arguments, build the program, run one command; no logic.

use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context as _, Result};
use clap::{CommandFactory, Parser, Subcommand};

#[cfg(feature = "discord")]
use hatchward::chat::discord::{self, turns::Books};
use hatchward::chat::terminal;
use hatchward::conversation::Talk;
use hatchward::lines;
use hatchward::reading::Reader;
use hatchward::settings::{Settings, keys};
use hatchward::species::{Catalogue, SpeciesId, check, read_folder, show};

/// Exact odds of a pairing, asked the way breeders write.
#[derive(Debug, Parser)]
#[command(name = "hatchward", version, about)]
struct Args {
    /// A folder with catalogue files of your own (*.toml); a file named like a built-in one replaces it
    #[arg(long, global = true, env = "HATCHWARD_SPECIES", value_name = "DIR")]
    species_folder: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Talk in the terminal (the default)
    Chat {
        /// One message a line in, the reply out; no prompt, no colour
        #[arg(long)]
        plain: bool,
        /// With --plain: a line that follows every reply
        #[arg(long, value_name = "STRING", allow_hyphen_values = true)]
        separator: Option<String>,
        /// Keep nothing: nothing is kept so far in any case
        #[arg(long)]
        memory: bool,
        /// The species where a message names none
        #[arg(long, value_name = "NAME")]
        species: Option<String>,
    },
    /// Answer one question and exit
    Ask {
        /// The question, in quotes or not
        #[arg(required = true, trailing_var_arg = true)]
        question: Vec<String>,
        /// The species where the question names none
        #[arg(long, value_name = "NAME")]
        species: Option<String>,
    },
    /// Show what the reader makes of each line (JSON lines)
    Read {
        /// JSON lines in and out
        #[arg(long, required = true)]
        json: bool,
    },
    /// The exact odds of each line (JSON lines)
    Odds {
        /// JSON lines in and out
        #[arg(long, required = true)]
        json: bool,
    },
    /// The engine on its own: one request a line, one answer a line (JSON lines)
    Engine {
        /// JSON lines in and out
        #[arg(long, required = true)]
        json: bool,
    },
    /// Check or show the gene catalogues
    Catalogue {
        #[command(subcommand)]
        what: CatalogueCommand,
    },
    /// Run the bot on Discord until it is told to stop
    #[cfg(feature = "discord")]
    Serve {
        /// The settings file (config/hatchward.toml where it is there)
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
    },
    /// Check the settings: the file and the environment
    Config {
        #[command(subcommand)]
        what: ConfigCommand,
    },
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

#[derive(Debug, Subcommand)]
enum CatalogueCommand {
    /// Check the built-in catalogues, or those of a folder
    Check {
        /// The folder
        folder: Option<PathBuf>,
    },
    /// Show one gene: inheritance, names, company, cautions and how well they are known
    Show {
        /// Any of its names
        #[arg(required = true)]
        gene: Vec<String>,
    },
}

#[derive(Debug, Subcommand)]
enum ConfigCommand {
    /// Name every fault with file, line, value and remedy; show what is in force
    Check {
        /// The settings file (config/hatchward.toml where it is there)
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
    },
}

/// Exit code for faults of the configuration (sysexits.h, `EX_CONFIG`).
const CONFIGURATION: u8 = 78;

fn main() -> ExitCode {
    match run(Args::parse()) {
        Ok(code) => code,
        Err(error) => {
            anstream::eprintln!("hatchward: {error:#}");
            ExitCode::from(1)
        }
    }
}

fn run(args: Args) -> Result<ExitCode> {
    match args.command {
        Some(Command::Completions { shell }) => {
            clap_complete::generate(shell, &mut Args::command(), "hatchward", &mut io::stdout());
            return Ok(ExitCode::SUCCESS);
        }
        Some(Command::Man) => {
            clap_mangen::Man::new(Args::command()).render(&mut io::stdout()).context("writing the manual page")?;
            return Ok(ExitCode::SUCCESS);
        }
        Some(Command::Catalogue { what: CatalogueCommand::Check { folder: Some(folder) } }) => {
            return Ok(report(&read_folder(&folder)?));
        }
        Some(Command::Config { what: ConfigCommand::Check { config } }) => {
            return Ok(match settings(config.as_deref()) {
                Ok(settings) => {
                    for key in keys() {
                        anstream::println!("{} = {:?}", key.name, (key.get)(&settings));
                    }
                    let token = if settings.token.is_some() { "given" } else { "not given" };
                    anstream::println!("token: {token}");
                    ExitCode::SUCCESS
                }
                Err(code) => code,
            });
        }
        _ => {}
    }
    let catalogue = match &args.species_folder {
        Some(folder) => Catalogue::with_folder(folder)?,
        None => Catalogue::builtin()?,
    };
    let reader = Reader::new(&catalogue)?;
    let species = |name: &Option<String>| -> Result<Option<SpeciesId>> {
        name.as_ref().map(|n| catalogue.by_name(n).with_context(|| format!("no species is called {n:?}"))).transpose()
    };
    match args.command {
        None => terminal::chat(&mut Talk::new(&catalogue, &reader, None))?,
        Some(Command::Chat { plain, separator, species: name, .. }) => {
            let mut talk = Talk::new(&catalogue, &reader, species(&name)?);
            if plain || separator.is_some() {
                terminal::lines(&mut talk, separator.as_deref())?;
            } else {
                terminal::chat(&mut talk)?;
            }
        }
        Some(Command::Ask { question, species: name }) => {
            let mut talk = Talk::new(&catalogue, &reader, species(&name)?);
            if let Some(text) = terminal::reply(&mut talk, &question.join(" ")) {
                anstream::println!("{text}");
            } else {
                anstream::eprintln!("I heard no question in that.");
                return Ok(ExitCode::from(1));
            }
        }
        Some(Command::Read { .. }) => each_line(|line| lines::reading::read(&reader, &catalogue, line))?,
        Some(Command::Engine { .. }) => {
            lines::engine::answer_all(io::stdin().lock(), io::stdout().lock()).context("answering requests")?;
        }
        Some(Command::Odds { .. }) => each_line(|line| lines::reading::odds(&reader, &catalogue, line))?,
        Some(Command::Catalogue { what: CatalogueCommand::Show { gene } }) => {
            let name = gene.join(" ");
            let found = show::find(&catalogue, &name);
            anyhow::ensure!(!found.is_empty(), "no gene is called {name:?} in any catalogue");
            for (species, gene) in found {
                anstream::println!("{}", show::card(catalogue.get(species), gene));
            }
        }
        Some(Command::Catalogue { .. }) => {
            anstream::println!("{} catalogues, no mistakes found", catalogue.species().len());
        }
        #[cfg(feature = "discord")]
        Some(Command::Serve { config }) => {
            let settings = match settings(config.as_deref()) {
                Ok(settings) => settings,
                Err(code) => return Ok(code),
            };
            hatchward::upkeep::log::start(&settings)?;
            // The dictionaries live as long as the program; handlers on every thread borrow them.
            let books = Books { catalogue: Box::leak(Box::new(catalogue)), reader: Box::leak(Box::new(reader)) };
            let runtime = tokio::runtime::Runtime::new().context("starting the threads")?;
            let ended = runtime.block_on(discord::serve(books, settings))?;
            // A line that spins inside the library would never let the threads go: they end with the process.
            runtime.shutdown_background();
            if !ended.why.is_empty() {
                anstream::eprintln!("hatchward: {}", ended.why);
            }
            return Ok(ExitCode::from(ended.code));
        }
        Some(Command::Completions { .. } | Command::Man | Command::Config { .. }) => {}
    }
    Ok(ExitCode::SUCCESS)
}

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

fn report(files: &[(String, String)]) -> ExitCode {
    let problems = check::check(files);
    if problems.is_empty() {
        anstream::println!("{} catalogues, no mistakes found", files.len());
        return ExitCode::SUCCESS;
    }
    anstream::eprintln!("{}", check::list(&problems));
    ExitCode::from(1)
}

fn each_line(answer: impl Fn(&str) -> String) -> Result<()> {
    let mut out = io::stdout().lock();
    for line in io::stdin().lock().split(b'\n') {
        let line = line.context("reading standard input")?;
        let text = answer(&String::from_utf8_lossy(&line));
        match writeln!(out, "{text}").and_then(|()| out.flush()) {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(()),
            other => other.context("writing the answer")?,
        }
    }
    Ok(())
}
