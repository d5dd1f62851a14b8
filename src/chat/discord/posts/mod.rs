//! Explanations that a server posts and pins: posted in one act, listed, edited in place when what they say changes,
//! replaced, unpinned. With several topics a post is a "start here" whose choices answer privately. What becomes of them
//! later is looked after in `watch`.
//!
//! Who may is checked at every press. Pinning needs a permission of its own that the library does not know, so it is tried,
//! and a refusal becomes a sentence that says what to grant.

pub mod watch; // posts that change, vanish or cannot be reached

use std::sync::Arc;

use serenity::http::{LightMethod, Route};
use serenity::model::id::{ChannelId, MessageId};
use tracing::{info, warn};

use super::asked::{Asked, refused, tell};
use super::components;
use super::deliver;
use super::desk::Desk;
use super::embeds::escape;
use super::kept::posts::{Post, Trouble};
use super::limits;
use super::press::{Press, Verb};

use super::rest::{Failure, Outgoing, To, code};
use super::sentences;
use super::words::own_of;
use crate::conversation::Talk;
use crate::explanations::own::Own;
use crate::explanations::show::mark;
use crate::reply::Reply;
use crate::species::names::joined;
pub use watch::{Refreshed, look_again, refresh, vanished};

/// Pinned posts of ours in one channel; the platform allows 250 of everybody's.
const MOST: usize = 5;
/// Topics of a "start here".
const TOPICS: usize = 25;
/// A topic is named if it fits this well.
const FITS: f64 = 0.6;

/// Says at once that an answer is coming, to who asked alone: posting and pinning can be slowed down by the platform.
async fn announce(desk: &Desk, asked: &Asked) {
    if let Err(failure) = desk.rest.defer(asked.interaction, &asked.token, false, true).await {
        warn!(%failure, "an interaction could not be told to wait");
    }
}

/// The answer that was announced.
async fn told(desk: &Desk, asked: &Asked, message: &Outgoing) {
    let Some(application) = desk.application.get().copied() else { return };
    let to = To::Original { application, token: asked.token.clone() };
    if let Err(failure) = desk.rest.send(&to, message).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// Posts and pins the topics that were named, or shows what stands in the server.
pub async fn command(desk: &Arc<Desk>, asked: &Asked, topics: Option<String>) {
    if refused(desk, asked).await {
        return;
    }
    if let Some(topics) = topics.filter(|t| !t.trim().is_empty()) {
        post(desk, asked, &topics).await;
    } else {
        announce(desk, asked).await;
        show(desk, asked, None).await;
    }
}

/// A press in the list of posts.
pub async fn press(desk: &Arc<Desk>, asked: &Asked, press: Press, chosen: &[String]) {
    if press.verb == Verb::Topic {
        answer(desk, asked, chosen).await;
        return;
    }
    if refused(desk, asked).await {
        return;
    }
    let id = chosen.first().and_then(|id| id.parse::<i64>().ok());
    match press.verb {
        Verb::Unpin => unpin(desk, asked, id).await,
        Verb::Replace => {
            let form = components::words_form(
                Press { verb: Verb::Replace, source: id.map_or(0, i64::cast_unsigned), n: 0 },
                "Another topic in its place",
                "Topic, or several with commas",
                "possible het",
                false,
            );
            if let Err(failure) = desk.rest.form(asked.interaction, &asked.token, &form).await {
                warn!(%failure, "a form could not be opened");
            }
        }
        _ => {
            announce(desk, asked).await;
            watch::look_at(desk, asked.server()).await;
            let told = refresh(desk, Some(asked.server())).await;
            show(desk, asked, Some(told)).await;
        }
    }
}

/// The form for another topic was sent.
pub async fn replace(desk: &Arc<Desk>, asked: &Asked, id: u64, typed: &str) {
    if refused(desk, asked).await {
        return;
    }
    let own = own_of(desk, asked.server()).await;
    let topics = match named(desk, &own, typed) {
        Ok(topics) => topics,
        Err(word) => return tell(desk, asked, &sentences::no_topic(&word)).await,
    };
    let Some(post) = of_server(desk, asked, Some(id.cast_signed())).await else { return };
    announce(desk, asked).await;
    let (message, mark) = drawn(desk, &own, &topics);
    let post = Post { topics, mark, trouble: Trouble::None, ..post };
    let reply = match desk.rest.send(&place(&post), &message).await {
        Ok(_) if desk.kept.change_post(&post).await.is_ok() => sentences::post_replaced(),
        Ok(_) => sentences::away(),
        Err(failure) => gone_or(desk, &post, &failure).await,
    };
    told(desk, asked, &deliver::bare(&reply, true)).await;
}

/// The ids of the topics that these words name, each between commas; else the word that names none.
fn named(desk: &Desk, own: &Own, words: &str) -> Result<Vec<String>, String> {
    let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(own);
    let Some(shows) = talk.desk() else { return Err(words.to_owned()) };
    let mut found = Vec::new();
    for word in words.split(',').map(str::trim).filter(|w| !w.is_empty()) {
        let exact = shows.spoken.topics().find(|t| joined(&shows.title(&t.id)) == joined(word) || t.id == word);
        let id = match exact {
            Some(topic) => topic.id.clone(),
            None => match shows.find(word).into_iter().next() {
                Some((id, fit)) if fit >= FITS => id,
                _ => return Err(word.to_owned()),
            },
        };
        if !found.contains(&id) {
            found.push(id);
        }
    }
    found.truncate(TOPICS);
    if found.is_empty() { Err(words.trim().to_owned()) } else { Ok(found) }
}

/// A post as it is now, and the mark of what it says.
fn drawn(desk: &Desk, own: &Own, topics: &[String]) -> (Outgoing, String) {
    let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(own);
    let shows = talk.desk();
    if let [only] = topics {
        let reply = shows.and_then(|s| s.by_id(only)).unwrap_or_default();
        return (deliver::bare(&reply, false), mark(&reply));
    }
    let titled = |id: &String| (shows.as_ref().map_or_else(|| id.clone(), |s| s.title(id)), id.clone());
    let choices: Vec<(String, String)> = topics.iter().map(titled).collect();
    let titles: Vec<String> = choices.iter().map(|c| c.0.clone()).collect();
    let reply = sentences::start_here(titles);
    let mut message = deliver::bare(&reply, false);
    message.components =
        vec![components::select(Press::under(Verb::Topic, 0), "Choose one: only you see the answer", &choices, None)];
    (message, mark(&reply))
}

fn place(post: &Post) -> To {
    To::Edit { channel: ChannelId::new(post.channel), message: MessageId::new(post.message) }
}

async fn post(desk: &Arc<Desk>, asked: &Asked, words: &str) {
    let own = own_of(desk, asked.server()).await;
    let topics = match named(desk, &own, words) {
        Ok(topics) => topics,
        Err(word) => return tell(desk, asked, &sentences::no_topic(&word)).await,
    };
    let Ok(posts) = desk.kept.posts(Some(asked.server())).await else {
        return tell(desk, asked, &sentences::away()).await;
    };
    if posts.iter().filter(|p| p.channel == asked.channel.get() && p.pinned && p.trouble != Trouble::Gone).count()
        >= MOST
    {
        return tell(desk, asked, &sentences::enough_pins(MOST)).await;
    }
    announce(desk, asked).await;
    let reply = post_there(desk, asked, &own, topics).await;
    told(desk, asked, &deliver::bare(&reply, true)).await;
}

/// Posts and pins in the channel of who asked; what became of it.
async fn post_there(desk: &Desk, asked: &Asked, own: &Own, topics: Vec<String>) -> Reply {
    let (message, mark) = drawn(desk, own, &topics);
    let to = To::Channel { channel: asked.channel, reply_to: None, nonce: asked.interaction.to_string() };
    let sent = match desk.rest.send(&to, &message).await {
        Ok(sent) => deliver::id_of(&sent),
        Err(failure) => {
            info!(%failure, "an explanation could not be posted");
            return sentences::may_not_post();
        }
    };
    let Some(id) = sent else { return sentences::our_fault() };
    let pinned = pin(desk, asked.channel, id, LightMethod::Put).await;
    let post = Post {
        id: 0,
        server: asked.server(),
        channel: asked.channel.get(),
        message: id.get(),
        topics,
        mark,
        pinned: pinned.is_ok(),
        trouble: Trouble::None,
    };
    let kept = desk.kept.add_post(&post).await;
    match (&pinned, kept) {
        (_, Err(_)) => sentences::away(),
        (Ok(()), _) => sentences::post_pinned(),
        (Err(failure), _) => not_pinned(failure),
    }
}

/// What a refused pin means.
fn not_pinned(failure: &Failure) -> Reply {
    match failure.code() {
        Some(code::TOO_MANY_PINS) => sentences::pins_full(),
        Some(code::FORBIDDEN | code::NO_ACCESS) => sentences::may_not_pin(),
        _ => {
            warn!(%failure, "an explanation could not be pinned");
            sentences::not_pinned_now()
        }
    }
}

async fn pin(desk: &Desk, channel: ChannelId, message: MessageId, method: LightMethod) -> Result<(), Failure> {
    // The older of two routes, which the library knows and the platform still serves.
    let route = Route::ChannelPin { channel_id: channel, message_id: message };
    desk.rest.plain(route, method, None).await.map(drop)
}

/// A post of this server by its number; says so where there is none.
async fn of_server(desk: &Desk, asked: &Asked, id: Option<i64>) -> Option<Post> {
    let Ok(posts) = desk.kept.posts(Some(asked.server())).await else {
        tell(desk, asked, &sentences::away()).await;
        return None;
    };
    let found = posts.into_iter().find(|p| Some(p.id) == id && p.trouble != Trouble::Gone);
    if found.is_none() {
        tell(desk, asked, &sentences::too_old()).await;
    }
    found
}

async fn unpin(desk: &Desk, asked: &Asked, id: Option<i64>) {
    let Some(post) = of_server(desk, asked, id).await else { return };
    announce(desk, asked).await;
    let unpinned = pin(desk, ChannelId::new(post.channel), MessageId::new(post.message), LightMethod::Delete).await;
    let reply = match unpinned {
        Ok(()) => {
            let _ = desk.kept.drop_posts(post.message).await;
            sentences::post_unpinned()
        }
        Err(failure) => gone_or(desk, &post, &failure).await,
    };
    told(desk, asked, &deliver::bare(&reply, true)).await;
}

/// A post that is gone is forgotten; anything else is said.
async fn gone_or(desk: &Desk, post: &Post, failure: &Failure) -> Reply {
    match failure.code() {
        Some(code::UNKNOWN_MESSAGE | code::UNKNOWN_CHANNEL) => {
            let _ = desk.kept.drop_posts(post.message).await;
            info!("a post of ours is gone");
            sentences::post_gone()
        }
        Some(code::FORBIDDEN | code::NO_ACCESS) => sentences::may_not_pin(),
        _ => sentences::not_pinned_now(),
    }
}

/// What stands in the server, as the answer that was announced.
async fn show(desk: &Desk, asked: &Asked, refreshed: Option<Refreshed>) {
    let Ok(posts) = desk.kept.posts(Some(asked.server())).await else {
        return told(desk, asked, &deliver::bare(&sentences::away(), true)).await;
    };
    let own = own_of(desk, asked.server()).await;
    let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(&own);
    let titled = |post: &Post| {
        let titles: Vec<String> = post.topics.iter().filter_map(|id| talk.desk().map(|d| d.title(id))).collect();
        titles.join(", ")
    };
    // What is gone is told once; what else was told stays in the list while it lasts.
    let _ = desk.kept.posts_told(asked.server()).await;
    told(desk, asked, &listed(&posts, titled, refreshed)).await;
}

/// The list of posts as a message. `titled` says what a post is about.
#[must_use]
pub fn listed(posts: &[Post], titled: impl Fn(&Post) -> String, refreshed: Option<Refreshed>) -> Outgoing {
    let lines: Vec<String> = posts
        .iter()
        .map(|p| {
            let title = escape(&limits::clip(&titled(p), limits::EMBED_TITLE));
            let link = format!("https://discord.com/channels/{}/{}/{}", p.server, p.channel, p.message);
            let state = sentences::post_state(p.trouble, p.pinned);
            // A channel's mention is only a link: it calls nobody.
            match p.trouble {
                Trouble::Gone => format!("{title} · {state}"),
                _ => format!("<#{}> · [{title}]({link}) · {state}", p.channel),
            }
        })
        .collect();
    let there = || posts.iter().filter(|p| p.trouble != Trouble::Gone);
    let options: Vec<(String, String)> = there().map(|p| (titled(p), p.id.to_string())).collect();
    let mut message = deliver::bare(&sentences::posts(refreshed), true);
    if !lines.is_empty() {
        message.embeds = vec![serde_json::json!({
            "title": "Explanations that stand in this server",
            "description": limits::lines(&lines, limits::EMBED_DESCRIPTION),
            "footer": {"text": sentences::posts(refreshed).text()},
        })];
    }
    if !options.is_empty() {
        message.components = vec![
            components::select(Press::under(Verb::Unpin, 0), "Unpin one", &options, None),
            components::select(Press::under(Verb::Replace, 0), "Put another topic in the place of one", &options, None),
            components::buttons(&[(Press::under(Verb::Refresh, 0), "Bring all up to date")]),
        ];
    }
    message
}

/// A topic was chosen in a "start here": only who chose sees the answer.
async fn answer(desk: &Desk, asked: &Asked, chosen: &[String]) {
    let own = own_of(desk, asked.server()).await;
    let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(&own);
    let reply = chosen.first().and_then(|id| talk.desk()?.by_id(id)).unwrap_or_else(sentences::too_old);
    tell(desk, asked, &reply).await;
}
