//! A community's own words: moderators write or change a topic for their server, add short names for genes, say which
//! cautions are always said, go back to an earlier version, and take all of it away as a file or from one.
//!
//! Nothing here changes the odds.

pub mod editor; // a text from its draft to its publishing
pub mod files; // words of another server, or of an earlier day

use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use serde_json::json;
use tracing::warn;

use super::asked::{Asked, refused, tell};
use super::deliver;
use super::desk::Desk;
use super::embeds::escape;
use super::limits;
use super::posts;
use super::rest::{Attached, Outgoing};
use super::sentences;
use super::working::species;
use crate::explanations::own::aliases::Against;
use crate::explanations::own::draft::Rules;
use crate::explanations::own::file::{export, import};
use crate::explanations::own::history::By;
use crate::explanations::own::{Own, draft};
use crate::explanations::{Spoken, builtin};
use crate::species::names::joined;
use crate::species::show::{self, Entry};
use crate::species::{GeneId, Species, SpeciesId};

/// Versions of a topic that are listed.
const VERSIONS: usize = 5;

/// Characters of the id of a topic, as a file of words takes them.
const MOST_ID: usize = 40;

/// What was written is read back as it was: whether links may be written is asked when somebody writes.
const WRITTEN: Rules = Rules { links: true };

/// The words of a server.
pub(super) async fn own_of(desk: &Desk, server: u64) -> Arc<Own> {
    desk.kept.words(server, |file| read(desk, file)).await
}

fn read(desk: &Desk, file: &str) -> Own {
    against(desk).map(|against| import("words", file, WRITTEN, against).own).unwrap_or_default()
}

fn spoken() -> Option<&'static Spoken> {
    builtin().ok().map(|all| all.spoken("en"))
}

fn against(desk: &Desk) -> Option<Against<'static>> {
    Some(Against { catalogue: desk.books.catalogue, reader: desk.books.reader, spoken: spoken()? })
}

/// The id of the topic that words name, or a new one made of them. Only a name leads to a topic here: who begins one of
/// their own must not find themselves in another that is much like it.
fn topic_id(own: &Own, spoken: &Spoken, words: &str) -> String {
    let key = joined(words);
    let named = |title: &str| joined(title) == key || title.split(':').next().is_some_and(|head| joined(head) == key);
    let known = || {
        spoken.topics().find(|t| t.id == words.trim() || named(&t.title) || t.aliases.iter().any(|a| joined(a) == key))
    };
    let titled = |wording: &draft::Wording| wording.draft().title.is_some_and(|title| named(&title));
    let mine = || own.topics().find(|(id, history)| joined(id) == key || history.current().is_some_and(titled));
    mine().map(|(id, _)| id.to_owned()).or_else(|| known().map(|t| t.id.clone())).unwrap_or_else(|| {
        let words: Vec<String> = words.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase).collect();
        let id = words.iter().filter(|w| !w.is_empty()).cloned().collect::<Vec<_>>().join("_");
        let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '_').take(MOST_ID).collect();
        // A title in other letters has an id all the same: the place of its letters, mixed.
        let mixed = || key.chars().fold(0_u32, |mixed, c| mixed.wrapping_mul(31).wrapping_add(u32::from(c)));
        if id.chars().any(|c| c != '_') || key.is_empty() { id } else { format!("topic_{:x}", mixed()) }
    })
}

async fn send(desk: &Desk, asked: &Asked, message: &Outgoing) {
    if let Err(failure) = desk.rest.send(&asked.answer(), message).await {
        warn!(%failure, "an interaction could not be answered");
    }
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
    let Some(against) = against(desk) else { return tell(desk, asked, &sentences::our_fault()).await };
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

/// What is known against a gene is said in any case, in full and first, wherever the gene is in play.
pub async fn caution(desk: &Arc<Desk>, asked: &Asked, words: &str) {
    if refused(desk, asked).await {
        return;
    }
    let manner = desk.kept.manner(asked.server()).await;
    let found = genes(desk, words, species(desk, &manner));
    if found.is_empty() {
        return tell(desk, asked, &sentences::no_such_gene(words)).await;
    }
    let known: Vec<(&Species, GeneId)> = found.into_iter().filter(|(of, gene)| is_cautioned(of, *gene)).collect();
    let Some((of, gene)) = known.first() else { return tell(desk, asked, &sentences::nothing_against(words)).await };
    let name = of.gene(*gene).entry.name.clone();
    let set = change(desk, asked, |own| {
        let each = known.iter().map(|(of, gene)| own.say_always(of.key(), &of.gene(*gene).entry.id));
        each.collect::<Result<Vec<()>, _>>().map_err(|full| full.to_string())
    });
    if set.await.is_some() {
        tell(desk, asked, &sentences::always_said(&name)).await;
    }
}

/// The genes that words name: those of the server's usual species where it has one of that name, else of every species.
fn genes(desk: &Desk, words: &str, usual: Option<SpeciesId>) -> Vec<(&'static Species, GeneId)> {
    // What a completion put in names gene and species.
    let (name, of) = words.split_once(" · ").unwrap_or((words, ""));
    let catalogue = desk.books.catalogue;
    let found = show::find(catalogue, name).into_iter().filter_map(|(id, entry)| match entry {
        Entry::Gene(gene) => Some((catalogue.get(id), gene)),
        _ => None,
    });
    let found: Vec<(&'static Species, GeneId)> =
        found.filter(|(species, _)| of.is_empty() || joined(species.name()) == joined(of)).collect();
    let here: Vec<(&'static Species, GeneId)> =
        found.iter().filter(|(species, _)| Some(species.id) == usual).copied().collect();
    if here.is_empty() { found } else { here }
}

/// Whether anything is known against a gene.
fn is_cautioned(species: &Species, gene: GeneId) -> bool {
    let entry = &species.gene(gene).entry;
    !entry.welfare.is_empty()
        || entry.homozygous_lethal.is_some()
        || entry.breeding_limit.is_some()
        || species.file().pair_warning.iter().any(|warning| warning.genes.contains(&entry.id))
}

/// Takes a short name or a caution away, or goes back to the built-in text of a topic.
pub async fn take_away(desk: &Arc<Desk>, asked: &Asked, words: &str) {
    if refused(desk, asked).await {
        return;
    }
    let Some(spoken) = spoken() else { return tell(desk, asked, &sentences::our_fault()).await };
    let by = by(asked);
    let genes = genes(desk, words, None);
    let done = change(desk, asked, |own| {
        let quiet = genes.iter().filter(|(of, gene)| own.say_as_usual(of.key(), &of.gene(*gene).entry.id)).count();
        if quiet > 0 || own.remove_alias(words) {
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

/// What the server has: topics with their versions and authors, short names, cautions; and all of it as a file.
pub async fn list(desk: &Desk, asked: &Asked) {
    if refused(desk, asked).await {
        return;
    }
    let own = own_of(desk, asked.server()).await;
    let named = |species: &str, gene: &str| {
        let of = desk.books.catalogue.species().iter().find(|s| s.key() == species);
        let entry = of.and_then(|of| Some(&of.gene(of.gene_by_id(gene)?).entry));
        entry.map_or_else(|| gene.to_owned(), |entry| entry.name.clone())
    };
    send(desk, asked, &listed(&own, named)).await;
}

/// The list as a message, with the file that holds all of it. `named` names the gene of a species.
#[must_use]
pub fn listed(own: &Own, named: impl Fn(&str, &str) -> String) -> Outgoing {
    let mut lines: Vec<String> =
        own.aliases().iter().map(|a| format!("**{}** · {}", escape(a.word()), escape(a.means()))).collect();
    let always: Vec<String> = own.all_always().map(|(species, gene)| escape(&named(species, gene))).collect();
    if !always.is_empty() {
        lines.push(format!("**Always said** · cautions of {}", always.join(", ")));
    }
    for (id, history) in own.topics() {
        let title = history.current().and_then(|w| w.draft().title).unwrap_or_else(|| id.replace('_', " "));
        for version in history.versions().iter().rev().take(VERSIONS) {
            let what = if version.wording.is_some() { "written" } else { "withdrawn" };
            let who = if version.by.author == 0 { "somebody".to_owned() } else { format!("<@{}>", version.by.author) };
            lines.push(format!(
                "**{}** · version {} · {what} by {who} <t:{}:f>",
                escape(&title),
                version.number,
                version.by.at_unix_s
            ));
        }
    }
    let mut message = deliver::bare(&sentences::no_own_words(), true);
    if !lines.is_empty() {
        message.embeds = vec![json!({
            "title": "Words of this server",
            "description": limits::lines(&lines, limits::EMBED_DESCRIPTION),
        })];
        message.file = Some(Attached {
            name: "words.toml".to_owned(),
            description: "All words of this server, to keep or to take elsewhere".to_owned(),
            bytes: export(own).into_bytes(),
        });
    }
    message
}
