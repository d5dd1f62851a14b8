//! Pairings that members saved: listed in pages, worked out once more, removed. Only who saved them sees them.

use std::sync::Arc;
use std::time::Instant;

use serde_json::json;
use tracing::warn;

use super::asked::{Asked, tell};
use super::components;
use super::deliver::{self, Look};
use super::desk::Desk;
use super::embeds::escape;
use super::kept::pairings::{self, Saved, Saving};
use super::kept::turns::Answer;
use super::limits;
use super::press::{Press, Verb};
use super::presses::again_said;
use super::rest::{Outgoing, To};
use super::sentences;
use super::turns::{Thread, Turn};
use super::working::{Who, note};

/// Saved pairings on one page.
const ROWS: usize = 10;

/// Saves the pairing of an answer.
pub(super) async fn save(desk: &Desk, asked: &Asked, request: &str) {
    let reply = match desk.kept.save(asked.asker.get(), request).await {
        Ok(Saving::Done) => sentences::saved(request.lines().next().unwrap_or_default()),
        Ok(Saving::Already) => sentences::already_saved(),
        Ok(Saving::Full) => sentences::saved_full(pairings::MOST),
        Err(_) => sentences::away(),
    };
    tell(desk, asked, &reply).await;
}

/// The saved pairings of who asked, one page of them. `update` changes the list that is there.
pub async fn page(desk: &Desk, asked: &Asked, page: usize, update: bool) {
    let to = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update };
    let Ok(saved) = desk.kept.saved(asked.asker.get()).await else {
        tell(desk, asked, &sentences::away()).await;
        return;
    };
    if saved.is_empty() {
        let nothing = deliver::bare(&sentences::nothing_saved(), true);
        if let Err(failure) = desk.rest.send(&to, &nothing).await {
            warn!(%failure, "an interaction could not be answered");
        }
        return;
    }
    if let Err(failure) = desk.rest.send(&to, &list(&saved, page)).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// One page of saved pairings as a message; there is at least one.
#[must_use]
pub fn list(saved: &[Saved], page: usize) -> Outgoing {
    let of = saved.len().div_ceil(ROWS).max(1);
    let page = page.min(of - 1);
    let rows = &saved[page * ROWS..saved.len().min((page + 1) * ROWS)];
    let first = page * ROWS + 1;
    let told = |s: &Saved| s.request.replace('\n', ", ");
    let mut lines: Vec<String> = (first..)
        .zip(rows)
        .map(|(n, s)| format!("{n}. {}", escape(&limits::clip(&told(s), limits::EMBED_DESCRIPTION / ROWS / 3))))
        .collect();
    let options: Vec<(String, String)> =
        (first..).zip(rows).map(|(n, s)| (format!("{n}. {}", told(s)), s.id.to_string())).collect();
    let mut under = vec![
        components::select(Press::under(Verb::Open, 0), "Work one out", &options, None),
        components::select(Press::under(Verb::Remove, 0), "Remove one", &options, None),
    ];
    if of > 1 {
        lines.push(format!("-# page {} of {of}", page + 1));
        under.push(components::pages(Verb::Saved, 0, page, of));
    }
    let text = limits::clip(&lines.join("\n"), limits::EMBED_DESCRIPTION);
    Outgoing {
        embeds: vec![json!({"title": "Your pairings", "description": text})],
        components: under,
        private: true,
        ..Outgoing::default()
    }
}

/// Works a saved pairing out.
pub(super) async fn open(desk: &Arc<Desk>, asked: &Asked, id: Option<&String>) {
    let begun = Instant::now();
    let Ok(saved) = desk.kept.saved(asked.asker.get()).await else {
        tell(desk, asked, &sentences::away()).await;
        return;
    };
    let Some(pairing) = saved.iter().find(|s| Some(&s.id.to_string()) == id) else {
        tell(desk, asked, &sentences::too_old()).await;
        return;
    };
    let turn = {
        let source = asked.interaction.get();
        let who = Who { asker: asked.asker.get(), server: asked.server(), species: None, source, long: false };
        again_said(desk, who, &Thread::default(), &pairing.request).await
    };
    let turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::too_old)), ..turn };
    let source = asked.interaction.get();
    desk.kept.keep(source, &Answer { thread: turn.thread.clone(), ..asked.record(true) }, true).await;
    let sent = deliver::send(desk, &asked.answer(), &turn, source, Look { private: true, ..Look::default() }).await;
    note(desk, "press", begun, &sent);
}

/// Removes one.
pub(super) async fn remove(desk: &Desk, asked: &Asked, id: Option<&String>) {
    let Some(id) = id.and_then(|id| id.parse().ok()) else {
        tell(desk, asked, &sentences::too_old()).await;
        return;
    };
    if desk.kept.unsave(asked.asker.get(), id).await.is_err() {
        tell(desk, asked, &sentences::away()).await;
        return;
    }
    self::page(desk, asked, 0, true).await;
}
