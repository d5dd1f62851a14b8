//! The chat in a terminal: a prompt with history, one question from the command line, or lines from another program.
//!
//! In: lines, and what answers one ([`Talk::turn`](crate::conversation::Talk::turn) and what is built on it). Out: replies as text or
//! as JSON, and for one question how it went. May touch: standard input and output, the history file.
//! Never: a gene, a sentence of its own. Start at [`chat`] (people) and [`lines()`] (programs).

use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use rustyline::config::Config;
use rustyline::error::ReadlineError;
use rustyline::history::FileHistory;
use rustyline::{DefaultEditor, Editor, ExternalPrinter as _};
use tracing::debug;

use super::inline::Inline;
use crate::conversation::{heard_nothing, still_working, terminal_keys, too_long};
use crate::lines;
use crate::reply::{Kind, Page, Reply};

/// The longest message that is read, in bytes: four times what a chat allows, so that a pasted list fits.
pub const MOST_BYTES: usize = 8 * 1024;
/// Lines that the history keeps.
const MOST_HISTORY: usize = 1_000;
/// After so long, and each time again, it is said that an answer is being worked out.
const SAY_MORE: Duration = Duration::from_secs(2);
/// Columns where there is no terminal to ask.
const USUAL_WIDTH: usize = 80;

/// Who answers: a function of a line, or a keeper who is also told that their answer was read.
pub trait Answers {
    /// The answer to one line; `None` is silence.
    fn answer(&mut self, said: &str) -> Option<Reply>;
    /// The last answer is written out.
    fn was_shown(&mut self) {}
}

impl<F: FnMut(&str) -> Option<Reply>> Answers for F {
    fn answer(&mut self, said: &str) -> Option<Reply> {
        self(said)
    }
}

/// What replies are turned into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Text for people, wrapped and coloured as standard output allows; silence is said.
    Page(Page),
    /// Text for programs, one thing a line, never wrapped; silence is empty.
    Plain,
    /// One JSON object a reply.
    Json,
}

impl Form {
    /// Text for people on this standard output. Colour follows what was set for the program and the environment
    /// (`NO_COLOR`, `CLICOLOR`, `CLICOLOR_FORCE`), and is off where there is no terminal.
    #[must_use]
    pub fn of_stdout() -> Form {
        let width = if io::stdout().is_terminal() { textwrap::termwidth() } else { USUAL_WIDTH };
        let colour = anstream::AutoStream::choice(&io::stdout()) != anstream::ColorChoice::Never;
        Form::Page(Page { width: Some(width), colour })
    }

    /// A reply in this form, without a line end; silence may be nothing.
    #[must_use]
    pub fn write(self, reply: Option<&Reply>) -> String {
        match (self, reply) {
            (Form::Json, reply) => lines::reply::object(reply),
            (Form::Plain, reply) => reply.map(Reply::text).unwrap_or_default(),
            (Form::Page(page), Some(reply)) => reply.draw(page),
            (Form::Page(page), None) => heard_nothing().draw(page),
        }
    }
}

/// Prints a text above the prompt, also while somebody types; false where that cannot be done any more.
pub type Print = Box<dyn FnMut(String) -> bool + Send>;

/// Talks with a person: a prompt where there is a terminal on both sides, else one line after the other.
/// `watch` is given what prints above the prompt, where the terminal can do that.
///
/// # Errors
/// When the terminal or the output fails; a closed pipe is no error, nor is a history that cannot be kept.
pub fn chat(
    from: &mut impl Answers,
    history: Option<&Path>,
    inline: Option<Inline>,
    watch: impl FnOnce(Print),
) -> Result<()> {
    if !io::stdin().is_terminal() || !io::stdout().is_terminal() {
        return lines(from, Form::of_stdout(), None);
    }
    let config = Config::builder().max_history_size(MOST_HISTORY).context("setting up the history")?;
    // A leading blank keeps a line out of the history.
    let config = config.history_ignore_space(true).auto_add_history(true).build();
    let mut editor: DefaultEditor = Editor::with_config(config).context("opening the terminal")?;
    if let Some(file) = history {
        open_history(&mut editor, file);
    }
    if !say("Hatchward. Ask for odds: 1.0 pastel het clown x 0.1 clown, 7 eggs?   (help, quit)\n")? {
        return Ok(());
    }
    match editor.create_external_printer() {
        Ok(mut printer) => watch(Box::new(move |text| printer.print(text).is_ok())),
        Err(error) => debug!(%error, "nothing can be printed above the prompt"),
    }
    loop {
        match editor.readline("> ") {
            Ok(line) => {
                let said = line.trim();
                if matches!(said, "quit" | "exit" | ":q") {
                    break;
                }
                if said.is_empty() {
                    continue;
                }
                let reply = patiently(|| turn(from, said));
                // The width is asked for again: windows change.
                let form = Form::of_stdout();
                if !form.say(&(form.write(reply.as_ref()) + "\n\n"))? {
                    break;
                }
                from.was_shown();
                if let Some(reply) = &reply {
                    show(reply, inline)?;
                }
                if let Some(file) = history {
                    keep_history(&mut editor, file);
                }
            }
            // The line is dropped, the talk goes on.
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => break,
            Err(error) => return Err(error).context("reading from the terminal"),
        }
    }
    Ok(())
}

fn open_history(editor: &mut Editor<(), FileHistory>, file: &Path) {
    if let Some(folder) = file.parent()
        && let Err(error) = std::fs::create_dir_all(folder)
    {
        debug!(error.kind = %error.kind(), "the folder of the history cannot be made");
    }
    // The first time there is none.
    let _ = editor.load_history(file);
}

/// Saved after each line, so that a closed window loses nothing. The file is readable by its owner only.
fn keep_history(editor: &mut Editor<(), FileHistory>, file: &Path) {
    if let Err(error) = editor.append_history(file) {
        debug!(%error, "the history cannot be kept");
    }
}

/// One message a line; after each reply, also a silent one, a line that holds only `separator`, where one is given.
/// Then the two signs `\n` inside a line stand for a line break.
///
/// # Errors
/// When the input or output fails; a closed pipe is no error.
pub fn lines(from: &mut impl Answers, form: Form, separator: Option<&str>) -> Result<()> {
    let mut input = io::stdin().lock();
    while let Some(line) = read_line(&mut input).context("reading a line of standard input")? {
        let said = String::from_utf8_lossy(&line);
        let said = if matches!(form, Form::Page(_)) { said } else { said.replace("\\n", "\n").into() };
        if matches!(form, Form::Page(_)) && said.trim().is_empty() {
            continue;
        }
        let mut text = form.write(turn(from, &said).as_ref());
        if !text.is_empty() {
            text.push('\n');
        }
        if let Some(separator) = separator {
            text.push_str(separator);
            text.push('\n');
        }
        if !form.say(&text)? {
            break;
        }
        from.was_shown();
    }
    Ok(())
}

/// Answers one question; false where it was not answered (not understood, or something has to be asked back).
///
/// # Errors
/// When the output fails; a closed pipe is no error.
pub fn ask(from: &mut impl Answers, question: &str, form: Form, inline: Option<Inline>) -> Result<bool> {
    let reply = patiently(|| turn(from, question));
    let text = form.write(reply.as_ref());
    if reply.is_none() && form != Form::Json {
        // Nothing was answered: standard output stays empty for whoever reads it.
        anstream::eprintln!("{text}");
        return Ok(false);
    }
    if form.say(&(text + "\n"))? {
        from.was_shown();
    }
    if let (Some(reply), Form::Page(_)) = (&reply, form) {
        show(reply, inline)?;
    }
    Ok(reply.is_some_and(|reply| reply.kind == Kind::Answer))
}

/// Shows what a reply draws below its text, where pictures are shown and there is a terminal to show them.
fn show(reply: &Reply, inline: Option<Inline>) -> Result<bool> {
    let terminal = io::stdout().is_terminal();
    match inline.filter(|_| terminal).and_then(|inline| inline.show(reply, textwrap::termwidth())) {
        Some(signs) => say(&signs),
        None => Ok(true),
    }
}

/// Does some work; while it takes long, somebody at a terminal is told that it goes on.
fn patiently<T>(work: impl FnOnce() -> T) -> T {
    if !io::stderr().is_terminal() {
        return work();
    }
    let (done, waits) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let (begun, mut told) = (Instant::now(), false);
            while waits.recv_timeout(SAY_MORE) == Err(RecvTimeoutError::Timeout) {
                // Over the line before: what is told is gone when the answer stands there.
                eprint!("\r{}", still_working(begun.elapsed()));
                told = true;
            }
            if told {
                eprint!("\r\u{1b}[K");
            }
        });
        let answer = work();
        drop(done);
        answer
    })
}

/// One turn, with what every front adds: the limit, the keys, a trace without a word of the message.
fn turn(from: &mut impl Answers, said: &str) -> Option<Reply> {
    let begun = Instant::now();
    let reply = if said.len() > MOST_BYTES {
        Some(too_long(MOST_BYTES))
    } else if matches!(said.trim(), "help" | "?") {
        from.answer("help").map(|mut reply| {
            reply.notes.push(terminal_keys());
            reply
        })
    } else {
        from.answer(said)
    };
    debug!(
        message.n_bytes = said.len(),
        reply.kind = reply.as_ref().map_or("silence", |r| r.kind.id()),
        reply.n_rows = reply.as_ref().map_or(0, |r| r.rows.len()),
        took_us = begun.elapsed().as_micros(),
        "answered a message"
    );
    reply
}

/// The next line without its end, of at most one byte more than [`MOST_BYTES`]: what is longer is refused anyway, and
/// is not kept in memory.
fn read_line(input: &mut impl BufRead) -> io::Result<Option<Vec<u8>>> {
    let mut line = Vec::new();
    let mut seen = false;
    loop {
        let chunk = input.fill_buf()?;
        if chunk.is_empty() {
            return Ok(seen.then_some(line));
        }
        seen = true;
        let (part, ended) = match chunk.iter().position(|b| *b == b'\n') {
            Some(at) => (&chunk[..at], true),
            None => (chunk, false),
        };
        let room = (MOST_BYTES + 1).saturating_sub(line.len());
        line.extend_from_slice(&part[..part.len().min(room)]);
        let used = part.len() + usize::from(ended);
        input.consume(used);
        if ended {
            if line.last() == Some(&b'\r') {
                line.pop();
            }
            return Ok(Some(line));
        }
    }
}

/// The next line of standard input; none at its end.
///
/// # Errors
/// When the input fails.
pub fn next_line() -> Result<Option<String>> {
    let line = read_line(&mut io::stdin().lock()).context("reading a line of standard input")?;
    Ok(line.map(|line| String::from_utf8_lossy(&line).into_owned()))
}

/// Writes to standard output; false when nobody reads it any more.
///
/// # Errors
/// When the output fails; a closed pipe is no error.
pub fn say(text: &str) -> Result<bool> {
    put(&mut io::stdout().lock(), text)
}

impl Form {
    /// Writes what is in this form. Programs get every sign as it is; old consoles need their colours translated.
    fn say(self, text: &str) -> Result<bool> {
        match self {
            Form::Page(_) => put(&mut anstream::stdout().lock(), text),
            Form::Plain | Form::Json => say(text),
        }
    }
}

fn put(out: &mut impl Write, text: &str) -> Result<bool> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        other => other.map(|()| true).context("writing to standard output"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_read_whole_or_known_to_be_too_long() {
        let long = "x".repeat(3 * MOST_BYTES);
        let text = format!("one\r\n\n{long}\nlast");
        let mut input = io::BufReader::with_capacity(7, text.as_bytes());
        let mut next = || read_line(&mut input).unwrap().map(|l| String::from_utf8(l).unwrap());
        assert_eq!(next().as_deref(), Some("one"));
        assert_eq!(next().as_deref(), Some(""));
        assert_eq!(next().map(|l| l.len()), Some(MOST_BYTES + 1));
        assert_eq!(next().as_deref(), Some("last"));
        assert_eq!(next(), None);
    }

    #[test]
    fn a_message_over_the_limit_is_told_the_limit() {
        let mut asked = 0;
        let mut answer = |_: &str| {
            asked += 1;
            None
        };
        let reply = turn(&mut answer, &"x".repeat(MOST_BYTES + 1)).unwrap();
        assert!(reply.text().contains("8,192 bytes"), "{}", reply.text());
        assert_eq!(turn(&mut answer, &"x".repeat(MOST_BYTES)), None);
        assert_eq!(asked, 1);
    }
}
