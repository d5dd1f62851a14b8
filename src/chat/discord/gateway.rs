//! The line on which the platform speaks: logging in, events, and the stop.
//!
//! The library keeps the line; its events come here and are handed on. In: a [`Desk`]. Out: how it ended.

use std::sync::Arc;

use anyhow::{Context as _, Result};
use poise::FrameworkContext;
use serenity::all::{
    Client, ClientBuilder, Context, EventHandler, FullEvent, GatewayIntents, Http, HttpBuilder, Interaction, Message,
    Ready, ShardManager,
};
use serenity::async_trait;
use serenity::gateway::GatewayError;
use tracing::info;

use super::desk::Desk;
use super::{commands, questions};

/// Events to handlers.
struct Front {
    desk: Arc<Desk>,
    options: poise::FrameworkOptions<Arc<Desk>, anyhow::Error>,
    shards: std::sync::OnceLock<Arc<ShardManager>>,
}

#[async_trait]
impl EventHandler for Front {
    async fn ready(&self, ctx: Context, ready: Ready) {
        let _ = self.desk.me.set(ready.user.id);
        let _ = self.desk.application.set(ready.application.id);
        info!(shard = ctx.shard_id.0, servers = ready.guilds.len(), "logged in");
    }

    async fn message(&self, _: Context, message: Message) {
        questions::message(&self.desk, &message).await;
    }

    async fn interaction_create(&self, ctx: Context, interaction: Interaction) {
        let (Some(shards), Some(me)) = (self.shards.get(), self.desk.me.get()) else { return };
        // poise dispatches commands and completions, and nothing else.
        if matches!(interaction, Interaction::Command(_) | Interaction::Autocomplete(_)) {
            let framework = FrameworkContext {
                bot_id: *me,
                serenity_context: &ctx,
                options: &self.options,
                user_data: &self.desk,
                shard_manager: shards,
            };
            poise::dispatch_event(framework, FullEvent::InteractionCreate { interaction }).await;
        }
    }
}

/// Mentions, replies, direct messages and commands carry their text without a privileged intent.
#[must_use]
pub fn intents(message_content: bool) -> GatewayIntents {
    let least = GatewayIntents::GUILDS | GatewayIntents::GUILD_MESSAGES | GatewayIntents::DIRECT_MESSAGES;
    if message_content { least | GatewayIntents::MESSAGE_CONTENT } else { least }
}

/// The library's own way to the platform, for what it does by itself. Its limiter is off: it loses its place under a
/// refusal everywhere, and with it on another base address is ignored.
fn http(desk: &Desk) -> Result<Http> {
    let token = desk.settings.token.as_ref().context("there is no token")?;
    let client = reqwest::Client::builder()
        .timeout(std::time::Duration::from_secs(10))
        .build()
        .context("setting up encrypted lines")?;
    let mut builder = HttpBuilder::new(token.reveal()).client(client).ratelimiter_disabled(true);
    if let Some(api) = &desk.settings.api {
        builder = builder.proxy(api);
    }
    Ok(builder.build())
}

/// A client that is ready to log in.
///
/// # Errors
/// When the library cannot be set up.
pub async fn client(desk: &Arc<Desk>) -> Result<Client> {
    let front =
        Arc::new(Front { desk: Arc::clone(desk), options: commands::options(), shards: std::sync::OnceLock::new() });
    let intents = intents(desk.settings.message_content);
    let client = ClientBuilder::new_with_http(http(desk)?, intents)
        .event_handler_arc(Arc::clone(&front))
        .await
        .context("preparing the line to the platform")?;
    let _ = front.shards.set(Arc::clone(&client.shard_manager));
    Ok(client)
}

/// What the end of the line means for an operator: the sentence and the exit code.
#[must_use]
pub fn ended(error: &serenity::Error) -> (String, u8) {
    match error {
        serenity::Error::Gateway(GatewayError::InvalidAuthentication) => {
            ("the platform refuses the token: put the bot's own token into DISCORD_TOKEN".to_owned(), 78)
        }
        serenity::Error::Gateway(GatewayError::DisallowedGatewayIntents) => (
            "the message-content intent is not switched on for this application: switch it on in the developer portal, \
             or set discord.message_content = false"
                .to_owned(),
            78,
        ),
        serenity::Error::Gateway(GatewayError::InvalidGatewayIntents) => {
            ("the platform does not know the intents that were asked for: update this program".to_owned(), 1)
        }
        _ => ("the line to the platform ended: try again".to_owned(), 75),
    }
}
