//! Posts of explanations after they were made: edited in place when what they say changes, and noticed when they vanish or
//! can no longer be reached. What is noticed is logged once and shown to those who look after the server once: nobody is
//! told unasked.

use serenity::http::{LightMethod, Route};
use serenity::model::id::{ChannelId, MessageId};
use tracing::{info, warn};

use super::super::desk::Desk;
use super::super::kept::posts::{Post, Trouble};
use super::super::places::permission;
use super::super::rest::{Failure, code};
use super::super::words::own_of;
use super::{drawn, place};

/// How many posts were changed, are gone, or could not be reached.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Refreshed {
    /// Edited, because what they say has changed.
    pub changed: usize,
    /// Gone, and forgotten.
    pub gone: usize,
    /// Not reached.
    pub failed: usize,
}

/// Edits every post whose words have changed; of one server, or of all servers of this process.
pub async fn refresh(desk: &Desk, server: Option<u64>) -> Refreshed {
    let mut told = Refreshed::default();
    let Ok(posts) = desk.kept.posts(server).await else { return told };
    for post in posts.into_iter().filter(|p| server.is_some() || desk.hears_server(p.server)) {
        if post.trouble == Trouble::Gone {
            continue;
        }
        let own = own_of(desk, post.server).await;
        let (message, mark) = drawn(desk, &own, &post.topics);
        if mark == post.mark {
            told.failed += usize::from(post.trouble == Trouble::Refused);
            continue;
        }
        match desk.rest.send(&place(&post), &message).await {
            Ok(_) => {
                told.changed += 1;
                let trouble = if post.trouble == Trouble::Refused { Trouble::None } else { post.trouble };
                let _ = desk.kept.change_post(&Post { mark, trouble, ..post }).await;
            }
            Err(failure) => {
                if let Some(found) = trouble(&failure) {
                    told.gone += usize::from(found == Trouble::Gone);
                    told.failed += usize::from(found == Trouble::Refused);
                    noted(desk, post, found).await;
                } else {
                    told.failed += 1;
                    warn!(%failure, "a post could not be brought up to date");
                }
            }
        }
    }
    if told.changed > 0 {
        info!(changed = told.changed, "brought posts up to date");
    }
    told
}

/// What a refusal says of a post.
fn trouble(failure: &Failure) -> Option<Trouble> {
    match failure.code()? {
        code::UNKNOWN_MESSAGE | code::UNKNOWN_CHANNEL => Some(Trouble::Gone),
        code::FORBIDDEN | code::NO_ACCESS => Some(Trouble::Refused),
        _ => None,
    }
}

/// Notes what became of a post; logged when it is news.
async fn noted(desk: &Desk, post: Post, trouble: Trouble) {
    if post.trouble == trouble {
        return;
    }
    let pinned = post.pinned && !matches!(trouble, Trouble::Gone | Trouble::Unpinned);
    let what = match trouble {
        Trouble::None => "a post of ours can be reached again",
        Trouble::Gone => "a post of ours is gone",
        Trouble::Refused => "a post of ours can no longer be reached: a permission is missing",
        Trouble::Unpinned => "a post of ours was unpinned",
    };
    if desk.kept.change_post(&Post { pinned, trouble, ..post }).await.is_ok() {
        info!("{what}");
    }
}

/// A message or channel of a server was deleted: posts of ours in it are gone.
pub async fn vanished(desk: &Desk, server: u64, message_or_channel: u64) {
    if !desk.kept.may_have_posts(server) {
        return;
    }
    if let Ok(gone @ 1..) = desk.kept.posts_gone(message_or_channel).await {
        info!(gone, "posts of ours were deleted");
    }
}

/// What the bot may do in a server has changed: posts that it can no longer see, or sees again. Without a request.
pub async fn look_again(desk: &Desk, server: u64) {
    if !desk.kept.may_have_posts(server) {
        return;
    }
    let Ok(posts) = desk.kept.posts(Some(server)).await else { return };
    for post in posts.into_iter().filter(|p| matches!(p.trouble, Trouble::None | Trouble::Refused)) {
        let Some(may) = desk.places.may(server, post.channel) else { continue };
        let found = if may & permission::VIEW == 0 { Trouble::Refused } else { Trouble::None };
        noted(desk, post, found).await;
    }
}

/// Looks at every post of a server itself: whether it is there, can be reached and is pinned.
pub(super) async fn look_at(desk: &Desk, server: u64) {
    let Ok(posts) = desk.kept.posts(Some(server)).await else { return };
    for post in posts.into_iter().filter(|p| p.trouble != Trouble::Gone) {
        look_at_one(desk, post).await;
    }
}

async fn look_at_one(desk: &Desk, post: Post) {
    let (channel_id, message_id) = (ChannelId::new(post.channel), MessageId::new(post.message));
    let found = match desk.rest.plain(Route::ChannelMessage { channel_id, message_id }, LightMethod::Get, None).await {
        Ok(message) if post.pinned && message["pinned"] == false => Some(Trouble::Unpinned),
        Ok(_) if post.trouble == Trouble::Refused => Some(Trouble::None),
        Ok(_) => None,
        Err(failure) => trouble(&failure),
    };
    if let Some(found) = found {
        noted(desk, post, found).await;
    }
}

/// After a login: posts in channels that are no longer there, or that the bot may no longer see.
pub async fn after_login(desk: &Desk) {
    // While the database is away, every server may have some.
    let _ = desk.kept.learn_who_has_posts().await;
    let Ok(posts) = desk.kept.posts(None).await else { return };
    let mut servers: Vec<u64> = posts.iter().map(|p| p.server).filter(|s| desk.hears_server(*s)).collect();
    servers.dedup();
    for post in posts {
        // A thread that is closed is in no list either: the platform knows.
        let lost = desk.places.knows(post.server) && desk.places.may(post.server, post.channel).is_none();
        if lost && post.trouble == Trouble::None && desk.hears_server(post.server) {
            look_at_one(desk, post).await;
        }
    }
    for server in servers {
        look_again(desk, server).await;
    }
}
