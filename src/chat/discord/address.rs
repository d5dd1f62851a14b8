//! Who is spoken to, and with which words: what of a message is meant for the bot.
//!
//! In: a message of the platform. Out: the words to read, or why there is nothing to read. Never: a reading, a reply.
//! Text in code, quotes and links is not addressed to anybody; mentions and custom emoji are no words.

use serenity::model::channel::{Message, MessageReferenceKind, MessageType};
use serenity::model::id::UserId;

/// How the bot was spoken to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Named in a channel.
    Mention,
    /// In a direct message.
    Direct,
    /// By a reply to one of its messages.
    Reply,
}

/// What a message means for the bot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// Nothing: talk among others, or a bot, or a notice of the platform.
    NotForUs,
    /// It was spoken to, and these are the words; they can be empty (a sticker, a picture, a forwarded message).
    Said(How, String),
}

/// What a new message means for `me`.
#[must_use]
pub fn heard(message: &Message, me: UserId) -> Heard {
    let regular = matches!(message.kind, MessageType::Regular | MessageType::InlineReply);
    if message.author.bot || message.author.id == me || message.webhook_id.is_some() || !regular {
        return Heard::NotForUs;
    }
    let forwarded = message.message_reference.as_ref().is_some_and(|r| r.kind == MessageReferenceKind::Forward);
    let content = if forwarded { "" } else { message.content.as_str() };
    let words = words(content, me);
    let to_us = !forwarded && message.referenced_message.as_ref().is_some_and(|m| m.author.id == me);
    if message.guild_id.is_none() {
        return Heard::Said(if to_us { How::Reply } else { How::Direct }, words.text);
    }
    if words.named {
        return Heard::Said(if to_us { How::Reply } else { How::Mention }, words.text);
    }
    // A reply without the ping carries no text; there is nothing to read in it.
    if to_us && !content.is_empty() { Heard::Said(How::Reply, words.text) } else { Heard::NotForUs }
}

/// The words of a message and whether they name the bot.
#[derive(Debug, PartialEq, Eq)]
pub struct Words {
    /// Without code, quotes, links, mentions and custom emoji; line breaks stay.
    pub text: String,
    /// The bot is mentioned in them.
    pub named: bool,
}

/// Takes the words out of a message's mark-up.
#[must_use]
pub fn words(content: &str, me: UserId) -> Words {
    let unquoted = without_quotes(&without_code(content));
    let mut named = false;
    let mut text = String::with_capacity(unquoted.len());
    let mut rest = unquoted.as_str();
    while let Some(at) = rest.find(['<', 'h']) {
        text.push_str(&rest[..at]);
        rest = &rest[at..];
        if let Some((tag, len)) = tag(rest) {
            named |=
                tag.trim_start_matches('@').trim_start_matches('!').parse() == Ok(me.get()) && tag.starts_with('@');
            text.push(' ');
            rest = &rest[len..];
        } else if rest.starts_with("http://") || rest.starts_with("https://") {
            let end = rest.find(char::is_whitespace).unwrap_or(rest.len());
            text.push(' ');
            rest = &rest[end..];
        } else {
            let step = rest.chars().next().map_or(1, char::len_utf8);
            text.push_str(&rest[..step]);
            rest = &rest[step..];
        }
    }
    text.push_str(rest);
    // The bars of a spoiler hide words from people; they are words all the same.
    Words { text: text.replace("||", " ").trim().to_owned(), named }
}

/// `<@1>`, `<@!1>`, `<@&1>`, `<#1>`, `<:name:1>`, `<a:name:1>`, `<t:1>`, `</name:1>`, `<https://…>`: the inside, and how
/// long it is.
fn tag(text: &str) -> Option<(&str, usize)> {
    let inside = text.strip_prefix('<')?;
    let end = inside.find(['>', '\n', ' '])?;
    if inside.as_bytes().get(end) != Some(&b'>') || end > 200 {
        return None;
    }
    let inside = &inside[..end];
    let known = ["@", "#", ":", "a:", "t:", "/", "http://", "https://", "id:"];
    known.iter().any(|k| inside.starts_with(k)).then_some((inside, end + 2))
}

/// Without what stands between backticks. An open fence goes to the end, as the platform draws it.
fn without_code(content: &str) -> String {
    let mut out = String::with_capacity(content.len());
    let mut rest = content;
    while let Some(at) = rest.find('`') {
        out.push_str(&rest[..at]);
        let ticks = rest[at..].bytes().take_while(|b| *b == b'`').count();
        let fence = &rest[at..at + ticks];
        let inside = &rest[at + ticks..];
        match inside.find(fence) {
            Some(end) => rest = &inside[end + ticks..],
            None if ticks >= 3 => return out,
            // A lone backtick is a slip of the keys.
            None => rest = inside,
        }
        out.push(' ');
    }
    out.push_str(rest);
    out
}

/// Without quoted lines ("> …"), and without everything behind ">>> ".
fn without_quotes(content: &str) -> String {
    let mut lines = Vec::new();
    for line in content.lines() {
        if line.starts_with(">>> ") {
            break;
        }
        if !line.starts_with("> ") {
            lines.push(line);
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(content: &str, text: &str, named: bool) {
        assert_eq!(words(content, UserId::new(7)), Words { text: text.to_owned(), named }, "{content:?}");
    }

    #[test]
    fn the_bots_name_is_no_word_and_addresses_it() {
        check("<@7> het clown x clown", "het clown x clown", true);
        check("het clown x clown <@!7>", "het clown x clown", true);
        check("<@8> het clown x clown", "het clown x clown", false);
        check("<@&7> het clown x clown", "het clown x clown", false);
    }

    #[test]
    fn code_quotes_and_links_speak_to_nobody() {
        check("`<@7> odds`", "", false);
        check("```\n<@7> het clown x clown\n```", "", false);
        check("``` <@7> open fence", "", false);
        check("> <@7> het clown\nyes", "yes", false);
        check(">>> <@7> het clown\nx clown", "", false);
        check("https://example.org/<@7> clown", "clown", false);
        check("<https://example.org/clown> <@7> hi", "hi", true);
        check("a lone ` tick <@7>", "a lone   tick", true);
    }

    #[test]
    fn custom_emoji_are_not_read_as_genes_and_spoilers_are() {
        check("<@7> <:clown:123456789012345678> x pied", "x pied", true);
        check("<@7> ||het clown|| x clown", "het clown  x clown", true);
        check("<3 hello <@7>", "<3 hello", true);
    }
}
