//! A text of a server's own from its draft to its publishing.
//!
//! What was typed is kept first and checked then, so that a refusal gives it back: as a file and behind a button.

use std::sync::Arc;

use super::super::asked::{Asked, refused, tell};
use super::super::components;
use super::super::deliver;
use super::super::desk::Desk;
use super::super::kept::words::Draft;
use super::super::limits;
use super::super::posts;
use super::super::press::{Press, Verb};
use super::super::rest::{Attached, Outgoing};
use super::super::sentences;
use super::{by, change, own_of, send, spoken, topic_id};
use crate::conversation::Talk;
use crate::explanations::own::Full;
use crate::explanations::own::draft::{self, MOST_QUESTIONS, MOST_TITLE, Rules, Wording};
use crate::explanations::own::history::By;

/// Opens the editor for a topic, with the text that holds now.
pub async fn write(desk: &Desk, asked: &Asked, words: &str) {
    if refused(desk, asked).await {
        return;
    }
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let own = own_of(desk, asked.server()).await;
    let topic = topic_id(&own, spoken, words);
    if topic.is_empty() {
        return tell(desk, asked, &sentences::no_topic(words)).await;
    }
    let built_in = spoken.topic(&topic);
    let typed = match own.wording(&topic) {
        Some(wording) => wording.draft(),
        None => draft::Draft {
            // A topic of the server's own is called what it was called when it was begun.
            title: built_in.is_none().then(|| limits::clip(words.trim(), MOST_TITLE)),
            text: built_in.map(|t| t.paragraphs.join("\n\n")).unwrap_or_default(),
            ..draft::Draft::default()
        },
    };
    let draft = Draft {
        id: asked.interaction.get(),
        server: asked.server(),
        member: asked.asker.get(),
        topic,
        title: typed.title.unwrap_or_default(),
        questions: typed.questions.join("\n"),
        body: typed.text,
    };
    if desk.kept.keep_draft(&draft).await.is_err() {
        return tell(desk, asked, &sentences::away()).await;
    }
    edit(desk, asked, &draft).await;
}

async fn edit(desk: &Desk, asked: &Asked, draft: &Draft) {
    if let Err(failure) = desk.rest.form(asked.interaction, &asked.token, &form(draft)).await {
        tracing::warn!(%failure, "a form could not be opened");
    }
}

/// The editor: title, questions, text.
#[must_use]
pub fn form(draft: &Draft) -> serde_json::Value {
    let title = spoken().and_then(|s| s.topic(&draft.topic)).map_or("What it is called", |t| t.title.as_str());
    components::editor_form(
        Press::under(Verb::Write, draft.id),
        &format!("Text: {}", draft.topic.replace('_', " ")),
        &[
            components::Input {
                id: "title",
                label: "Title (empty: as it is)",
                hint: title,
                most: MOST_TITLE,
                value: &draft.title,
                long: false,
            },
            components::Input {
                id: "questions",
                label: "Questions that lead to it, one a line",
                hint: "what is a dinker",
                most: MOST_QUESTIONS * (MOST_TITLE + 1),
                value: &draft.questions,
                long: true,
            },
            components::Input {
                id: "words",
                label: "The text, up to 4,000 characters",
                hint: "Figures in braces are worked out when it is shown",
                most: limits::INPUT_VALUE,
                value: &draft.body,
                long: true,
            },
        ],
    )
}

/// The editor was sent: kept, checked, shown as it would be. `typed` are its inputs by id; one that is not there stays as it
/// was.
pub async fn sent(desk: &Desk, asked: &Asked, id: u64, typed: &[(String, String)]) {
    if refused(desk, asked).await {
        return;
    }
    let Ok(old) = desk.kept.draft(id, asked.asker.get()).await else {
        return tell(desk, asked, &sentences::away()).await;
    };
    let Some(old) = old else { return tell(desk, asked, &sentences::too_old()).await };
    let now =
        |id: &str, was: &str| typed.iter().find(|(known, _)| known == id).map_or(was, |(_, text)| text).to_owned();
    let (title, questions) = (now("title", &old.title), now("questions", &old.questions));
    let draft = Draft { title, questions, body: now("words", &old.body), ..old };
    if desk.kept.keep_draft(&draft).await.is_err() {
        return hand_back(desk, asked, &draft, &sentences::away()).await;
    }
    match checked(desk, &draft).await {
        Err(faults) => hand_back(desk, asked, &draft, &sentences::draft_refused(&faults)).await,
        Ok(wording) => send(desk, asked, &shown(desk, &draft, wording).await).await,
    }
}

/// A draft as it would be shown, with what leads to it.
async fn shown(desk: &Desk, draft: &Draft, wording: Wording) -> Outgoing {
    let questions = wording.questions().to_vec();
    let mut own = (*own_of(desk, draft.server).await).clone();
    let _ = own.write(&draft.topic, wording, By { author: 0, at_unix_s: 0 });
    let talk = Talk::new(desk.books.catalogue, desk.books.reader, None).with_own(&own);
    let shown = talk.desk().and_then(|d| d.by_id(&draft.topic)).unwrap_or_default();
    let mut message = deliver::bare(&shown, true);
    message.content = limits::clip(&sentences::draft_shown(&questions), limits::CONTENT);
    message.components = vec![components::buttons(&[
        (Press::under(Verb::Publish, draft.id), "Publish"),
        (Press::under(Verb::Draft, draft.id), "Edit again"),
    ])];
    message
}

/// What was typed as a checked text, by the rules of its server.
async fn checked(desk: &Desk, draft: &Draft) -> Result<Wording, String> {
    let rules = Rules { links: desk.kept.manner(draft.server).await.links };
    let figures = spoken().and_then(|s| s.topic(&draft.topic)).map(|t| t.figures.clone()).unwrap_or_default();
    let names: Vec<&str> = figures.keys().map(String::as_str).collect();
    let lines = draft.questions.lines().map(str::trim).filter(|line| !line.is_empty());
    let typed = draft::Draft {
        title: Some(draft.title.trim().to_owned()).filter(|title| !title.is_empty()),
        questions: lines.map(str::to_owned).collect(),
        text: draft.body.clone(),
    };
    typed.check(rules, names).map_err(|refused| refused.to_string())
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
    let wording = match checked(desk, &draft).await {
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
