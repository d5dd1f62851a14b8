//! The command line: parse arguments, build the program, run one command; no logic.

mod copies; // export, import, backup, restore
#[cfg(feature = "discord")]
mod operator; // serve, doctor, config check

use std::io::{self, BufRead};
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context as _, Result};
use clap::{CommandFactory, Parser, Subcommand, ValueEnum};
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;

use hatchward::chat::inline::{Inline, Way};
use hatchward::chat::keeper::{Keeper, user_of_machine};
use hatchward::chat::terminal::{self, Answers as _, Form, say};
use hatchward::collection::demo;
use hatchward::collection::store::{Place, ServerUrl};
use hatchward::conversation::Talk;
use hatchward::explanations::builtin;
use hatchward::explanations::own::Own;
use hatchward::explanations::own::aliases::Against;
use hatchward::explanations::own::draft::Rules;
use hatchward::explanations::own::file::import;
use hatchward::folders::Folders;
use hatchward::lines;
use hatchward::reading::Reader;
use hatchward::reply::picture::Theme;
use hatchward::species::{Catalogue, SpeciesId, check, read_folder, show};

/// What every help page ends with.
const AFTER_HELP: &str = "\
Exit codes: 0 answered; 1 not answered (not understood, or something is asked back) or a fault; 2 wrong use;
75 try again later; 78 a fault in the configuration.
Environment: HATCHWARD_SPECIES, HATCHWARD_WORDS, HATCHWARD_IMAGES, HATCHWARD_LOG (a level, or target=level), NO_COLOR, CLICOLOR,
CLICOLOR_FORCE.
A question that begins with a dash is given after \"--\".";

/// Exact odds of a pairing, asked the way breeders write.
#[derive(Debug, Parser)]
#[command(name = "hatchward", version, about, after_help = AFTER_HELP)]
struct Args {
    /// A folder with catalogue files of your own (*.toml); a file named like a built-in one replaces it
    #[arg(long, global = true, env = "HATCHWARD_SPECIES", value_name = "DIR")]
    species_folder: Option<PathBuf>,
    /// A file with words of your own: short names for genes, and your wording of topics
    #[arg(long, global = true, env = "HATCHWARD_WORDS", value_name = "FILE")]
    words: Option<PathBuf>,
    /// When to use colour
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    color: Color,
    /// Whether pictures are shown in the terminal besides being written to a file; a pipe never gets one
    #[arg(long, global = true, env = "HATCHWARD_IMAGES", value_name = "WHEN", default_value = "auto")]
    images: Images,
    /// Draw pictures on a light ground
    #[arg(long, global = true)]
    light: bool,
    /// Say on standard error what is done and how long it takes; never what was written
    #[arg(long, short, global = true)]
    verbose: bool,
    #[command(flatten)]
    kept: Kept,
    #[command(subcommand)]
    command: Option<Command>,
}

/// Where the collection is kept.
#[derive(Debug, Clone, Default, clap::Args)]
struct Kept {
    /// Keep nothing: the collection and the history of the prompt are thrown away at the end
    #[arg(long, global = true)]
    memory: bool,
    /// Keep the collection in this folder, in a database of the program's own
    #[arg(long, global = true, value_name = "DIR", env = "HATCHWARD_DATA")]
    data: Option<PathBuf>,
    /// Talk about the animals of an invented community, in a database that is thrown away at the end
    #[arg(long, global = true, conflicts_with = "data")]
    demo: bool,
    /// The day to answer for, where it is not today
    #[arg(long, global = true, value_name = "DATE")]
    today: Option<jiff::civil::Date>,
}

impl Kept {
    /// What is said on the command line comes before what the environment says; an address may hold a password, so it
    /// is in the environment alone.
    fn place(&self) -> Place {
        if self.memory || self.demo {
            return Place::Memory;
        }
        if let Some(folder) = &self.data {
            return Place::Folder(folder.clone());
        }
        match (std::env::var("DATABASE_URL").ok().filter(|url| !url.is_empty()), Folders::of_user()) {
            (Some(url), _) => Place::Server(ServerUrl::new(url)),
            (None, Ok(folders)) => Place::Folder(folders.data),
            (None, Err(_)) => {
                anstream::eprintln!("hatchward: this user has no home folder, so nothing is kept; give --data DIR");
                Place::Memory
            }
        }
    }
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Color {
    /// On a terminal, unless the environment says otherwise
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// When to show pictures in the terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Images {
    /// Where the terminal is known to show them
    Auto,
    /// Always, in the signs of kitty
    Kitty,
    /// Always, in the signs of iTerm2
    Iterm,
    /// Never
    Never,
}

impl Images {
    fn inline(self, theme: Theme) -> Option<Inline> {
        let way = match self {
            Images::Auto => Way::found(|name| std::env::var(name).ok()),
            Images::Kitty => Some(Way::Kitty),
            Images::Iterm => Some(Way::Iterm),
            Images::Never => None,
        };
        way.map(|way| Inline { way, theme })
    }
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Talk in the terminal (the default)
    Chat {
        /// One message a line in, the reply out; no prompt, no colour, no wrapping
        #[arg(long)]
        plain: bool,
        /// With --plain: a line that follows every reply
        #[arg(long, value_name = "STRING", allow_hyphen_values = true)]
        separator: Option<String>,
        /// One message a line in, one JSON object a reply out
        #[arg(long, conflicts_with = "plain")]
        json: bool,
        /// The species where a message names none
        #[arg(long, value_name = "NAME")]
        species: Option<String>,
    },
    /// Answer one question and exit
    Ask {
        /// The question, in quotes or not
        #[arg(required = true)]
        question: Vec<String>,
        /// The reply as one JSON object
        #[arg(long)]
        json: bool,
        /// The species where the question names none
        #[arg(long, value_name = "NAME")]
        species: Option<String>,
        /// Draw the answer to this file as well; its name ends in .png or .svg
        #[arg(long, value_name = "FILE")]
        picture: Option<PathBuf>,
    },
    /// Explain a word, a gene, a combination or a question; without one, list the topics
    Explain {
        /// "66 het", "lesser and butter", "raptor"
        topic: Vec<String>,
        /// The reply as one JSON object
        #[arg(long)]
        json: bool,
        /// The species where the words fit several
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
        /// Take the shards over from another process that holds them; that one stops
        #[arg(long)]
        take_over: bool,
    },
    /// Look at everything that `serve` needs: settings, database, clock, token, permissions
    #[cfg(feature = "discord")]
    Doctor {
        /// The settings file (config/hatchward.toml where it is there)
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
    },
    /// Ask the bot that runs on this machine whether it is alive
    #[cfg(feature = "discord")]
    Health {
        /// The settings file (config/hatchward.toml where it is there)
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
    },
    /// Check the settings of `serve`: the file and the environment
    #[cfg(feature = "discord")]
    Config {
        #[command(subcommand)]
        what: ConfigCommand,
    },
    /// Write your collection to a file: .zip (tables of everything), .json (everything), .csv (one sheet of the animals)
    Export {
        /// The file, which must not be there yet
        file: PathBuf,
    },
    /// Take in a file of records: one that was exported here, or a CSV sheet of your own
    ///
    /// What was understood is shown, what is unclear is asked, and nothing is saved before you type the word that is shown.
    Import {
        /// The file
        file: PathBuf,
    },
    /// Write everything that the database holds to a file, for `restore`
    Backup {
        /// The file, which must not be there yet
        file: PathBuf,
    },
    /// Take a backup in, into an empty database
    Restore {
        /// The file
        file: PathBuf,
        /// Throw away what the database holds
        #[arg(long)]
        replace: bool,
    },
    /// Show where data and settings are
    Paths,
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
    /// Show a gene, combination, allele pair, complex, line word: what it is and how well that is known
    Show {
        /// Any of its names
        #[arg(required = true)]
        name: Vec<String>,
    },
}

#[cfg(feature = "discord")]
#[derive(Debug, Subcommand)]
enum ConfigCommand {
    /// Name every fault with file, line, value and remedy, or show what is in force
    Check {
        /// The settings file (config/hatchward.toml where it is there)
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
    },
}

fn main() -> ExitCode {
    let args = Args::parse();
    match args.color {
        Color::Auto => {}
        Color::Always => anstream::ColorChoice::Always.write_global(),
        Color::Never => anstream::ColorChoice::Never.write_global(),
    }
    #[cfg(feature = "discord")]
    let own_log = matches!(args.command, Some(Command::Serve { .. }));
    #[cfg(not(feature = "discord"))]
    let own_log = false;
    if !own_log {
        trace(args.verbose);
    }
    match run(args) {
        Ok(code) => code,
        Err(error) => {
            anstream::eprintln!("hatchward: {error:#}");
            ExitCode::from(1)
        }
    }
}

/// Diagnostics on standard error: none, those of `--verbose`, or those that `HATCHWARD_LOG` names.
fn trace(verbose: bool) {
    let named = std::env::var("HATCHWARD_LOG").ok().filter(|v| !v.is_empty());
    let filter = match named.as_deref().map(str::parse::<Targets>) {
        Some(Ok(targets)) => targets,
        Some(Err(error)) => {
            anstream::eprintln!("hatchward: HATCHWARD_LOG: {error}; give a level such as debug, or target=level");
            return;
        }
        None if verbose => Targets::new().with_target("hatchward", LevelFilter::DEBUG),
        None => return,
    };
    let lines = tracing_subscriber::fmt::layer().without_time().with_ansi(false).with_writer(io::stderr);
    tracing_subscriber::registry().with(filter).with(lines).init();
}

fn run(args: Args) -> Result<ExitCode> {
    if let Some(done) = without_books(&args) {
        return done;
    }
    let begun = std::time::Instant::now();
    let catalogue = match &args.species_folder {
        Some(folder) => Catalogue::with_folder(folder)?,
        None => Catalogue::builtin()?,
    };
    let reader = Reader::new(&catalogue)?;
    tracing::debug!(
        catalogue.n_species = catalogue.species().len(),
        took_us = begun.elapsed().as_micros(),
        "read the catalogues and the words"
    );
    let species = |name: &Option<String>| -> Result<Option<SpeciesId>> {
        name.as_ref().map(|n| catalogue.by_name(n).with_context(|| format!("no species is called {n:?}"))).transpose()
    };
    let theme = if args.light { Theme::Light } else { Theme::Dark };
    let inline = args.images.inline(theme);
    let own = args.words.as_deref().map(|file| words(file, &catalogue, &reader)).transpose()?;
    let keeper = |species| -> Result<Keeper<'_>> {
        let who = if args.kept.demo { demo::keeper() } else { user_of_machine() };
        let keeper = Keeper::new(&catalogue, &reader, species, args.kept.place(), who, args.kept.today)?;
        if args.kept.demo {
            let filled = async { demo::fill(keeper.shelf().store().await?, &catalogue).await };
            keeper.runtime().block_on(filled).context("opening the demo")?;
        }
        let keeper = keeper.with_theme(theme);
        Ok(if let Some(own) = &own { keeper.with_words(own) } else { keeper })
    };
    match args.command {
        None => {
            chat(keeper(None)?, !args.kept.memory && !args.kept.demo, inline)?;
        }
        Some(Command::Chat { plain, separator, json, species: name }) => {
            let mut keeper = keeper(species(&name)?)?;
            if json || plain || separator.is_some() {
                let form = if json { Form::Json } else { Form::Plain };
                terminal::lines(&mut keeper, form, separator.as_deref())?;
                keeper.close();
            } else {
                chat(keeper, !args.kept.memory && !args.kept.demo, inline)?;
            }
        }
        Some(Command::Ask { question, json, species: name, picture }) => {
            let mut keeper = keeper(species(&name)?)?;
            let form = if json { Form::Json } else { Form::of_stdout() };
            let question = question.join(" ");
            let answered = if picture.is_some() {
                terminal::ask(&mut |said: &str| keeper.turn_drawn(said), &question, form, inline)?
            } else {
                terminal::ask(&mut keeper, &question, form, inline)?
            };
            let drawn = picture.filter(|_| answered).map(|file| keeper.draw(&file, theme)).transpose();
            keeper.close();
            drawn?;
            if !answered {
                return Ok(ExitCode::from(1));
            }
        }
        Some(Command::Export { file }) => return copies::export(keeper(None)?, &file),
        Some(Command::Import { file }) => return copies::import(keeper(None)?, &file),
        Some(Command::Explain { topic, json, species: name }) => {
            let talk = Talk::new(&catalogue, &reader, species(&name)?);
            let mut talk = if let Some(own) = &own { talk.with_own(own) } else { talk };
            let form = if json { Form::Json } else { Form::of_stdout() };
            let mut answer = |said: &str| Some(if said.is_empty() { talk.topics() } else { talk.explain(said) });
            if !terminal::ask(&mut answer, &topic.join(" "), form, None)? {
                return Ok(ExitCode::from(1));
            }
        }
        Some(Command::Read { .. }) => each_line(|line| lines::reading::read(&reader, &catalogue, line))?,
        Some(Command::Odds { .. }) => each_line(|line| lines::reading::odds(&reader, &catalogue, line))?,
        Some(Command::Catalogue { what: CatalogueCommand::Show { name } }) => {
            let name = name.join(" ");
            let found = show::find(&catalogue, &name);
            anyhow::ensure!(!found.is_empty(), "nothing is called {name:?} in any catalogue");
            let cards = found.into_iter().map(|(species, entry)| show::card(catalogue.get(species), entry) + "\n");
            return said(&cards.collect::<String>());
        }
        Some(Command::Catalogue { .. }) => {
            return said(&format!("{} catalogues, no mistakes found\n", catalogue.species().len()));
        }
        #[cfg(feature = "discord")]
        Some(Command::Serve { config, take_over }) => {
            return operator::serve(config.as_deref(), take_over, catalogue, reader);
        }
        #[cfg(feature = "discord")]
        Some(Command::Config { .. } | Command::Doctor { .. } | Command::Health { .. }) => {}
        Some(
            Command::Completions { .. }
            | Command::Man
            | Command::Paths
            | Command::Engine { .. }
            | Command::Backup { .. }
            | Command::Restore { .. },
        ) => {}
    }
    Ok(ExitCode::SUCCESS)
}

/// Commands that need no catalogue and no reader; `None` for the others.
fn without_books(args: &Args) -> Option<Result<ExitCode>> {
    Some(match &args.command {
        Some(Command::Completions { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Args::command(), "hatchward", &mut script);
            said(&String::from_utf8_lossy(&script))
        }
        Some(Command::Man) => {
            let mut page = Vec::new();
            let written = clap_mangen::Man::new(Args::command()).render(&mut page).context("writing the manual page");
            written.and_then(|()| said(&String::from_utf8_lossy(&page)))
        }
        Some(Command::Catalogue { what: CatalogueCommand::Check { folder: Some(folder) } }) => {
            read_folder(folder).map_err(Into::into).and_then(|files| report(&files))
        }
        #[cfg(feature = "discord")]
        Some(Command::Config { what: ConfigCommand::Check { config } }) => Ok(operator::check(config.as_deref())),
        #[cfg(feature = "discord")]
        Some(Command::Health { config }) => Ok(operator::health(config.as_deref())),
        #[cfg(feature = "discord")]
        Some(Command::Doctor { config }) => operator::doctor(config.as_deref()),
        Some(Command::Backup { file }) => copies::back_up(&args.kept.place(), file),
        Some(Command::Restore { file, replace }) => copies::restore(&args.kept.place(), file, *replace),
        Some(Command::Paths) => paths(args.species_folder.as_deref()),
        Some(Command::Engine { .. }) => lines::engine::answer_all(io::stdin().lock(), io::stdout().lock())
            .context("answering requests")
            .map(|()| ExitCode::SUCCESS),
        _ => return None,
    })
}

/// The user's own words; what cannot be used of them is named and left out.
fn words(file: &std::path::Path, catalogue: &Catalogue, reader: &Reader) -> Result<Own> {
    let path = file.display().to_string();
    let text = std::fs::read_to_string(file).with_context(|| format!("reading the words in {path}"))?;
    let spoken = builtin()?.spoken("en");
    let read = import(&path, &text, Rules { links: true }, Against { catalogue, reader, spoken });
    if !read.refused.is_empty() {
        anstream::eprintln!("{}", check::list(&read.refused));
    }
    Ok(read.own)
}

fn chat(mut keeper: Keeper<'_>, remember: bool, inline: Option<Inline>) -> Result<()> {
    // Without a home folder there is no history, and the talk goes on.
    let history = Folders::of_user().ok().filter(|_| remember).map(|folders| folders.history());
    if let Some(due) = keeper.due(true)
        && terminal::say(&(due.text() + "\n"))?
    {
        keeper.was_shown();
    }
    let watch = keeper.watch();
    let talked = terminal::chat(&mut keeper, history.as_deref(), inline, |print| watch.keep(print));
    keeper.close();
    talked
}

fn said(text: &str) -> Result<ExitCode> {
    say(text)?;
    Ok(ExitCode::SUCCESS)
}

fn paths(species: Option<&std::path::Path>) -> Result<ExitCode> {
    let folders = Folders::of_user().context("looking for the user's folders")?;
    let species = species.map_or_else(|| "none (--species-folder)".to_owned(), |p| p.display().to_string());
    said(&format!(
        "data      {}\nsettings  {}\nhistory   {}\nspecies   {species}\n",
        folders.data.display(),
        folders.config.display(),
        folders.history().display(),
    ))
}

fn report(files: &[(String, String)]) -> Result<ExitCode> {
    let problems = check::check(files);
    if problems.is_empty() {
        return said(&format!("{} catalogues, no mistakes found\n", files.len()));
    }
    anstream::eprintln!("{}", check::list(&problems));
    Ok(ExitCode::from(1))
}

fn each_line(answer: impl Fn(&str) -> String) -> Result<()> {
    for line in io::stdin().lock().split(b'\n') {
        let line = line.context("reading standard input")?;
        if !say(&(answer(&String::from_utf8_lossy(&line)) + "\n"))? {
            break;
        }
    }
    Ok(())
}
