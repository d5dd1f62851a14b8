//! The commands: few doors to the same reader. Free text works in every one of them.
//!
//! poise defines, dispatches and completes them; the answer goes the way of every other message. They are registered once,
//! and again only when their definition changed.

use std::fmt::Write as _;
use std::sync::Arc;

use poise::serenity_prelude as serenity;
use serde_json::Value;
use sha2::{Digest, Sha256};
use tracing::{info, warn};

use super::asked::{self, Asked};
use super::complete::{complete_animal, complete_gene, complete_pairing, complete_topic, complete_zone};
use super::deliver::{self, Look};
use super::desk::{Desk, Work};
use super::doors::{self, Door};
use super::limits;
use super::rest::Failure;
use super::turns::Turn;
use super::{animals, forget, posts, saved, sentences, settings_panel};

/// What poise hands to a command.
pub(super) type Context<'a> = poise::ApplicationContext<'a, Arc<Desk>, anyhow::Error>;
/// The commands with everything poise needs for them.
pub type Options = poise::FrameworkOptions<Arc<Desk>, anyhow::Error>;

/// The odds of a pairing, in your words
#[poise::command(slash_command)]
async fn odds(
    ctx: Context<'_>,
    #[description = "Both parents, as you would write them: pastel het clown x clown"]
    #[autocomplete = "complete_pairing"]
    #[max_length = 2000]
    pairing: String,
    #[description = "Eggs in the clutch"]
    #[min = 1]
    #[max = 60]
    eggs: Option<u32>,
) -> anyhow::Result<()> {
    let said = match eggs {
        Some(eggs) => format!("{pairing}, {eggs} eggs"),
        None => pairing,
    };
    doors::command(ctx.data(), &asked(&ctx), said, Door::Odds).await;
    Ok(())
}

/// Anything I can do, in your words
#[poise::command(slash_command)]
async fn ask(
    ctx: Context<'_>,
    #[description = "Your question: odds on a clown pied from dh clown pied x dh clown pied"]
    #[autocomplete = "complete_pairing"]
    #[max_length = 2000]
    question: String,
) -> anyhow::Result<()> {
    doors::command(ctx.data(), &asked(&ctx), question, Door::Ask).await;
    Ok(())
}

/// A word, a gene or a question of newcomers, explained
#[poise::command(slash_command)]
async fn explain(
    ctx: Context<'_>,
    #[description = "het, 66 het, why no visuals, a gene or a combination; nothing lists the topics"]
    #[autocomplete = "complete_topic"]
    #[max_length = 200]
    topic: Option<String>,
) -> anyhow::Result<()> {
    // What a completion put in names gene and species; the reader wants words.
    let words = topic.unwrap_or_default().replace(" · ", " ");
    doors::command(ctx.data(), &asked(&ctx), words, Door::Explain).await;
    Ok(())
}

/// Your animals, to you alone
#[poise::command(slash_command)]
async fn collection(
    ctx: Context<'_>,
    #[description = "One of them, by name or code"]
    #[autocomplete = "complete_animal"]
    #[max_length = 100]
    animal: Option<String>,
    #[description = "A sheet (CSV), JSON or an earlier export, to take in; I show you first what it changes"]
    file: Option<serenity::Attachment>,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        if let Some(file) = file {
            doors::handed_in(desk, &asked, &file).await;
            return Ok(());
        }
        match animal.filter(|a| !a.trim().is_empty()) {
            Some(animal) => animals::called(desk, &asked, animal).await,
            None => animals::page(desk, &asked, 0, false).await,
        }
    }
    Ok(())
}

/// A reminder, in your words; nothing lists yours
#[poise::command(slash_command)]
async fn remind(
    ctx: Context<'_>,
    #[description = "What and when: in 10 days to candle the eggs; every Sunday at 18:00 weigh the girls"]
    #[max_length = 400]
    about: Option<String>,
    #[description = "Your clock, once: your city or country"]
    #[autocomplete = "complete_zone"]
    #[max_length = 100]
    clock: Option<String>,
) -> anyhow::Result<()> {
    let typed = |words: Option<String>| words.filter(|words| !words.trim().is_empty());
    doors::reminder(ctx.data(), &asked(&ctx), typed(about), typed(clock)).await;
    Ok(())
}

/// The pairings you saved, to you alone
#[poise::command(slash_command)]
async fn pairings(ctx: Context<'_>) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        saved::page(desk, &asked, 0, false).await;
    }
    Ok(())
}

/// What I keep of you, and erasing it
#[poise::command(slash_command, rename = "forget")]
async fn forget_me(ctx: Context<'_>) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        let mut turn = Turn::default();
        forget::offer(desk, asked.asker.get(), &mut turn).await;
        let look = Look { private: true, ..Look::default() };
        if let Err(failure) = deliver::send(desk, &asked.answer(), &turn, 0, look).await {
            warn!(%failure, "an interaction could not be answered");
        }
    }
    Ok(())
}

/// How this server wants me: species, channels, mentions, privacy
#[poise::command(slash_command, guild_only, default_member_permissions = "MANAGE_GUILD")]
async fn settings(ctx: Context<'_>) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        settings_panel::open(desk, &asked).await;
    }
    Ok(())
}

/// What I can do, on one screen
#[poise::command(slash_command)]
async fn help(ctx: Context<'_>) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        asked::tell(desk, &asked, &sentences::help()).await;
    }
    Ok(())
}

/// Reads the pairing in anybody's message. The answer is private: its writer did not ask.
#[poise::command(context_menu_command = "Odds of this message")]
async fn odds_of_message(ctx: Context<'_>, message: serenity::Message) -> anyhow::Result<()> {
    let desk = ctx.data();
    let Some(me) = desk.me.get() else { return Ok(()) };
    let said = super::address::words(&message.content, *me).text;
    doors::command(desk, &asked(&ctx), said, Door::Menu).await;
    Ok(())
}

/// Explains the words in anybody's message. The answer is private: its writer did not ask.
#[poise::command(context_menu_command = "Explain the words")]
async fn explain_words(ctx: Context<'_>, message: serenity::Message) -> anyhow::Result<()> {
    let desk = ctx.data();
    let Some(me) = desk.me.get() else { return Ok(()) };
    let said = super::address::words(&message.content, *me).text;
    doors::command(desk, &asked(&ctx), said, Door::Words).await;
    Ok(())
}

/// Explanations to pin in this channel; what is pinned already
#[poise::command(slash_command, guild_only, default_member_permissions = "MANAGE_MESSAGES")]
async fn pins(
    ctx: Context<'_>,
    #[description = "A topic to post and pin; several with commas make a \"start here\""]
    #[autocomplete = "complete_topic"]
    #[max_length = 1000]
    topic: Option<String>,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        posts::command(desk, &asked, topic).await;
    }
    Ok(())
}

/// This server's own words: texts, short names, cautions, earlier versions
#[poise::command(
    slash_command,
    guild_only,
    default_member_permissions = "MANAGE_MESSAGES",
    subcommands(
        "words_write",
        "words_short",
        "words_caution",
        "words_list",
        "words_revert",
        "words_remove",
        "words_import"
    )
)]
#[expect(clippy::unused_async)] // poise awaits it; the platform offers the parts alone
async fn words(_: Context<'_>) -> anyhow::Result<()> {
    Ok(())
}

/// Write or change a topic for this server
#[poise::command(slash_command, guild_only, rename = "write")]
async fn words_write(
    ctx: Context<'_>,
    #[description = "The topic, or the title of a new one"]
    #[autocomplete = "complete_topic"]
    #[max_length = 60]
    topic: String,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::editor::write(desk, &asked, &topic).await;
    }
    Ok(())
}

/// A short name for genes: in our group DG means desert ghost
#[poise::command(slash_command, guild_only, rename = "short")]
async fn words_short(
    ctx: Context<'_>,
    #[description = "The short name"]
    #[max_length = 32]
    word: String,
    #[description = "What it stands for, as in a pairing"]
    #[max_length = 80]
    means: String,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::short(desk, &asked, &word, &means).await;
    }
    Ok(())
}

/// A gene whose cautions are always said here, in full and first
#[poise::command(slash_command, guild_only, rename = "caution")]
async fn words_caution(
    ctx: Context<'_>,
    #[description = "The gene; /words remove takes it away again"]
    #[autocomplete = "complete_gene"]
    #[max_length = 100]
    gene: String,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::caution(desk, &asked, &gene).await;
    }
    Ok(())
}

/// Take the words of a file over; I show you first what it changes
#[poise::command(slash_command, guild_only, rename = "import")]
async fn words_import(
    ctx: Context<'_>,
    #[description = "A file that /words list handed out"] file: serenity::Attachment,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::files::handed_in(desk, &asked, &file).await;
    }
    Ok(())
}

/// What this server has, with versions and authors, and as a file
#[poise::command(slash_command, guild_only, rename = "list")]
async fn words_list(ctx: Context<'_>) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::list(desk, &asked).await;
    }
    Ok(())
}

/// Bring an earlier version of a topic back
#[poise::command(slash_command, guild_only, rename = "revert")]
async fn words_revert(
    ctx: Context<'_>,
    #[description = "The topic"]
    #[autocomplete = "complete_topic"]
    #[max_length = 60]
    topic: String,
    #[description = "The number of the version, as /words list shows it"]
    #[min = 1]
    version: u32,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::revert(desk, &asked, &topic, version).await;
    }
    Ok(())
}

/// Take a short name, a caution or a text of this server away
#[poise::command(slash_command, guild_only, rename = "remove")]
async fn words_remove(
    ctx: Context<'_>,
    #[description = "The short name, the gene, or the topic"]
    #[max_length = 60]
    name: String,
) -> anyhow::Result<()> {
    if let Some((desk, asked, _work)) = let_in(&ctx).await {
        super::words::take_away(desk, &asked, &name).await;
    }
    Ok(())
}

/// The desk, who asks, and a place at it; `None` where the command is not answered.
async fn let_in<'a>(ctx: &Context<'a>) -> Option<(&'a Arc<Desk>, Asked, Work)> {
    let desk = ctx.data();
    let asked = asked(ctx);
    let work = desk.begin().await?;
    asked::admitted(desk, &asked).await.then_some((desk, asked, work))
}

fn asked(ctx: &Context<'_>) -> Asked {
    asked_by(ctx.interaction, ctx.serenity_context().shard_id.0)
}

fn asked_by(interaction: &serenity::CommandInteraction, shard: u32) -> Asked {
    Asked::of(
        (interaction.id, &interaction.token),
        (interaction.channel_id, interaction.guild_id),
        (&interaction.user, interaction.member.as_deref()),
        shard,
    )
}

/// All commands, ready to dispatch.
#[must_use]
pub fn options() -> Options {
    let mut options = poise::FrameworkOptions {
        commands: vec![
            odds(),
            ask(),
            explain(),
            collection(),
            remind(),
            pairings(),
            forget_me(),
            settings(),
            pins(),
            words(),
            help(),
            odds_of_message(),
            explain_words(),
        ],
        on_error: |error| Box::pin(failed(error)),
        // A mention that names no command is free text, and mentions never reach poise.
        prefix_options: poise::PrefixFrameworkOptions { mention_as_prefix: false, ..Default::default() },
        allowed_mentions: Some(serenity::CreateAllowedMentions::new()),
        initialize_owners: false,
        ..Default::default()
    };
    poise::framework::set_qualified_names(&mut options.commands);
    options
}

/// A command that could not be carried out: said to who sent it, and logged once without what was typed.
async fn failed(error: poise::FrameworkError<'_, Arc<Desk>, anyhow::Error>) {
    use poise::FrameworkError as E;
    let (what, reply) = match &error {
        E::ArgumentParse { .. } => ("an option of the wrong type", sentences::outdated()),
        E::CommandStructureMismatch { .. } => ("an outdated command", sentences::outdated()),
        E::UnknownInteraction { .. } => ("an unknown command", sentences::outdated()),
        E::GuildOnly { .. } => ("a command for servers", sentences::only_in_servers()),
        E::CommandPanic { .. } => ("a fault of the program", sentences::our_fault()),
        _ => ("not carried out", sentences::our_fault()),
    };
    warn!(what, "a command could not be carried out");
    let (desk, interaction, shard) = match &error {
        E::UnknownInteraction { framework, interaction, .. } => {
            (framework.user_data, *interaction, framework.serenity_context.shard_id.0)
        }
        other => match other.ctx() {
            Some(poise::Context::Application(ctx)) => (ctx.data(), ctx.interaction, ctx.serenity_context().shard_id.0),
            _ => return,
        },
    };
    // A completion has no answer that could say anything.
    if interaction.data.autocomplete().is_some() {
        return;
    }
    let asked = asked_by(interaction, shard);
    if asked::admitted(desk, &asked).await {
        asked::tell(desk, &asked, &reply).await;
    }
}

/// The commands as they are registered.
#[must_use]
pub fn definitions(options: &Options) -> Value {
    let commands = poise::builtins::create_application_commands(&options.commands);
    pruned(serde_json::to_value(commands).unwrap_or_else(|_| Value::Array(Vec::new())))
}

/// Without what says nothing: the library writes every property of every kind of option, and whole numbers as fractions.
fn pruned(value: Value) -> Value {
    let says = |v: &Value| match v {
        Value::Null => false,
        Value::Array(list) => !list.is_empty(),
        Value::Object(map) => !map.is_empty(),
        _ => true,
    };
    match value {
        Value::Object(map) => map
            .into_iter()
            .map(|(k, v)| (k, pruned(v)))
            .filter(|(_, v)| says(v))
            .collect::<serde_json::Map<_, _>>()
            .into(),
        Value::Array(list) => list.into_iter().map(pruned).collect(),
        Value::Number(number) => {
            let whole = number.to_string().strip_suffix(".0").and_then(|n| n.parse::<i64>().ok());
            whole.map_or(Value::Number(number), Into::into)
        }
        other => other,
    }
}

/// The hash of definitions.
#[must_use]
pub fn hash(definitions: &Value) -> String {
    let mut text = String::new();
    for byte in Sha256::digest(definitions.to_string()) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// Registers the commands if they are not registered as they are now.
///
/// # Errors
/// [`Failure`]; they are then tried again at the next start.
pub async fn register(desk: &Desk, options: &Options) -> Result<(), Failure> {
    use ::serenity::http::{LightMethod, Route};
    let Some(application_id) = desk.application.get().copied() else { return Ok(()) };
    let all = definitions(options);
    let hash = hash(&all);
    let scope = desk.settings.test_server.map_or_else(|| "everywhere".to_owned(), |id| id.to_string());
    // A database that is away says nothing: then they are registered once more, which changes nothing.
    if desk.kept.registered(&scope, &hash).await == Ok(true) {
        return Ok(());
    }
    if let Some(breach) = limits::check(limits::Kind::Commands, &all).first() {
        return Err(Failure::Breach(format!("{}: {}", breach.place, breach.what)));
    }
    let route = match desk.settings.test_server {
        Some(server) => Route::GuildCommands { application_id, guild_id: ::serenity::model::id::GuildId::new(server) },
        None => Route::Commands { application_id },
    };
    desk.rest.plain(route, LightMethod::Put, Some(&all)).await?;
    if desk.kept.note_registered(&scope, &hash).await.is_err() {
        warn!("the commands are registered, but it could not be noted: they are registered again at the next start");
    }
    info!(scope, "registered the commands");
    Ok(())
}
