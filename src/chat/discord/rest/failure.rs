//! What became of a request that did not succeed, and the platform's codes that are told apart.

use thiserror::Error;

/// The platform's codes that are told apart here.
pub mod code {
    /// The message is gone.
    pub const UNKNOWN_MESSAGE: u64 = 10_008;
    /// The channel is gone.
    pub const UNKNOWN_CHANNEL: u64 = 10_003;
    /// The channel has as many pins as it can.
    pub const TOO_MANY_PINS: u64 = 30_003;
    /// The interaction's time is over.
    pub const UNKNOWN_INTERACTION: u64 = 10_062;
    /// The interaction has its first answer already.
    pub const ANSWERED: u64 = 40_060;
    /// No access to the channel.
    pub const NO_ACCESS: u64 = 50_001;
    /// The member takes no direct messages.
    pub const CLOSED: u64 = 50_007;
    /// A permission is missing.
    pub const FORBIDDEN: u64 = 50_013;
    /// The message that was replied to is gone (reported as an invalid form body).
    pub const INVALID_BODY: u64 = 50_035;
}

/// What became of a request that did not succeed.
#[derive(Debug, Error)]
pub enum Failure {
    /// The platform said no.
    #[error("the platform refused with {status}, code {code}")]
    Refused {
        /// HTTP status.
        status: u16,
        /// The platform's code, 0 where it gave none.
        code: u64,
    },
    /// It asks to wait longer than anybody waits for this.
    #[error("the platform asks to wait too long")]
    Busy,
    /// No answer, or only faults of its own, until patience ended.
    #[error("the platform does not answer ({0})")]
    Silent(String),
    /// What came back is not what was expected.
    #[error("the platform answered with something that cannot be read")]
    Unreadable,
    /// The body broke a limit and was not sent.
    #[error("the body breaks a limit of the platform: {0}")]
    Breach(String),
    /// A file that is not the platform's own; nothing was asked for.
    #[error("the file is not on the platform")]
    Elsewhere,
    /// A file that is larger than it may be.
    #[error("the file is too large")]
    TooLarge,
}

impl Failure {
    /// The platform's code of a refusal.
    #[must_use]
    pub fn code(&self) -> Option<u64> {
        match self {
            Self::Refused { code, .. } => Some(*code),
            _ => None,
        }
    }

    /// Whether the token was refused.
    #[must_use]
    pub fn is_unauthorised(&self) -> bool {
        matches!(self, Self::Refused { status: 401, .. })
    }
}
