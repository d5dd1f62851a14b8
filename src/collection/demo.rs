//! An invented community to try everything on: five keepers, some sixty animals, four generations.
//!
//! The files in `config/demo` are exports of this program, taken in as any such file is.

use jiff::civil::Date;
use thiserror::Error;

use super::files::{self, FileError, Incoming, Words, merge};
use super::herd::Herd;
use super::rules::Fault;
use super::store::{Store, StoreError, Who};
use crate::species::Catalogue;

/// Keepers with their collections; the first is the one who talks.
const KEEPERS: [(&str, &str); 5] = [
    ("ines", include_str!("../../config/demo/ines.json")),
    ("tomke", include_str!("../../config/demo/tomke.json")),
    ("ravi", include_str!("../../config/demo/ravi.json")),
    ("odile", include_str!("../../config/demo/odile.json")),
    ("benno", include_str!("../../config/demo/benno.json")),
];

/// The day on which the community's records end.
const TODAY: Date = jiff::civil::date(2026, 11, 1);

/// Why the demo cannot be shown.
#[derive(Debug, Error)]
pub enum DemoError {
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A file of ours is broken.
    #[error("the demo's file of {keeper} is broken: {reason}")]
    Broken {
        /// Whose it is.
        keeper: &'static str,
        /// Why.
        reason: String,
    },
}

/// The keeper who talks in the demo.
#[must_use]
pub fn keeper() -> Who {
    who(KEEPERS[0].0)
}

fn who(name: &str) -> Who {
    Who { platform: "terminal", user: format!("demo-{name}") }
}

/// The collections, by keeper, as they are taken in.
///
/// # Errors
/// [`DemoError::Broken`]: a file cannot be taken in whole.
pub fn collections(catalogue: &Catalogue) -> Result<Vec<(Who, merge::Merged)>, DemoError> {
    let words = Words { write: &|_| String::new(), read: &|_, _| Err(String::new()) };
    KEEPERS
        .into_iter()
        .map(|(name, text)| {
            let broken = |reason: String| DemoError::Broken { keeper: name, reason };
            let read = files::read(text.as_bytes(), &words).map_err(|e: FileError| broken(e.to_string()))?;
            let Incoming::Own(herd, bad) = read else { return Err(broken("it is no export".to_owned())) };
            let merged = merge::merge(&Herd::empty(), &herd, catalogue, TODAY)
                .map_err(|fault: Fault| broken(fault.to_string()))?;
            match bad.first().or_else(|| merged.bad.first()) {
                Some(bad) => Err(broken(format!("{}: {}", bad.place, bad.reason))),
                None => Ok((who(name), merged)),
            }
        })
        .collect()
}

/// Takes the community into a database.
///
/// # Errors
/// [`DemoError`].
pub async fn fill(store: &Store, catalogue: &Catalogue) -> Result<(), DemoError> {
    for (who, merged) in collections(catalogue)? {
        let keeper = store.keeper_or_new(&who).await?;
        store.save(keeper, &merged.change, None).await?;
        // The demo begins with these animals: "undo" takes back what was said in it, and nothing of what it starts from.
        store.begin_here(keeper).await?;
    }
    Ok(())
}
