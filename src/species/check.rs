//! Every rule for a catalogue file.
use super::entries::File;
use std::fmt;

/// One mistake in a catalogue file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file.
    pub file: String,
    /// Its line, from 1.
    pub line: Option<usize>,
    /// The entry or key.
    pub place: String,
    /// What is wrong and what is allowed.
    pub what: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}:{line}: {}: {}", self.file, self.place, self.what),
            None => write!(f, "{}: {}: {}", self.file, self.place, self.what),
        }
    }
}

/// One problem a line.
#[must_use]
pub fn list(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Parses one file.
///
/// # Errors
/// The problem, with its line.
pub fn parse(name: &str, text: &str) -> Result<File, Problem> {
    toml::from_str(text).map_err(|e: toml::de::Error| Problem {
        file: name.to_owned(),
        line: e.span().map(|s| text[..s.start.min(text.len())].lines().count().max(1)),
        place: "file".to_owned(),
        what: e.message().to_owned(),
    })
}

/// Rules checked at start.
#[must_use]
pub fn at_start(_name: &str, _text: &str, _file: &File) -> Vec<Problem> {
    Vec::new()
}
