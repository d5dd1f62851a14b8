//! Reminders on the stand-in: by direct message, in their channel where direct messages are closed.

use crate::platform::bot::Bot;
use crate::platform::{MAREN, Platform, WAIT, text};

/// Waits for a message with these words that answers nobody.
async fn comes(platform: &Platform, words: &str) -> serde_json::Value {
    platform
        .until(words, WAIT, |s| {
            s.messages.values().find(|m| m["message_reference"].is_null() && text(m).contains(words)).cloned()
        })
        .await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reminder_is_set_and_told_by_direct_message() {
    let platform = Platform::start().await;
    let _bot = Bot::ready(&platform, &[("HATCHWARD_LIMITS_MEMBER_QUESTIONS", "100")]).await;
    let asked = platform.whispers(MAREN, "remind me in 2 seconds to candle the eggs");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("By whose clock?"), "{}", text(&heard));
    let asked = platform.whispers(MAREN, "Berlin");
    let heard = platform.answer_to(asked).await;
    assert!(text(&heard).contains("Saved as reminder 1: candle the eggs"), "{}", text(&heard));
    assert!(text(&heard).contains("<t:"), "{}", text(&heard));
    comes(&platform, "Reminder 1: candle the eggs").await;
    platform.is_content();
}
