//! The line on which the platform speaks: logging in, events, and why it ended.
//!
//! The library keeps the line; its events come here and are handed on. In: a [`Desk`]. Out: calls to `questions`,
//! `presses`, `hello`, `catch_up`.

use std::collections::HashSet;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, OnceLock};

use anyhow::{Context as _, Result};
use poise::FrameworkContext;
use serenity::all::{
    ChannelId, Client, ClientBuilder, ConnectionStage, Context, EventHandler, FullEvent, GatewayIntents, Guild,
    GuildChannel, GuildId, GuildMemberUpdateEvent, Http, HttpBuilder, Interaction, Member, Message, MessageId,
    MessageUpdateEvent, PartialGuildChannel, Ready, ResumedEvent, Role, ShardManager, ShardStageUpdateEvent,
    ThreadListSyncEvent, UnavailableGuild,
};
use serenity::async_trait;
use serenity::gateway::GatewayError;
use tracing::{info, warn};

use super::desk::Desk;
use super::{catch_up, commands, hello, posts, presses, questions};

/// Events to handlers.
pub struct Front {
    desk: Arc<Desk>,
    options: commands::Options,
    shards: OnceLock<Arc<ShardManager>>,
    /// Servers that the last login named: they were joined before it.
    at_login: Mutex<HashSet<u64>>,
    connected: Mutex<HashSet<u32>>,
    registered: tokio::sync::OnceCell<()>,
}

impl Front {
    fn line(&self, shard: u32, up: bool) {
        let Ok(mut connected) = self.connected.lock() else { return };
        if up {
            connected.insert(shard);
        } else {
            connected.remove(&shard);
        }
        self.desk.numbers.connected.set(i64::try_from(connected.len()).unwrap_or(i64::MAX));
    }
}

#[async_trait]
impl EventHandler for Front {
    async fn ready(&self, ctx: Context, ready: Ready) {
        let desk = &self.desk;
        let shard = ctx.shard_id.0;
        let before = desk.heard(shard);
        desk.hears(shard);
        let _ = desk.me.set(ready.user.id);
        let _ = desk.application.set(ready.application.id);
        if let Ok(mut at_login) = self.at_login.lock() {
            at_login.extend(ready.guilds.iter().map(|g| g.id.get()));
        }
        if let Ok(at_login) = self.at_login.lock() {
            desk.named.store(at_login.len(), Ordering::Relaxed);
        }
        desk.numbers.logins.inc();
        self.line(shard, true);
        info!(shard, servers = ready.guilds.len(), "logged in");
        catch_up::note_login(desk, shard, before).await;
        let register = async {
            if let Err(failure) = commands::register(desk, &self.options).await {
                warn!(%failure, "the commands could not be registered; they are tried again at the next start");
            }
        };
        self.registered.get_or_init(|| register).await;
    }

    async fn resume(&self, ctx: Context, _: ResumedEvent) {
        self.desk.hears(ctx.shard_id.0);
        self.desk.numbers.resumes.inc();
        self.line(ctx.shard_id.0, true);
        info!(shard = ctx.shard_id.0, "resumed the line");
    }

    async fn shard_stage_update(&self, _: Context, event: ShardStageUpdateEvent) {
        if event.new != ConnectionStage::Connected {
            self.line(event.shard_id.0, false);
        }
    }

    async fn message(&self, ctx: Context, message: Message) {
        self.desk.hears(ctx.shard_id.0);
        questions::message(&self.desk, &message, ctx.shard_id.0).await;
    }

    async fn message_update(&self, ctx: Context, _: Option<Message>, _: Option<Message>, event: MessageUpdateEvent) {
        self.desk.hears(ctx.shard_id.0);
        let by_bot = event.author.as_ref().is_some_and(|a| a.bot);
        // A preview that the platform adds to a link is an update too, without words that were edited.
        let edited = event.edited_timestamp.is_some();
        if let (Some(content), true, false) = (&event.content, edited, by_bot) {
            questions::edited(&self.desk, event.id, content).await;
        }
    }

    async fn message_delete(&self, ctx: Context, _: ChannelId, message: MessageId, server: Option<GuildId>) {
        self.desk.hears(ctx.shard_id.0);
        questions::deleted(&self.desk, message).await;
        posts::vanished(&self.desk, server.map_or(0, GuildId::get), message.get()).await;
    }

    async fn message_delete_bulk(&self, ctx: Context, _: ChannelId, messages: Vec<MessageId>, server: Option<GuildId>) {
        self.desk.hears(ctx.shard_id.0);
        for message in self.desk.kept.asked_among(&messages).await {
            questions::deleted(&self.desk, message).await;
        }
        for message in messages {
            posts::vanished(&self.desk, server.map_or(0, GuildId::get), message.get()).await;
        }
    }

    async fn interaction_create(&self, ctx: Context, interaction: Interaction) {
        self.desk.hears(ctx.shard_id.0);
        let (Some(shards), Some(me)) = (self.shards.get(), self.desk.me.get()) else { return };
        match &interaction {
            Interaction::Component(pressed) => presses::component(&self.desk, pressed, ctx.shard_id.0).await,
            Interaction::Modal(sent) => presses::form(&self.desk, sent, ctx.shard_id.0).await,
            Interaction::Command(_) | Interaction::Autocomplete(_) => {
                // poise dispatches commands and completions, and nothing else; its own loop would hold events back.
                let framework = FrameworkContext {
                    bot_id: *me,
                    serenity_context: &ctx,
                    options: &self.options,
                    user_data: &self.desk,
                    shard_manager: shards,
                };
                // On the heap: its future holds every command's.
                Box::pin(poise::dispatch_event(framework, FullEvent::InteractionCreate { interaction })).await;
            }
            _ => {}
        }
    }

    async fn guild_create(&self, ctx: Context, guild: Guild, _: Option<bool>) {
        self.desk.hears(ctx.shard_id.0);
        let Some(me) = self.desk.me.get() else { return };
        self.desk.places.take(&guild, *me);
        self.desk.numbers.servers.set(i64::try_from(self.desk.places.len()).unwrap_or(i64::MAX));
        let at_login = self.at_login.lock().is_ok_and(|known| known.contains(&guild.id.get()));
        hello::told_of(&self.desk, &guild, at_login).await;
        catch_up::server(&self.desk, &guild).await;
    }

    async fn guild_delete(&self, ctx: Context, incomplete: UnavailableGuild, _: Option<Guild>) {
        self.desk.hears(ctx.shard_id.0);
        // An outage takes servers away for a while, and is no removal.
        if incomplete.unavailable {
            return;
        }
        if let Ok(mut known) = self.at_login.lock() {
            known.remove(&incomplete.id.get());
        }
        hello::left(&self.desk, incomplete.id.get()).await;
        self.desk.numbers.servers.set(i64::try_from(self.desk.places.len()).unwrap_or(i64::MAX));
    }

    async fn channel_create(&self, _: Context, channel: GuildChannel) {
        self.take(&channel);
    }

    async fn channel_update(&self, _: Context, _: Option<GuildChannel>, channel: GuildChannel) {
        self.take(&channel);
        posts::look_again(&self.desk, channel.guild_id.get()).await;
    }

    async fn channel_delete(&self, _: Context, channel: GuildChannel, _: Option<Vec<Message>>) {
        self.desk.places.drop_channel(channel.guild_id.get(), channel.id.get());
        posts::vanished(&self.desk, channel.guild_id.get(), channel.id.get()).await;
    }

    async fn thread_create(&self, _: Context, thread: GuildChannel) {
        self.take(&thread);
    }

    async fn thread_update(&self, _: Context, _: Option<GuildChannel>, thread: GuildChannel) {
        self.take(&thread);
    }

    async fn thread_delete(&self, _: Context, thread: PartialGuildChannel, _: Option<GuildChannel>) {
        self.desk.places.drop_channel(thread.guild_id.get(), thread.id.get());
        posts::vanished(&self.desk, thread.guild_id.get(), thread.id.get()).await;
    }

    async fn thread_list_sync(&self, _: Context, sync: ThreadListSyncEvent) {
        for thread in &sync.threads {
            self.take(thread);
        }
    }

    async fn guild_role_create(&self, _: Context, role: Role) {
        self.desk.places.role(&role);
    }

    async fn guild_role_update(&self, _: Context, _: Option<Role>, role: Role) {
        self.desk.places.role(&role);
        posts::look_again(&self.desk, role.guild_id.get()).await;
    }

    async fn guild_member_update(
        &self,
        _: Context,
        _: Option<Member>,
        _: Option<Member>,
        event: GuildMemberUpdateEvent,
    ) {
        if Some(&event.user.id) == self.desk.me.get() {
            self.desk.places.my_roles(event.guild_id.get(), event.roles.iter().map(|r| r.get()).collect());
            posts::look_again(&self.desk, event.guild_id.get()).await;
        }
    }
}

impl Front {
    fn take(&self, channel: &GuildChannel) {
        if let Some(me) = self.desk.me.get() {
            self.desk.places.channel(*me, channel);
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

/// A client that is ready to log in at `line`.
///
/// # Errors
/// When the library cannot be set up.
pub async fn client(desk: &Arc<Desk>, line: &str) -> Result<Client> {
    let front = Arc::new(Front {
        desk: Arc::clone(desk),
        options: commands::options(),
        shards: OnceLock::new(),
        at_login: Mutex::default(),
        connected: Mutex::default(),
        registered: tokio::sync::OnceCell::new(),
    });
    let intents = intents(desk.settings.message_content);
    let client = ClientBuilder::new_with_http(http(desk)?, intents)
        .event_handler_arc(Arc::clone(&front))
        .await
        .context("preparing the line to the platform")?;
    // The library asks for the address by itself and takes the public one when that fails; the one that was told to us is
    // the one to use.
    line.clone_into(&mut *client.ws_url.lock().await);
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
