//! The settings of a server, by selects, for those who manage it. Who may is checked at every press, not only by what the
//! platform hides; every change is noted with who made it and when.

use std::sync::Arc;

use serde_json::json;
use tracing::warn;

use super::asked::{Asked, tell};
use super::components;
use super::desk::Desk;
use super::embeds::escape;
use super::kept::servers::{Change, Manner, Mentions};
use super::limits;
use super::places::permission;
use super::press::{Press, Verb};
use super::rest::{Outgoing, To};
use super::sentences;
use crate::species::Catalogue;

/// Changes shown at once.
const CHANGES: i64 = 15;
/// Value of the option that stands for "none".
const NONE: &str = "none";

/// Whether somebody may change the settings of the server they are in.
fn may(asked: &Asked) -> bool {
    asked.permissions & (permission::MANAGE_SERVER | permission::ADMINISTRATOR) != 0
}

/// Opens the panel.
pub async fn open(desk: &Arc<Desk>, asked: &Asked) {
    if asked.guild.is_none() {
        tell(desk, asked, &sentences::only_in_servers()).await;
        return;
    }
    if !may(asked) {
        tell(desk, asked, &sentences::not_allowed()).await;
        return;
    }
    let manner = desk.kept.manner(asked.server()).await;
    send(desk, asked, false, &panel(desk.books.catalogue, &manner, may_here(desk, asked), 0)).await;
}

/// A press in the panel.
pub async fn press(desk: &Arc<Desk>, asked: &Asked, press: Press, chosen: &[String]) {
    if asked.guild.is_none() {
        tell(desk, asked, &sentences::only_in_servers()).await;
        return;
    }
    if !may(asked) {
        tell(desk, asked, &sentences::not_allowed()).await;
        return;
    }
    let server = asked.server();
    let old = desk.kept.manner(server).await;
    if press.verb == Verb::Changes {
        changes(desk, asked).await;
        return;
    }
    if press.verb == Verb::Use {
        let reply = desk.kept.used(server).await.map_or_else(|_| sentences::away(), |used| sentences::used(&used));
        tell(desk, asked, &reply).await;
        return;
    }
    let mut part = press.n;
    let mut new = old.clone();
    let word = chosen.first().map_or("", String::as_str);
    match press.verb {
        Verb::Species => {
            let known = desk.books.catalogue.species().iter().find(|s| s.key() == word);
            new.species = known.map_or_else(String::new, |s| s.key().to_owned());
        }
        Verb::Channels => new.channels = chosen.iter().filter_map(|id| id.parse().ok()).collect(),
        Verb::Mentions => new.mentions = Mentions::of(word).unwrap_or_default(),
        Verb::Quiet => new.quiet = word == "private",
        Verb::Locale => {
            part = 1;
            new.locale = if word == "en" { "en".to_owned() } else { String::new() };
        }
        Verb::Links => {
            part = 1;
            new.links = word == "links";
        }
        Verb::Reset => new = Manner::default(),
        _ => {}
    }
    if new != old && desk.kept.set_manner(server, asked.asker.get(), &new).await.is_err() {
        tell(desk, asked, &sentences::away()).await;
        return;
    }
    send(desk, asked, true, &panel(desk.books.catalogue, &new, may_here(desk, asked), part)).await;
}

async fn send(desk: &Desk, asked: &Asked, update: bool, message: &Outgoing) {
    let to = To::Answer { interaction: asked.interaction, token: asked.token.clone(), update };
    if let Err(failure) = desk.rest.send(&to, message).await {
        warn!(%failure, "the settings could not be shown");
    }
}

/// What the bot may do in the channel of who asks, where that is known.
fn may_here(desk: &Desk, asked: &Asked) -> Option<u64> {
    desk.places.may(asked.server(), asked.channel.get())
}

/// What the bot may do in a channel, as a list of ticks. That of pinning is not known before it is tried: the library drops
/// its bit.
fn ticks(may: u64) -> String {
    let known = permission::NEEDED.into_iter().filter(|(bit, ..)| *bit != permission::PIN);
    let drawn =
        known.map(|(bit, name, why)| if may & bit == 0 { format!("✗ {name}, {why}") } else { format!("✓ {name}") });
    drawn.collect::<Vec<_>>().join(" · ")
}

/// The panel as a message; `part` is 0 for the first half, else the second. `may` says what the bot may do in this channel.
#[must_use]
pub fn panel(catalogue: &Catalogue, manner: &Manner, may: Option<u64>, part: u32) -> Outgoing {
    let named = catalogue.species().iter().find(|s| s.key() == manner.species);
    let channels = match &manner.channels[..] {
        [] => "everywhere".to_owned(),
        // A channel's mention is only a link: it calls nobody.
        some => some.iter().map(|id| format!("<#{id}>")).collect::<Vec<_>>().join(" "),
    };
    let mentions = mentions().into_iter().find(|(_, id)| id == manner.mentions.id()).map_or_else(String::new, |m| m.0);
    let mut lines = vec![
        format!("**Usual species** · {}", named.map_or_else(|| "none: I ask".to_owned(), |s| escape(s.name()))),
        format!("**I answer mentions** · {channels}"),
        format!("**A mention** · {mentions}"),
        format!(
            "**Answers** · {}",
            if manner.quiet { "private: only who asked sees them" } else { "public; what is personal is private" }
        ),
        format!(
            "**Language** · {}",
            if manner.locale.is_empty() { "each asker's own, where I have it; else English" } else { "English" }
        ),
        format!(
            "**Links in this server's own texts** · {}",
            if manner.links { "plain https links may be written" } else { "none may be written" }
        ),
    ];
    if let Some(may) = may {
        lines.push(format!("**What I may do in this channel** · {}", ticks(may)));
    }
    let at = |verb| Press { verb, source: 0, n: part };
    let mut rows = Vec::new();
    if part == 0 {
        let mut species: Vec<(String, String)> = vec![("None: ask".to_owned(), NONE.to_owned())];
        species.extend(catalogue.species().iter().map(|s| (s.name().to_owned(), s.key().to_owned())));
        let usual = if manner.species.is_empty() { NONE } else { &manner.species };
        rows.push(components::select(at(Verb::Species), "Usual species", &species, Some(usual)));
        rows.push(components::channels(at(Verb::Channels), "Channels in which I answer (none: all)", &manner.channels));
        rows.push(components::select(at(Verb::Mentions), "A mention", &self::mentions(), Some(manner.mentions.id())));
        let quiet = [
            ("Public answers".to_owned(), "public".to_owned()),
            ("Private answers only".to_owned(), "private".to_owned()),
        ];
        rows.push(components::select(
            at(Verb::Quiet),
            "Answers",
            &quiet,
            Some(if manner.quiet { "private" } else { "public" }),
        ));
        rows.push(components::buttons(&[
            (Press { verb: Verb::Panel, source: 0, n: 1 }, "More"),
            (at(Verb::Changes), "Who changed what"),
            (at(Verb::Use), "How much I am used"),
            (at(Verb::Reset), "Reset all"),
        ]));
    } else {
        let languages =
            [("Each asker's own, else English".to_owned(), NONE.to_owned()), ("English".to_owned(), "en".to_owned())];
        let language = if manner.locale.is_empty() { NONE } else { &manner.locale };
        rows.push(components::select(at(Verb::Locale), "Language", &languages, Some(language)));
        let links = [
            ("No links in this server's own texts".to_owned(), NONE.to_owned()),
            ("Plain https links".to_owned(), "links".to_owned()),
        ];
        let chosen = if manner.links { "links" } else { NONE };
        rows.push(components::select(at(Verb::Links), "Links in texts", &links, Some(chosen)));
        rows.push(components::buttons(&[(Press { verb: Verb::Panel, source: 0, n: 0 }, "Back")]));
    }
    Outgoing {
        embeds: vec![json!({
            "title": "Settings of this server",
            "description": limits::clip(&lines.join("\n"), limits::EMBED_DESCRIPTION),
        })],
        components: rows,
        private: true,
        ..Outgoing::default()
    }
}

fn mentions() -> Vec<(String, String)> {
    [
        (Mentions::On, "I answer in the channel"),
        (Mentions::React, "I put a sign under it and answer by direct message"),
        (Mentions::Off, "I stay silent; commands still work"),
    ]
    .map(|(mentions, label)| (label.to_owned(), mentions.id().to_owned()))
    .to_vec()
}

async fn changes(desk: &Desk, asked: &Asked) {
    let Ok(changes) = desk.kept.changes(asked.server(), CHANGES).await else {
        tell(desk, asked, &sentences::away()).await;
        return;
    };
    send(desk, asked, false, &changed(&changes)).await;
}

/// The changes as a message.
#[must_use]
pub fn changed(changes: &[Change]) -> Outgoing {
    let or = |text: &str, none: &str| if text.is_empty() { none.to_owned() } else { escape(text) };
    let lines: Vec<String> = changes
        .iter()
        .map(|c| {
            let who = if c.member == 0 { "somebody".to_owned() } else { format!("<@{}>", c.member) };
            // The platform draws the moment in each reader's own time.
            format!("<t:{}:f> {who} · {}: {} → {}", c.at, c.setting, or(&c.before, "none"), or(&c.after, "none"))
        })
        .collect();
    let text = if lines.is_empty() {
        "Nothing was changed yet.".to_owned()
    } else {
        limits::lines(&lines, limits::EMBED_DESCRIPTION)
    };
    Outgoing {
        embeds: vec![json!({"title": "Who changed what", "description": text})],
        private: true,
        ..Outgoing::default()
    }
}
