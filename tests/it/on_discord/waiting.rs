//! Long work: announced in time, shown while it goes on, cancelled by who asked and by nobody else, given up at last.
//!
//! The work is one that ends when the test says so; the times are short, what happens in them is the program's own.

use std::sync::Arc;
use std::time::Duration;

use hatchward::chat::discord::asked::Asked;
use hatchward::chat::discord::desk::Desk;
use hatchward::chat::discord::kept::Kept;
use hatchward::chat::discord::patience::{Place, Times, wait};
use hatchward::chat::discord::presses;
use hatchward::chat::discord::rest::{Rest, To};
use hatchward::chat::discord::turns::{Books, Turn};
use hatchward::collection::store::{Place as Database, ServerUrl, Store};
use hatchward::reply::Reply;
use hatchward::settings::{Secret, Settings};
use serde_json::{Value, json};
use serenity::model::application::ComponentInteraction;
use serenity::model::id::{ApplicationId, ChannelId, GuildId, InteractionId, MessageId, UserId};
use tokio::sync::oneshot;

use crate::member::Chat;
use crate::platform::{BOT, CHANNEL, MAREN, Platform, SERVER, TJARK, TOKEN, WAIT, component, text};

const NEVER: Duration = Duration::from_hours(1);

/// The desk of a program that has logged in, with these times.
async fn desk(platform: &Platform, times: Times) -> Arc<Desk> {
    let chat = Chat::new();
    let books = Books { catalogue: &chat.catalogue, reader: &chat.reader };
    let rest = Rest::new(&Secret::new(TOKEN), Some(platform.api.clone())).expect("encrypted lines");
    let place = platform.database.clone().map_or(Database::Memory, |url| Database::Server(ServerUrl::new(url)));
    let kept = Kept::new(Store::open(&place).await.expect("a database"), "here:1:test".to_owned());
    kept.hold(0, 0, 1, true).await.expect("the shard");
    let mut desk = Desk::new(books, rest, kept, Settings::default());
    desk.times = times;
    desk.application.set(ApplicationId::new(BOT)).expect("once");
    desk.me.set(UserId::new(BOT)).expect("once");
    Arc::new(desk)
}

fn asked(platform: &Platform) -> Asked {
    let id = platform.id();
    Asked {
        interaction: InteractionId::new(id),
        token: format!("interaction-token-{id}"),
        channel: ChannelId::new(CHANNEL),
        guild: Some(GuildId::new(SERVER)),
        asker: UserId::new(MAREN),
        shard: 0,
        permissions: 0,
    }
}

/// Work that ends with `end`.
async fn work(end: oneshot::Receiver<()>) -> Turn {
    let _ = end.await;
    Turn { reply: Some(Reply::sentence("worked out")), ..Turn::default() }
}

/// Somebody presses "Cancel" under what is shown.
async fn cancels(desk: &Arc<Desk>, platform: &Platform, who: u64, shown: &Value) {
    let data = json!({"custom_id": component(shown, "Cancel"), "component_type": 2});
    let (event, token) = platform.press(who, shown, &data);
    let pressed: ComponentInteraction = serde_json::from_value(event).expect("a press");
    presses::component(desk, &pressed, 0).await;
    assert_eq!(platform.with(|s| s.interactions[&token]["type"].clone()), 6, "the press is acknowledged");
}

#[tokio::test(flavor = "multi_thread")]
async fn it_is_announced_shown_and_cancelled_by_who_asked_alone() {
    let platform = Platform::start().await;
    let times = Times { say_wait: Duration::from_millis(30), say_more: Duration::from_millis(50), give_up: NEVER };
    let desk = desk(&platform, times).await;
    let asked = asked(&platform);
    let (_end, ended) = oneshot::channel();
    let (there, who, source) = (Arc::clone(&desk), asked.clone(), asked.interaction.get());
    let waiting =
        tokio::spawn(async move { wait(&there, source, MAREN, Place::Interaction(&who, true), work(ended)).await });
    let announced = platform.until("an announcement", WAIT, |s| s.interactions.get(&asked.token).cloned()).await;
    assert_eq!((&announced["type"], &announced["private"]), (&json!(5), &json!(true)));
    let shown = platform.answer_to_interaction(&asked.token).await["message"].clone();
    assert!(text(&shown).contains("Still working"), "{shown}");
    platform
        .until("more than one sign of life", WAIT, |s| {
            (s.interactions[&asked.token]["edits"].as_u64() >= Some(3)).then_some(())
        })
        .await;
    cancels(&desk, &platform, TJARK, &shown).await;
    assert!(!waiting.is_finished(), "nobody else cancels it");
    cancels(&desk, &platform, MAREN, &shown).await;
    let (turn, to) = waiting.await.expect("no panic").expect("an answer");
    assert!(turn.reply.expect("a reply").text().starts_with("Cancelled"));
    assert!(matches!(to, To::Original { .. }), "in the place of the announcement: {to:?}");
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn in_a_channel_one_message_is_shown_and_becomes_the_answer() {
    let platform = Platform::start().await;
    let times = Times { say_wait: Duration::from_millis(30), say_more: Duration::from_millis(50), give_up: NEVER };
    let desk = desk(&platform, times).await;
    let question = platform.missed(MAREN, "plan something long");
    let (end, ended) = oneshot::channel();
    let there = Arc::clone(&desk);
    let place = Place::Message(ChannelId::new(CHANNEL), MessageId::new(question));
    let waiting = tokio::spawn(async move { wait(&there, question, MAREN, place, work(ended)).await });
    platform.arrived("POST", "/typing").await;
    let shown = platform.answer_to(question).await;
    assert!(text(&shown).contains("Still working"), "{shown}");
    platform.arrived("PATCH", "/messages/").await;
    end.send(()).expect("it waits");
    let (turn, to) = waiting.await.expect("no panic").expect("an answer");
    assert_eq!(turn.reply.expect("a reply").text().trim(), "worked out");
    let To::Edit { message, .. } = to else { panic!("the answer changes what was shown: {to:?}") };
    assert_eq!(shown["id"], message.to_string());
    assert_eq!(platform.answers_to(question), 1);
    platform.is_content();
}

#[tokio::test(flavor = "multi_thread")]
async fn what_takes_longer_than_the_platform_waits_is_given_up() {
    let platform = Platform::start().await;
    let times = Times { say_wait: Duration::from_millis(10), say_more: NEVER, give_up: Duration::from_millis(60) };
    let desk = desk(&platform, times).await;
    let asked = asked(&platform);
    let (_end, ended) = oneshot::channel();
    let waited = wait(&desk, asked.interaction.get(), MAREN, Place::Interaction(&asked, false), work(ended)).await;
    assert!(waited.expect("an answer").0.reply.expect("a reply").text().contains("code 504"));
    // The platform takes an answer for 15 minutes (its documentation, interactions): a minute before that it is given up.
    assert_eq!(Times::default().give_up, Duration::from_mins(14));
    assert!(Times::default().say_wait <= Duration::from_secs(1), "a member is told within a second");
}

#[tokio::test(flavor = "multi_thread")]
async fn one_member_has_one_long_work_and_one_server_two() {
    let platform = Platform::start().await;
    let desk = desk(&platform, Times::default()).await;
    let first = desk.begin_long(MAREN, SERVER).expect("room");
    assert!(desk.begin_long(MAREN, SERVER).is_none() && desk.begin_long(MAREN, 0).is_none(), "one a member");
    let _second = desk.begin_long(TJARK, SERVER).expect("room for another member");
    assert!(desk.begin_long(TJARK + 1, SERVER).is_none(), "two a server");
    assert!(desk.begin_long(TJARK + 1, SERVER + 1).is_some(), "another server is not held up");
    drop(first);
    assert!(desk.begin_long(MAREN, SERVER).is_some(), "room again once it is over");
}
