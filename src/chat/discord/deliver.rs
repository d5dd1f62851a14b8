//! An answer on its way: drawn, with what stands under it, as a card or as plain text, in pages or with a file.

use serde_json::Value;
use serenity::http::{LightMethod, Route};
use serenity::model::id::{ChannelId, MessageId};

use super::components;
use super::desk::Desk;
use super::embeds::Pages;
use super::kept::turns::Source;
use super::limits;
use super::rest::{Attached, Failure, Outgoing, To, code};
use super::turns::Turn;
use crate::reply::Reply;

/// How an answer is drawn.
#[derive(Debug, Clone, Copy, Default)]
pub struct Look {
    /// Its page.
    pub page: usize,
    /// Only the asker sees it.
    pub private: bool,
    /// Without a card.
    pub plain: bool,
}

/// The message that says this turn.
#[must_use]
pub fn dress(turn: &Turn, source: Source, look: Look) -> Outgoing {
    let Some(reply) = &turn.reply else { return Outgoing::default() };
    let pages = Pages::of(reply);
    let mut message = Outgoing {
        components: components::under(turn, source, look.page, pages.len(), look.private),
        private: look.private,
        ..Outgoing::default()
    };
    if look.plain {
        message.content = pages.content(look.page);
    } else {
        message.embeds = vec![pages.embed(look.page)];
    }
    if let Some(file) = &turn.file {
        message.file = Some(Attached {
            name: file.name.clone(),
            // What a picture shows is said in words to those who do not see it.
            description: file.alt.as_deref().map_or_else(
                || "What you asked for, as a file".to_owned(),
                |alt| cut_to_lines(alt, limits::FILE_DESCRIPTION),
            ),
            bytes: file.bytes.clone(),
        });
    }
    // What cannot be worked out again has no pages to turn: the whole goes along as a file.
    if pages.len() > 1 && turn.thread.last.is_empty() && turn.file.is_none() {
        message.file = Some(Attached {
            name: "answer.txt".to_owned(),
            description: "The whole answer as text".to_owned(),
            bytes: reply.text().into_bytes(),
        });
    }
    message
}

/// A message that says only this, with nothing under it.
#[must_use]
pub fn bare(reply: &Reply, private: bool) -> Outgoing {
    dress(&Turn { reply: Some(reply.clone()), ..Turn::default() }, 0, Look { private, ..Look::default() })
}

/// The same message without a card.
#[must_use]
pub fn undressed(turn: &Turn, source: Source, look: Look) -> Outgoing {
    dress(turn, source, Look { plain: true, ..look })
}

/// Sends a turn; where cards are refused, as plain text. Gives the id of the message, 0 where the platform does not say.
///
/// # Errors
/// [`Failure`].
pub async fn send(desk: &Desk, to: &To, turn: &Turn, source: Source, look: Look) -> Result<u64, Failure> {
    let sent = match desk.rest.send(to, &dress(turn, source, look)).await {
        Err(failure) if failure.code() == Some(code::FORBIDDEN) && !look.plain => {
            desk.rest.send(to, &undressed(turn, source, look)).await
        }
        sent => sent,
    }?;
    Ok(id_of(&sent).map_or(0, MessageId::get))
}

/// The id of a message that the platform gave back.
#[must_use]
pub fn id_of(message: &Value) -> Option<MessageId> {
    message["id"].as_str()?.parse::<u64>().ok().filter(|id| *id > 0).map(MessageId::new)
}

/// The channel for direct messages with a member.
///
/// # Errors
/// [`Failure`].
pub async fn direct(desk: &Desk, member: u64) -> Result<ChannelId, Failure> {
    let body = serde_json::json!({"recipient_id": member.to_string()});
    let opened = desk.rest.plain(Route::UserMeDmChannels, LightMethod::Post, Some(&body)).await?;
    let id = opened["id"].as_str().and_then(|id| id.parse::<u64>().ok()).filter(|id| *id > 0);
    id.map(ChannelId::new).ok_or(Failure::Unreadable)
}

/// Puts a sign under a message; that it is missing is no fault.
pub async fn sign(desk: &Desk, channel: ChannelId, message: MessageId, sign: &str) {
    let escaped: Vec<String> = sign.bytes().map(|b| format!("%{b:02X}")).collect();
    let escaped = escaped.concat();
    let route = Route::ChannelMessageReactionMe { channel_id: channel, message_id: message, reaction: &escaped };
    if let Err(failure) = desk.rest.plain(route, LightMethod::Put, None).await {
        tracing::debug!(%failure, "a sign could not be put under a message");
    }
}

/// The lines of a text that fit, whole, and that more stands in the answer.
fn cut_to_lines(text: &str, most: usize) -> String {
    const MORE: &str = "… the rest stands in the answer";
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut left = most.saturating_sub(MORE.chars().count());
    for line in text.lines() {
        let n = line.chars().count() + 1;
        if n > left {
            break;
        }
        left -= n;
        out.push_str(line);
        out.push('\n');
    }
    out + MORE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_beside_a_picture_are_cut_between_lines() {
        let lines: Vec<String> = (1..=60).map(|n| format!("Season {n}: {n}.25 %")).collect();
        let cut = cut_to_lines(&lines.join("\n"), limits::FILE_DESCRIPTION);
        assert!(cut.chars().count() <= limits::FILE_DESCRIPTION);
        let kept: Vec<&str> = cut.lines().collect();
        let (last, whole) = kept.split_last().unwrap();
        assert!(last.contains("the rest stands in the answer"), "{last}");
        assert_eq!(whole, &lines[..whole.len()]);
        assert_eq!(cut_to_lines("short", limits::FILE_DESCRIPTION), "short");
    }
}
