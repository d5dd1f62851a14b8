//! A community's own words: moderators write or change a topic for their server, add short names for genes, go back to an
//! earlier version, and take all of it away as a file.
//!
//! A text is a draft until it is published: what was typed is kept first and checked then, so that a refusal gives it back.
//! Nothing here changes the odds.

use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use serde_json::json;
use tracing::warn;

use super::components;
use super::deliver;
use super::desk::Desk;
use super::kept::words::Draft;
use super::limits;
use super::places::permission;
use super::posts;
use super::press::{Press, Verb};
use super::questions::{Asked, species, tell};
use super::rest::{Attached, Outgoing};
use super::sentences;
use crate::conversation::Talk;
use crate::explanations::own::aliases::Against;
use crate::explanations::own::draft::{self, Rules};
use crate::explanations::own::file::{export, import};
use crate::explanations::own::history::By;
use crate::explanations::own::{Full, Own};
use crate::explanations::{Spoken, builtin};
use crate::species::names::joined;

/// What this server may put into its texts: no links, which lead away from it.
const RULES: Rules = Rules { links: false };

/// The words of a server.
pub(super) async fn own_of(desk: &Desk, server: u64) -> Arc<Own> {
    desk.kept.words(server, |file| read(desk, file)).await
}

fn read(desk: &Desk, file: &str) -> Own {
    let Some(spoken) = spoken() else { return Own::default() };
    let against = Against { catalogue: desk.books.catalogue, reader: desk.books.reader, spoken };
    import("words", file, RULES, against).own
}

fn spoken() -> Option<&'static Spoken> {
    builtin().ok().map(|all| all.spoken("en"))
}

async fn refused(desk: &Desk, asked: &Asked) -> bool {
    let needed = permission::MANAGE_MESSAGES | permission::MANAGE_SERVER | permission::ADMINISTRATOR;
    let why = if asked.guild.is_none() {
        sentences::only_in_servers()
    } else if asked.permissions & needed != 0 {
        return false;
    } else {
        sentences::not_a_moderator()
    };
    tell(desk, asked, &why).await;
    true
}

/// The id of a topic by its title, or a new one made of the words.
fn topic_id(own: &Own, spoken: &Spoken, words: &str) -> String {
    let key = joined(words);
    let known = spoken.topics().find(|t| joined(&t.title) == key || t.id == words.trim()).map(|t| t.id.clone());
    let found = || spoken.find(words).into_iter().next().filter(|f| f.1 >= 0.8).map(|f| f.0.id.clone());
    let mine = || own.topics().find(|(id, _)| joined(id) == key).map(|(id, _)| id.to_owned());
    known.or_else(mine).or_else(found).unwrap_or_else(|| {
        let words: Vec<String> = words.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase).collect();
        let id = words.iter().filter(|w| !w.is_empty()).cloned().collect::<Vec<_>>().join("_");
        id.chars().take(draft::MOST_TITLE).collect()
    })
}

/// Opens the editor for a topic, with the text that holds now.
pub async fn write(desk: &Desk, asked: &Asked, words: &str) {
    if refused(desk, asked).await {
        return;
    }
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let own = own_of(desk, asked.server()).await;
    let topic = topic_id(&own, spoken, words);
    let built_in = || spoken.topic(&topic).map(|t| t.paragraphs.join("\n\n"));
    let body = own.wording(&topic).map(|w| w.draft().text).or_else(built_in).unwrap_or_default();
    let draft = Draft { id: asked.interaction.get(), server: asked.server(), member: asked.asker.get(), topic, body };
    if desk.kept.keep_draft(&draft).await.is_err() {
        return tell(desk, asked, &sentences::away()).await;
    }
    edit(desk, asked, &draft).await;
}

async fn edit(desk: &Desk, asked: &Asked, draft: &Draft) {
    let mut form = components::words_form(
        Press::under(Verb::Write, draft.id),
        &format!("Text: {}", draft.topic.replace('_', " ")),
        "The text, up to 4,000 characters",
        "Figures in braces are worked out when it is shown",
        true,
    );
    let input = &mut form["components"][0]["components"][0];
    input["max_length"] = limits::INPUT_VALUE.into();
    if !draft.body.is_empty() {
        input["value"] = limits::clip(&draft.body, limits::INPUT_VALUE).into();
    }
    if let Err(failure) = desk.rest.form(asked.interaction, &asked.token, &form).await {
        warn!(%failure, "a form could not be opened");
    }
}

/// The editor was sent: kept, checked, shown as it would be.
pub async fn sent(desk: &Desk, asked: &Asked, id: u64, typed: &str) {
    if refused(desk, asked).await {
        return;
    }
    let Ok(old) = desk.kept.draft(id, asked.asker.get()).await else {
        return tell(desk, asked, &sentences::away()).await;
    };
    let Some(old) = old else { return tell(desk, asked, &sentences::too_old()).await };
    let draft = Draft { body: typed.to_owned(), ..old };
    if desk.kept.keep_draft(&draft).await.is_err() {
        return hand_back(desk, asked, &draft, &sentences::away()).await;
    }
    match checked(&draft) {
        Err(faults) => hand_back(desk, asked, &draft, &sentences::draft_refused(&faults)).await,
        Ok(wording) => {
            let mut own = (*own_of(desk, asked.server()).await).clone();
            let _ = own.write(&draft.topic, wording, By { author: 0, at_unix_s: 0 });
            let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(&own);
            let shown = talk.desk().and_then(|d| d.by_id(&draft.topic)).unwrap_or_default();
            let mut message = deliver::bare(&shown, true);
            message.content = sentences::draft_shown();
            message.components = vec![components::buttons(&[
                (Press::under(Verb::Publish, draft.id), "Publish"),
                (Press::under(Verb::Draft, draft.id), "Edit again"),
            ])];
            send(desk, asked, &message).await;
        }
    }
}

fn checked(draft: &Draft) -> Result<draft::Wording, String> {
    let figures = spoken().and_then(|s| s.topic(&draft.topic)).map(|t| t.figures.clone()).unwrap_or_default();
    let names: Vec<&str> = figures.keys().map(String::as_str).collect();
    let typed = draft::Draft { text: draft.body.clone(), ..draft::Draft::default() };
    typed.check(RULES, names).map_err(|refused| refused.to_string())
}

/// Says why, and gives the draft back: as a file, and behind a button.
async fn hand_back(desk: &Desk, asked: &Asked, draft: &Draft, why: &crate::reply::Reply) {
    let mut message = deliver::bare(why, true);
    message.file = Some(Attached {
        name: "draft.txt".to_owned(),
        description: "Your draft, as you typed it".to_owned(),
        bytes: draft.body.clone().into_bytes(),
    });
    message.components = vec![components::buttons(&[(Press::under(Verb::Draft, draft.id), "Edit again")])];
    send(desk, asked, &message).await;
}

async fn send(desk: &Desk, asked: &Asked, message: &Outgoing) {
    if let Err(failure) = desk.rest.send(&asked.answer(), message).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// A press under a draft.
pub async fn press(desk: &Arc<Desk>, asked: &Asked, press: Press) {
    if refused(desk, asked).await {
        return;
    }
    let Ok(draft) = desk.kept.draft(press.source, asked.asker.get()).await else {
        return tell(desk, asked, &sentences::away()).await;
    };
    let Some(draft) = draft.filter(|d| d.server == asked.server()) else {
        return tell(desk, asked, &sentences::too_old()).await;
    };
    if press.verb == Verb::Draft {
        return edit(desk, asked, &draft).await;
    }
    let wording = match checked(&draft) {
        Ok(wording) => wording,
        Err(faults) => return hand_back(desk, asked, &draft, &sentences::draft_refused(&faults)).await,
    };
    let by = by(asked);
    let topic = draft.topic.clone();
    let written = change(desk, asked, move |own| own.write(&topic, wording, by).map_err(|full: Full| full.to_string()));
    let Some(version) = written.await else { return };
    let _ = desk.kept.drop_draft(draft.id).await;
    // Posts are edited after the answer, which cannot wait for them.
    tell(desk, asked, &sentences::published(version)).await;
    posts::refresh(desk, Some(asked.server())).await;
}

fn by(asked: &Asked) -> By {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs().cast_signed());
    By { author: asked.asker.get(), at_unix_s: now }
}

/// Changes the words of the server; says what hindered it.
async fn change<T>(desk: &Desk, asked: &Asked, change: impl FnOnce(&mut Own) -> Result<T, String>) -> Option<T> {
    match desk.kept.change_words(asked.server(), |file| read(desk, file), export, change).await {
        Ok(Ok(done)) => return Some(done),
        Ok(Err(why)) => tell(desk, asked, &sentences::words_refused(&why)).await,
        Err(_) => tell(desk, asked, &sentences::away()).await,
    }
    None
}

/// A short name: "in our group DG means desert ghost".
pub async fn short(desk: &Arc<Desk>, asked: &Asked, word: &str, means: &str) {
    if refused(desk, asked).await {
        return;
    }
    let manner = desk.kept.manner(asked.server()).await;
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let against = Against { catalogue: desk.books.catalogue, reader: desk.books.reader, spoken };
    // Of the server's usual species, else of the one in which it is read.
    let usual = species(desk, &manner);
    let all = desk.books.catalogue.species().iter().map(|s| s.id);
    let tried: Vec<_> = usual.into_iter().chain(all).map(|id| against.check(word, means, id)).collect();
    let Some(alias) = tried.iter().find_map(|t| t.as_ref().ok()).cloned() else {
        let why = tried.into_iter().next().and_then(Result::err).unwrap_or_default();
        let why: Vec<String> = why.iter().map(ToString::to_string).collect();
        return tell(desk, asked, &sentences::words_refused(&why.join("\n"))).await;
    };
    if change(desk, asked, move |own| own.add_alias(alias).map_err(|full| full.to_string())).await.is_some() {
        tell(desk, asked, &sentences::short_added(word, means)).await;
    }
}

/// Takes a short name away, or goes back to the built-in text of a topic.
pub async fn take_away(desk: &Arc<Desk>, asked: &Asked, words: &str) {
    if refused(desk, asked).await {
        return;
    }
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let by = by(asked);
    let done = change(desk, asked, |own| {
        if own.remove_alias(words) {
            return Ok(());
        }
        let id = topic_id(own, spoken, words);
        own.withdraw(&id, by).map(drop).map_err(|_| format!("This server has no words of its own for {words:?}."))
    });
    if done.await.is_some() {
        tell(desk, asked, &sentences::taken_away()).await;
        posts::refresh(desk, Some(asked.server())).await;
    }
}

/// Brings an earlier version of a topic back.
pub async fn revert(desk: &Arc<Desk>, asked: &Asked, words: &str, version: u32) {
    if refused(desk, asked).await {
        return;
    }
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let by = by(asked);
    let done = change(desk, asked, |own| {
        let id = topic_id(own, spoken, words);
        own.revert(&id, version, by).map_err(|e| e.to_string())
    });
    if let Some(version) = done.await {
        tell(desk, asked, &sentences::published(version)).await;
        posts::refresh(desk, Some(asked.server())).await;
    }
}

/// What the server has: topics with their versions and authors, short names; and all of it as a file.
pub async fn list(desk: &Desk, asked: &Asked) {
    if refused(desk, asked).await {
        return;
    }
    let own = own_of(desk, asked.server()).await;
    let mut lines: Vec<String> = own
        .aliases()
        .iter()
        .map(|a| format!("**{}** · {}", super::embeds::escape(a.word()), super::embeds::escape(a.means())))
        .collect();
    for (id, history) in own.topics() {
        for version in history.versions().iter().rev().take(5) {
            let what = if version.wording.is_some() { "written" } else { "withdrawn" };
            let who = if version.by.author == 0 { "somebody".to_owned() } else { format!("<@{}>", version.by.author) };
            lines.push(format!(
                "**{}** · version {} · {what} by {who} <t:{}:f>",
                super::embeds::escape(&id.replace('_', " ")),
                version.number,
                version.by.at_unix_s
            ));
        }
    }
    let mut message = deliver::bare(&sentences::no_own_words(), true);
    if !lines.is_empty() {
        message.embeds = vec![json!({
            "title": "Words of this server",
            "description": limits::clip(&lines.join("\n"), limits::EMBED_DESCRIPTION),
        })];
        message.file = Some(Attached {
            name: "words.toml".to_owned(),
            description: "All words of this server, to keep or to take elsewhere".to_owned(),
            bytes: export(&own).into_bytes(),
        });
    }
    send(desk, asked, &message).await;
}
