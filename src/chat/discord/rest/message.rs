//! A message that leaves, and where it goes. The body forbids every mention, whatever is in it.

use serde_json::{Value, json};
use serenity::model::id::{ApplicationId, ChannelId, InteractionId, MessageId};

use super::limits;

/// Where a message goes.
#[derive(Debug, Clone)]
pub enum To {
    /// A new message in a channel, as a reply to this message where one is named.
    Channel {
        /// The channel.
        channel: ChannelId,
        /// The message that is answered.
        reply_to: Option<MessageId>,
        /// The same for every attempt: the platform then makes one message of them.
        nonce: String,
    },
    /// Instead of an earlier message of ours.
    Edit {
        /// The channel.
        channel: ChannelId,
        /// The message.
        message: MessageId,
    },
    /// The first answer to an interaction.
    Answer {
        /// The interaction.
        interaction: InteractionId,
        /// Its token.
        token: String,
        /// Change the message of the component instead of posting a new one.
        update: bool,
    },
    /// Instead of the first answer to an interaction.
    Original {
        /// The application.
        application: ApplicationId,
        /// The token of the interaction.
        token: String,
    },
}

/// A file that goes with a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// Letters, digits and `. _ -`.
    pub name: String,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// The file itself.
    pub bytes: Vec<u8>,
}

/// A message that leaves: content, embeds and components as the platform writes them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outgoing {
    /// Plain text, escaped by whoever made it.
    pub content: String,
    /// Embeds.
    pub embeds: Vec<Value>,
    /// Rows of components.
    pub components: Vec<Value>,
    /// Only the asker sees it (answers to interactions).
    pub private: bool,
    /// A file.
    pub file: Option<Attached>,
    /// The one member whom it may mention: the owner of a reminder, and nobody else.
    pub mentions: Option<u64>,
}

impl Outgoing {
    /// The body, which forbids every mention but that of the owner of a reminder.
    #[must_use]
    pub fn body(&self) -> Value {
        let mut body = json!({
            "content": self.content,
            "embeds": self.embeds,
            "components": self.components,
            "allowed_mentions": {"parse": [], "replied_user": false},
        });
        if let Some(owner) = self.mentions {
            body["allowed_mentions"]["users"] = json!([owner.to_string()]);
        }
        if self.private {
            body["flags"] = limits::EPHEMERAL.into();
        }
        // In an edit the list says what is kept: without it an old file would stay under a new answer.
        body["attachments"] = match &self.file {
            Some(file) => json!([{"id": 0, "filename": file.name, "description": file.description}]),
            None => json!([]),
        };
        body
    }
}
