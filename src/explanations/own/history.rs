//! The versions of one topic of a place: who wrote what, when, and how to go back.
//!
//! Invariant: versions are only added; going back adds one too. The last [`MOST_KEPT`] are kept.

use thiserror::Error;

use super::draft::Wording;

/// Versions that are kept of one topic.
pub const MOST_KEPT: usize = 50;

/// Who wrote a version, and when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct By {
    /// The author's id on the platform.
    pub author: u64,
    /// The moment, in seconds since 1970 in UTC, as the caller's clock says.
    pub at_unix_s: i64,
}

/// One version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Version {
    /// Its number, from 1.
    pub number: u32,
    /// The text; `None` where it was withdrawn.
    pub wording: Option<Wording>,
    /// Who, when.
    pub by: By,
}

/// A version that is not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("there is no version {number} of this topic here; the list of versions shows which are kept")]
pub struct NoSuchVersion {
    /// The number that was asked for; 0 where there is no version at all.
    pub number: u32,
}

/// All kept versions of one topic, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct History {
    versions: Vec<Version>,
}

impl History {
    /// Versions as they were kept, to be put in order of their numbers.
    #[must_use]
    pub fn of(mut versions: Vec<Version>) -> Self {
        versions.sort_by_key(|v| v.number);
        versions.dedup_by_key(|v| v.number);
        let mut history = Self { versions };
        history.forget();
        history
    }

    /// The versions, oldest first.
    #[must_use]
    pub fn versions(&self) -> &[Version] {
        &self.versions
    }

    /// The wording that holds now; `None` where the topic was withdrawn.
    #[must_use]
    pub fn current(&self) -> Option<&Wording> {
        self.versions.last()?.wording.as_ref()
    }

    pub(super) fn write(&mut self, wording: Option<Wording>, by: By) -> u32 {
        let number = self.versions.last().map_or(0, |v| v.number).saturating_add(1);
        self.versions.push(Version { number, wording, by });
        self.forget();
        number
    }

    pub(super) fn revert(&mut self, number: u32, by: By) -> Result<u32, NoSuchVersion> {
        let old = self.versions.iter().find(|v| v.number == number).ok_or(NoSuchVersion { number })?;
        let wording = old.wording.clone();
        Ok(self.write(wording, by))
    }

    fn forget(&mut self) {
        let too_many = self.versions.len().saturating_sub(MOST_KEPT);
        self.versions.drain(..too_many);
    }
}
