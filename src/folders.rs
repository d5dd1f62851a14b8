//! Where this machine keeps the data and the settings of its user.
//!
//! In: the environment, through `etcetera`. Out: paths; nothing is made here. Used by `main` alone and handed down.

use std::path::PathBuf;

use etcetera::{AppStrategy as _, AppStrategyArgs, HomeDirError, choose_app_strategy};

/// The folders of one user.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folders {
    /// What is kept: the history of the terminal, and databases.
    pub data: PathBuf,
    /// What is set.
    pub config: PathBuf,
}

impl Folders {
    /// The folders that are usual on this platform.
    ///
    /// # Errors
    /// When the user has no home folder.
    pub fn of_user() -> Result<Folders, HomeDirError> {
        let app =
            AppStrategyArgs { top_level_domain: String::new(), author: String::new(), app_name: "hatchward".into() };
        let strategy = choose_app_strategy(app)?;
        Ok(Folders { data: strategy.data_dir(), config: strategy.config_dir() })
    }

    /// The lines that were typed at the prompt.
    #[must_use]
    pub fn history(&self) -> PathBuf {
        self.data.join("history")
    }
}
