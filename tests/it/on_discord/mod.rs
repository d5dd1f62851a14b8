//! The real program on a stand-in of the platform: what members, moderators and operators see.
//!
//! What the libraries in use (serenity 0.12.5, poise 0.7.1) do of their own, and the test that holds our answer to it:
//!
//! | they | held by |
//! |---|---|
//! | ignore another base address with their limiter on | every test here: all requests go to the stand-in |
//! | forget the wait of a 429, never repeat a 5xx or a broken line | `faults::a_wait_that_the_platform_asks_for_is_kept`, `faults::a_broken_platform_is_asked_again_and_answers_are_not_doubled`, `faults::a_first_answer_that_got_lost_is_not_given_twice` |
//! | let all go at once after a wait everywhere | `faults::a_wait_everywhere_holds_all_back_and_does_not_end_in_a_burst` |
//! | wait for ever for an answer | `faults::a_request_that_hangs_is_given_up_and_made_again` |
//! | send 26 fields or a title of 257 | `drawing::the_worst_replies_fit_the_platform`, `drawing::the_checks_are_not_blind` |
//! | log in anew after a missed heartbeat or a forgotten session, and lose what was said | `faults::a_missed_heartbeat_leads_to_a_new_login_that_reads_back`, `faults::mentions_missed_without_a_resume_are_read_back` |
//! | spin on lines that are closed for good, also at SIGTERM | `faults::lines_that_are_closed_for_good_end_the_program_with_a_reason` |
//! | take the end of a shard range in; log in all at once | `operating::two_processes_with_shards_of_their_own_share_one_database` |
//! | drop the bit of Pin Messages and ask the cache for another | `community::refusals_and_limits_of_pins_are_said_with_what_to_do` |
//! | skip new kinds of components | none is sent: `drawing::the_checks_are_not_blind` |
//! | dispatch commands and completions alone | `pressing`: each press and form is answered once |
//! | read a mention that names no command as an unknown one | `asking::a_mention_is_answered_with_the_odds_and_a_reply_goes_on` |
//! | forget forms at a restart | `community::a_text_is_drafted_refused_given_back_published_and_reverted`, `pressing::buttons_work_after_a_restart_and_from_another_process` |
//! | hold events back until the set-up is over | the library's own set-up is not used; `faults::what_was_asked_during_a_restart_is_answered_once` |

mod asking; // mentions, replies, direct messages, commands
mod bad_input; // noise, bots, closed doors
mod community; // pins, a server's own words, words of a message
mod deliveries; // many reminders, processes that are killed
mod drawing; // limits, escaping, the worst replies
mod faults; // 429, 500, lost answers, dropped lines
mod files; // a collection in by a file, and out as one
mod keeping; // a keeper's own animals
mod moderating; // settings, joining, leaving
mod operating; // start, stop, shards, health, log
mod posts; // posts that change, vanish or cannot be reached
mod pressing; // buttons, selects, forms, pages
mod reminding; // reminders, set and told
mod strangers; // nothing of one keeper reaches another
mod waiting; // long work: announced, shown, cancelled, given up
mod wording; // a server's own words

use serde_json::Value;

use crate::platform::{BOT, Platform, component};

/// The answer to a press as a message.
async fn pressed(platform: &Platform, who: u64, message: &Value, name: &str) -> Value {
    let token = platform.presses(who, message, &component(message, name));
    platform.answer_to_interaction(&token).await
}

/// Words that are meant for the bot.
fn mention(words: &str) -> String {
    format!("<@{BOT}> {words}")
}
