//! A member's own animals: the list in pages, one animal with what can be done with it, forms to add and correct.
//!
//! Only its owner sees any of it, unless they press "Share here". Words do all the work: a form makes a message of what
//! was typed, and the same reader answers it as everywhere else.

use std::sync::Arc;
use std::time::Instant;

use serde_json::json;
use tracing::warn;

use super::asked::{Asked, tell};
use super::components;
use super::deliver::{self, Look};
use super::desk::Desk;
use super::embeds::escape;
use super::kept::turns::Answer;
use super::limits;
use super::press::{Press, Verb};
use super::reach;
use super::rest::{Outgoing, To};
use super::sentences;
use super::turns::{Thread, Turn};
use super::working::{Who, note, species, work_out};
use crate::collection::animal::{Animal, AnimalId};
use crate::collection::herd::Herd;
use crate::collection::store::StoreError;
use crate::conversation::desk::line_of;
use crate::species::Catalogue;

/// Animals on one page.
const ROWS: usize = 10;

/// Everything of a member.
pub(super) async fn herd(desk: &Desk, member: u64) -> Result<Herd, StoreError> {
    let store = desk.kept.store();
    match store.keeper(&Desk::keeper(member)).await? {
        Some(keeper) => store.herd(keeper).await,
        None => Ok(Herd::empty()),
    }
}

/// Names and codes of a member's animals that begin with this, for completion.
pub async fn beginning_with(desk: &Desk, member: u64, begun: &str) -> Vec<(String, String)> {
    let Ok(herd) = herd(desk, member).await else { return Vec::new() };
    let begun = begun.trim().to_lowercase();
    let fits = |a: &&Animal| a.called().to_lowercase().starts_with(&begun) || a.number.to_string().starts_with(&begun);
    let told = |a: &Animal| {
        let text = line_of(desk.books.catalogue, &herd, a);
        (limits::clip(&text, limits::OPTION_TEXT), a.number.to_string())
    };
    herd.here().filter(fits).take(limits::OPTIONS).map(told).collect()
}

/// Names of a member's animals that begin with this.
pub async fn names_with(desk: &Desk, member: u64, begun: &str) -> Vec<String> {
    let Ok(herd) = herd(desk, member).await else { return Vec::new() };
    let begun = begun.to_lowercase();
    let names = herd.here().filter_map(|a| a.name.as_ref()).map(ToString::to_string);
    names.filter(|name| name.to_lowercase().starts_with(&begun)).take(limits::OPTIONS).collect()
}

/// The animals of who asked, one page of them. `update` changes the list that is there.
pub async fn page(desk: &Desk, asked: &Asked, page: usize, update: bool) {
    let Ok(herd) = herd(desk, asked.asker.get()).await else {
        tell(desk, asked, &sentences::away()).await;
        return;
    };
    let message = list(desk.books.catalogue, &herd, page);
    let to = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update };
    if let Err(failure) = desk.rest.send(&to, &message).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// One page of a herd as a message.
#[must_use]
pub fn list(catalogue: &Catalogue, herd: &Herd, page: usize) -> Outgoing {
    let mut here: Vec<&Animal> = herd.here().collect();
    here.sort_by_key(|a| a.number);
    let add = components::buttons(&[(Press::under(Verb::Add, 0), "Add animals")]);
    if here.is_empty() {
        let nothing = deliver::bare(&sentences::no_animals(), true);
        return Outgoing { components: vec![add], ..nothing };
    }
    let of = here.len().div_ceil(ROWS);
    let page = page.min(of - 1);
    let rows = &here[page * ROWS..here.len().min((page + 1) * ROWS)];
    let told: Vec<(String, String)> =
        rows.iter().map(|a| (line_of(catalogue, herd, a), a.id.bits().to_string())).collect();
    let mut lines: Vec<String> =
        told.iter().map(|(line, _)| escape(&limits::clip(line, limits::EMBED_DESCRIPTION / ROWS / 3))).collect();
    let mut under = vec![components::select(Press::under(Verb::Animal, 0), "Look at one", &told, None), add];
    if of > 1 {
        lines.push(format!("-# page {} of {of}", page + 1));
        under.push(components::pages(Verb::Herd, 0, page, of));
    }
    let text = limits::clip(&lines.join("\n"), limits::EMBED_DESCRIPTION);
    Outgoing {
        embeds: vec![json!({"title": format!("Your animals ({})", here.len()), "description": text})],
        components: under,
        private: true,
        ..Outgoing::default()
    }
}

/// A press on a list or an animal.
pub async fn press(desk: &Arc<Desk>, asked: &Asked, press: Press, chosen: &[String]) {
    let form = match press.verb {
        Verb::Herd => return page(desk, asked, components::page(press), true).await,
        Verb::Animal => {
            let id = chosen.first().and_then(|id| id.parse().ok());
            return card(desk, asked, id.unwrap_or(press.source), true).await;
        }
        Verb::Show => return card(desk, asked, press.source, false).await,
        Verb::Remind => return remind(desk, asked, press).await,
        Verb::Add => components::words_form(
            press,
            "Add animals",
            "One animal a line, in your words",
            "1.0 pastel het clown named Hugo, hatched 2023, 900 g",
            true,
        ),
        Verb::Correct => components::words_form(
            press,
            "Correct this animal",
            "What it is, in your words",
            "female, het clown, hatched 2022, from Duke x Juno",
            false,
        ),
        _ => components::words_form(
            press,
            "Weigh this animal",
            "Weight and, if not today, the day",
            "1450 g on 3 May",
            false,
        ),
    };
    if let Err(failure) = desk.rest.form(asked.interaction, &asked.token, &form).await {
        warn!(%failure, "a form could not be opened");
    }
}

/// A form of this room was sent.
pub async fn form(desk: &Arc<Desk>, asked: &Asked, press: Press, typed: &str) {
    let typed = typed.trim();
    let said = if press.verb == Verb::Add {
        let one = typed.lines().filter(|line| !line.trim().is_empty()).count() < 2;
        if one { format!("add {typed}") } else { format!("add these:\n{typed}") }
    } else {
        let Some(code) = code(desk, asked, press.source).await else { return };
        // What was typed over several lines is one correction all the same.
        let typed = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        if press.verb == Verb::Weigh { format!("{code} weighs {typed}") } else { format!("correct {code}: {typed}") }
    };
    say(desk, asked, said, Verb::Add, false).await;
}

/// The short code of one of the asker's animals; says so where there is none.
async fn code(desk: &Desk, asked: &Asked, id: u64) -> Option<String> {
    let found =
        herd(desk, asked.asker.get()).await.map(|h| h.animal(AnimalId::of_bits(id)).map(|a| a.number.to_string()));
    match found {
        Ok(Some(code)) => return Some(code),
        Ok(None) => tell(desk, asked, &sentences::no_such_animal()).await,
        Err(_) => tell(desk, asked, &sentences::away()).await,
    }
    None
}

/// One animal: in the place of the list, or for everybody to see.
async fn card(desk: &Arc<Desk>, asked: &Asked, id: u64, update: bool) {
    let Some(code) = code(desk, asked, id).await else { return };
    say(desk, asked, code, if update { Verb::Animal } else { Verb::Show }, update).await;
}

/// A reminder of what an animal is due for, as its owner would set it in words.
async fn remind(desk: &Arc<Desk>, asked: &Asked, press: Press) {
    let Some(code) = code(desk, asked, press.source).await else { return };
    let said = match press.n {
        0 => format!("remind me when #{code} is due"),
        days => format!("remind me {days} days before #{code} is due"),
    };
    say(desk, asked, said, Verb::Remind, false).await;
}

/// An animal that was named in a command.
pub async fn called(desk: &Arc<Desk>, asked: &Asked, said: String) {
    say(desk, asked, said, Verb::Add, false).await;
}

/// Answers words about the asker's animals; for everybody only where they shared them.
async fn say(desk: &Arc<Desk>, asked: &Asked, said: String, verb: Verb, update: bool) {
    let begun = Instant::now();
    let manner = desk.kept.manner(asked.server()).await;
    let (source, asker) = (asked.interaction.get(), asked.asker.get());
    let who = Who { asker, server: asked.server(), species: species(desk, &manner), source, long: false };
    let mut turn = work_out(desk, who, Thread::default(), said).await;
    reach::tried(desk, who, &mut turn).await;
    let private = verb != Verb::Show;
    let mut turn = Turn { reply: Some(turn.reply.clone().unwrap_or_else(sentences::no_question)), ..turn };
    if !private {
        // Others see the card; what can be done with it is for its owner.
        turn = Turn { reply: turn.reply, ..Turn::default() };
    }
    let to = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update };
    desk.kept.keep(source, &Answer { thread: turn.thread.clone(), ..asked.record(private) }, true).await;
    let sent = deliver::send(desk, &to, &turn, source, Look { private, ..Look::default() }).await;
    note(desk, "press", begun, &sent);
}
