//! The commands: few doors to the same reader. Free text works in every one of them.
//!
//! poise defines, dispatches and completes them; the answer goes the way of every other message.

use std::sync::Arc;

use poise::serenity_prelude as serenity;
use serde_json::Value;
use tracing::warn;

use super::desk::Desk;
use super::questions::{self, Asked};

/// What poise hands to a command.
type Context<'a> = poise::ApplicationContext<'a, Arc<Desk>, anyhow::Error>;

/// The odds of a pairing, in your words
#[poise::command(slash_command, rename = "odds")]
async fn odds(
    ctx: Context<'_>,
    #[description = "Both parents, as you would write them: pastel het clown x clown"] pairing: String,
    #[description = "Eggs in the clutch"]
    #[min = 1]
    #[max = 60]
    eggs: Option<u32>,
) -> anyhow::Result<()> {
    let said = match eggs {
        Some(eggs) => format!("{pairing}, {eggs} eggs"),
        None => pairing,
    };
    questions::command(ctx.data(), &asked(&ctx, false), said).await;
    Ok(())
}

/// What I can do, on one screen
#[poise::command(slash_command, rename = "help")]
async fn help(ctx: Context<'_>) -> anyhow::Result<()> {
    questions::command(ctx.data(), &asked(&ctx, true), "help".to_owned()).await;
    Ok(())
}

fn asked(ctx: &Context<'_>, private: bool) -> Asked {
    let interaction = ctx.interaction;
    Asked {
        interaction: interaction.id,
        token: interaction.token.clone(),
        channel: interaction.channel_id,
        guild: interaction.guild_id,
        asker: interaction.user.id,
        private,
    }
}

/// All commands, ready to dispatch.
#[must_use]
pub fn options() -> poise::FrameworkOptions<Arc<Desk>, anyhow::Error> {
    let mut options = poise::FrameworkOptions {
        commands: vec![odds(), help()],
        on_error: |error| {
            Box::pin(async move {
                warn!(error = %Named(&error), "a command could not be carried out");
            })
        },
        // A mention that names no command is free text, and mentions never reach poise.
        prefix_options: poise::PrefixFrameworkOptions { mention_as_prefix: false, ..Default::default() },
        allowed_mentions: Some(serenity::CreateAllowedMentions::new()),
        initialize_owners: false,
        ..Default::default()
    };
    poise::framework::set_qualified_names(&mut options.commands);
    options
}

/// The name of an error without anything that a member typed.
struct Named<'a>(&'a poise::FrameworkError<'a, Arc<Desk>, anyhow::Error>);

impl std::fmt::Display for Named<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let name = match self.0 {
            poise::FrameworkError::ArgumentParse { .. } => "an option of the wrong type",
            poise::FrameworkError::CommandStructureMismatch { .. } => "an outdated command",
            poise::FrameworkError::UnknownInteraction { .. } => "an unknown command",
            poise::FrameworkError::CommandPanic { .. } => "a fault of the program",
            _ => "not carried out",
        };
        f.write_str(name)
    }
}

/// The commands as they are registered.
#[must_use]
pub fn definitions(options: &poise::FrameworkOptions<Arc<Desk>, anyhow::Error>) -> Value {
    let commands = poise::builtins::create_application_commands(&options.commands);
    serde_json::to_value(commands).unwrap_or_else(|_| Value::Array(Vec::new()))
}
