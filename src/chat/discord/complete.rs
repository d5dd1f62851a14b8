//! Completion while somebody types: genes at the end of a pairing, topics, animals of one's own, time zones.

use poise::serenity_prelude as serenity;

use super::animals;
use super::commands::Context;
use super::desk::Desk;
use super::limits;
use super::words::own_of;
use crate::explanations::builtin;
use crate::explanations::own::Own;
use crate::reading::places;
use crate::species::names::{joined, normal};

/// Shortest beginning of a name that is completed.
const SHORTEST: usize = 2;

/// Completes the gene or the animal of one's own that is being typed at the end. What stands before it is kept.
pub(super) async fn complete_pairing(ctx: Context<'_>, partial: &str) -> serenity::CreateAutocompleteResponse {
    let mut found = pairings_from(ctx.data(), partial);
    let (before, begun) = partial.rsplit_once(char::is_whitespace).unwrap_or(("", partial));
    // Names of animals are written with a capital, and only then looked for at each key.
    if begun.chars().next().is_some_and(char::is_uppercase) {
        let names = animals::names_with(ctx.data(), ctx.interaction.user.id.get(), begun).await;
        let texts = names.into_iter().map(|name| format!("{before} {name}").trim().to_owned());
        found.extend(texts.filter(|text| limits::length(text) <= limits::OPTION_TEXT));
        found.truncate(limits::OPTIONS);
    }
    serenity::CreateAutocompleteResponse::new()
        .set_choices(found.into_iter().map(|text| serenity::AutocompleteChoice::new(text.clone(), text)).collect())
}

fn pairings_from(desk: &Desk, partial: &str) -> Vec<String> {
    // A choice has room for a hundred characters: longer texts are simply typed on.
    if limits::length(partial) + 1 > limits::OPTION_TEXT {
        return Vec::new();
    }
    let mut found = Vec::new();
    // The last word, and the last two: "orange dr".
    let mut starts: Vec<usize> =
        partial.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(at, c)| at + c.len_utf8()).collect();
    starts.insert(0, 0);
    for start in starts.iter().rev().take(2) {
        let (before, begun) = partial.split_at(*start);
        if normal(begun).chars().count() < SHORTEST {
            continue;
        }
        for (name, _) in genes_from(desk, begun) {
            let text = format!("{before}{}", name.to_lowercase());
            if limits::length(&text) <= limits::OPTION_TEXT && !found.contains(&text) {
                found.push(text);
            }
        }
    }
    // What is typed already is always among them, so that it can be sent as it is.
    let typed = partial.trim_end().to_owned();
    if !typed.is_empty() && !found.contains(&typed) {
        found.insert(0, typed);
    }
    found.truncate(limits::OPTIONS);
    found
}

/// Completes a topic, else the name of a gene.
pub(super) async fn complete_topic(ctx: Context<'_>, partial: &str) -> serenity::CreateAutocompleteResponse {
    let server = ctx.interaction.guild_id.map_or(0, serenity::GuildId::get);
    let mut found = topics_from(&*own_of(ctx.data(), server).await, partial);
    if normal(partial).chars().count() >= SHORTEST {
        found.extend(genes_from(ctx.data(), partial).into_iter().map(|(name, species)| format!("{name} · {species}")));
    }
    found.truncate(limits::OPTIONS);
    let choices = found.into_iter().map(|text| {
        let text = limits::clip(&text, limits::OPTION_TEXT);
        serenity::AutocompleteChoice::new(text.clone(), text)
    });
    serenity::CreateAutocompleteResponse::new().set_choices(choices.collect())
}

/// Titles of topics in which a word begins like this, those that begin with it first; the place's own among them.
fn topics_from(own: &Own, begun: &str) -> Vec<String> {
    let Ok(explanations) = builtin() else { return Vec::new() };
    let begun = normal(begun);
    let theirs = own.topics().filter_map(|(_, history)| history.current()?.draft().title);
    let mut found: Vec<(bool, String)> = explanations
        .spoken("en")
        .topics()
        .map(|topic| topic.title.clone())
        .chain(theirs)
        .filter_map(|title| {
            let typed = normal(&title);
            let word = typed.split_whitespace().any(|w| w.starts_with(&begun)) || typed.contains(&begun);
            word.then(|| (!typed.starts_with(&begun), title))
        })
        .collect();
    found.sort();
    found.into_iter().map(|(_, title)| title).collect()
}

/// Completes a time zone by a town or country in it.
pub(super) async fn complete_zone(_: Context<'_>, partial: &str) -> serenity::CreateAutocompleteResponse {
    let choices = places::beginning(partial)
        .into_iter()
        .map(|(told, zone)| serenity::AutocompleteChoice::new(limits::clip(&told, limits::OPTION_TEXT), zone));
    serenity::CreateAutocompleteResponse::new().set_choices(choices.collect())
}

/// Completes a gene by its name, with its species.
pub(super) async fn complete_gene(ctx: Context<'_>, partial: &str) -> serenity::CreateAutocompleteResponse {
    let mut found: Vec<String> =
        genes_from(ctx.data(), partial).into_iter().map(|(name, species)| format!("{name} · {species}")).collect();
    found.truncate(limits::OPTIONS);
    let choices = found.into_iter().map(|text| {
        let text = limits::clip(&text, limits::OPTION_TEXT);
        serenity::AutocompleteChoice::new(text.clone(), text)
    });
    serenity::CreateAutocompleteResponse::new().set_choices(choices.collect())
}

/// Completes one of the asker's own animals.
pub(super) async fn complete_animal(ctx: Context<'_>, partial: &str) -> serenity::CreateAutocompleteResponse {
    let found = animals::beginning_with(ctx.data(), ctx.interaction.user.id.get(), partial).await;
    let choices = found.into_iter().map(|(told, code)| serenity::AutocompleteChoice::new(told, code));
    serenity::CreateAutocompleteResponse::new().set_choices(choices.collect())
}

/// Genes whose name, or another name of them, begins with this: name and species.
fn genes_from(desk: &Desk, begun: &str) -> Vec<(String, String)> {
    let key = joined(begun);
    let mut found: Vec<(bool, String, String)> = Vec::new();
    for species in desk.books.catalogue.species() {
        for gene in species.genes() {
            let name = &gene.entry.name;
            let own = joined(name).starts_with(&key);
            if own || !key.is_empty() && gene.entry.aliases.iter().any(|a| joined(a).starts_with(&key)) {
                found.push((!own, name.clone(), species.name().to_owned()));
            }
        }
    }
    found.sort();
    found.into_iter().map(|(_, name, species)| (name, species)).collect()
}
