//! The chat in a terminal: a prompt with history, one question from the command line, or lines from another program.

use std::io::{self, BufRead, IsTerminal, Write};

use anyhow::{Context as _, Result};
use rustyline::DefaultEditor;
use rustyline::error::ReadlineError;

use crate::conversation::Talk;

/// The longest line that is taken.
const MAX_LINE: usize = 8 * 1024;

/// Talks with a person: a prompt where there is a terminal, else one line after the other.
///
/// # Errors
/// When the terminal or the output fails; a closed pipe is no error.
pub fn chat(talk: &mut Talk<'_>) -> Result<()> {
    if !io::stdin().is_terminal() {
        return lines(talk, None);
    }
    let mut editor = DefaultEditor::new().context("opening the terminal")?;
    anstream::println!("Hatchward. Ask for odds: 1.0 pastel het clown x 0.1 clown, 7 eggs?   (help, quit)");
    loop {
        match editor.readline("> ") {
            Ok(line) => {
                if matches!(line.trim(), "quit" | "exit" | ":q") {
                    return Ok(());
                }
                if line.trim().is_empty() {
                    continue;
                }
                // A leading blank keeps a line out of the history.
                if !line.starts_with(' ') {
                    let _ = editor.add_history_entry(line.as_str());
                }
                anstream::println!(
                    "{}\n",
                    reply(talk, &line).unwrap_or_else(|| "I heard no question in that.".to_owned())
                );
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => return Ok(()),
            Err(error) => return Err(error).context("reading from the terminal"),
        }
    }
}

/// One message a line; after each reply, also a silent one, a line that holds only `separator`.
///
/// # Errors
/// When the input or output fails; a closed pipe is no error.
pub fn lines(talk: &mut Talk<'_>, separator: Option<&str>) -> Result<()> {
    let mut out = io::stdout().lock();
    for line in io::stdin().lock().lines() {
        let line = line.context("reading a line of standard input")?;
        let said = if separator.is_some() { line.replace("\\n", "\n") } else { line };
        let mut text = reply(talk, &said).unwrap_or_default();
        if !text.is_empty() {
            text.push('\n');
        }
        if let Some(separator) = separator {
            text.push_str(separator);
            text.push('\n');
        }
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(()),
            other => other.context("writing the reply")?,
        }
    }
    Ok(())
}

/// The reply to one message as text; `None` is silence.
pub fn reply(talk: &mut Talk<'_>, said: &str) -> Option<String> {
    let end = said.char_indices().map(|(i, _)| i).take_while(|i| *i <= MAX_LINE).last().unwrap_or(0);
    let said = if said.len() > MAX_LINE { &said[..end] } else { said };
    talk.turn(said).map(|reply| reply.text())
}
