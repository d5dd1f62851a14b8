//! The real program on a stand-in of the platform: what members, moderators and operators see.

mod asking; // mentions, replies, direct messages, commands
mod bad_input; // noise, bots, closed doors
mod community; // pins, a server's own words, words of a message
mod drawing; // limits, escaping, the worst replies
mod faults; // 429, 500, lost answers, dropped lines
mod keeping; // a keeper's own animals
mod moderating; // settings, joining, leaving
mod operating; // start, stop, shards, health, log
mod pressing; // buttons, selects, forms, pages

use crate::platform::BOT;

/// Words that are meant for the bot.
fn mention(words: &str) -> String {
    format!("<@{BOT}> {words}")
}
