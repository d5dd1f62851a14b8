//! What the platform tells a bot: messages, edits, commands, presses, forms, servers.

use serde_json::{Value, json};

use super::{BOT, CHANNEL, DIRECT, Platform, SERVER, is_id};

/// A member as an event names them.
pub(crate) fn user(id: u64) -> Value {
    json!({"id": id.to_string(), "username": format!("member{}", id % 1000), "discriminator": "0", "global_name": null,
           "avatar": null, "bot": id == BOT, "public_flags": 0})
}

fn member(permissions: Option<u64>) -> Value {
    let mut member = json!({"roles": [], "joined_at": "2024-01-01T00:00:00+00:00", "deaf": false, "mute": false,
        "flags": 0, "nick": null, "avatar": null, "premium_since": null, "pending": false,
        "communication_disabled_until": null});
    if let Some(permissions) = permissions {
        member["permissions"] = permissions.to_string().into();
    }
    member
}

/// What can be said beside the words of a message.
#[derive(Debug, Clone, Default)]
pub(crate) struct Said {
    /// The message that is replied to.
    pub(crate) reply_to: Option<u64>,
    /// The writer is a bot.
    pub(crate) bot: bool,
    /// It comes by a webhook.
    pub(crate) webhook: bool,
    /// It is forwarded from elsewhere.
    pub(crate) forwarded: bool,
    /// It holds a picture.
    pub(crate) picture: bool,
    /// It holds a sticker.
    pub(crate) sticker: bool,
    /// Files that go with it.
    pub(crate) files: Vec<Value>,
}

impl Platform {
    /// A member writes in the usual channel.
    pub(crate) fn says(&self, who: u64, content: &str) -> u64 {
        self.says_in(CHANNEL, Some(SERVER), who, content, &Said::default())
    }

    /// A member writes a direct message.
    pub(crate) fn whispers(&self, who: u64, content: &str) -> u64 {
        self.says_in(DIRECT, None, who, content, &Said::default())
    }

    /// A member replies to a message, with the ping on.
    pub(crate) fn replies(&self, who: u64, to: &Value, content: &str) -> u64 {
        let to = to["id"].as_str().and_then(|id| id.parse().ok()).expect("a message has an id");
        let said = Said { reply_to: Some(to), ..Said::default() };
        self.says_in(CHANNEL, Some(SERVER), who, content, &said)
    }

    /// A member writes anywhere, in any way.
    pub(crate) fn says_in(&self, channel: u64, server: Option<u64>, who: u64, content: &str, said: &Said) -> u64 {
        let id = self.id();
        let (message, tells) = self.message(id, channel, server, who, content, said);
        self.with(|s| s.messages.insert(id, message.clone()));
        let mut told = message;
        if !tells {
            told["content"] = "".into();
        }
        self.event("MESSAGE_CREATE", &told, server);
        id
    }

    /// A member writes in the usual channel while nobody is told: only the history knows of it.
    pub(crate) fn missed(&self, who: u64, content: &str) -> u64 {
        let id = self.id();
        let (message, _) = self.message(id, CHANNEL, Some(SERVER), who, content, &Said::default());
        self.with(|s| s.messages.insert(id, message));
        id
    }

    /// A member edits a message.
    pub(crate) fn edits(&self, id: u64, content: &str) {
        let old = self.with(|s| s.messages.get(&id).cloned()).expect("the message is there");
        let number = |v: &Value| v.as_str().and_then(|t| t.parse::<u64>().ok());
        let server = number(&old["guild_id"]);
        let who = number(&old["author"]["id"]).expect("an author");
        let channel = number(&old["channel_id"]).expect("a channel");
        let said = Said { reply_to: number(&old["message_reference"]["message_id"]), ..Said::default() };
        let (mut message, tells) = self.message(id, channel, server, who, content, &said);
        message["edited_timestamp"] = "2026-01-01T00:00:00+00:00".into();
        self.with(|s| s.messages.insert(id, message.clone()));
        if !tells {
            message["content"] = "".into();
        }
        self.event("MESSAGE_UPDATE", &message, server);
    }

    /// A message is deleted.
    pub(crate) fn deletes(&self, id: u64) {
        let old = self.with(|s| s.messages.remove(&id)).expect("the message is there");
        let event = json!({"id": id.to_string(), "channel_id": old["channel_id"], "guild_id": old["guild_id"]});
        self.event("MESSAGE_DELETE", &event, old["guild_id"].as_str().and_then(|t| t.parse().ok()));
    }

    /// The message, and whether a bot without the message-content intent is told its words.
    fn message(
        &self,
        id: u64,
        channel: u64,
        server: Option<u64>,
        who: u64,
        content: &str,
        said: &Said,
    ) -> (Value, bool) {
        let mut mentions: Vec<Value> = Vec::new();
        let named = content.contains(&format!("<@{BOT}>")) || content.contains(&format!("<@!{BOT}>"));
        let replied = said.reply_to.and_then(|to| self.with(|s| s.messages.get(&to).cloned()));
        let to_bot = replied.as_ref().is_some_and(|m| is_id(&m["author"]["id"], BOT));
        if named || to_bot {
            mentions.push(user(BOT));
        }
        let mut author = user(who);
        author["bot"] = said.bot.into();
        let mut message = json!({
            "id": id.to_string(), "channel_id": channel.to_string(), "author": author,
            "content": content, "timestamp": "2026-01-01T00:00:00+00:00", "edited_timestamp": null, "tts": false,
            "mention_everyone": false, "mentions": mentions, "mention_roles": [], "attachments": [], "embeds": [],
            "pinned": false, "type": if said.reply_to.is_some() { 19 } else { 0 }, "flags": 0, "components": [],
        });
        if let Some(server) = server {
            message["guild_id"] = server.to_string().into();
            message["member"] = member(None);
        }
        if let Some(to) = said.reply_to {
            message["message_reference"] =
                json!({"type": 0, "message_id": to.to_string(), "channel_id": channel.to_string()});
            message["referenced_message"] = replied.unwrap_or(Value::Null);
        }
        if said.forwarded {
            message["message_reference"] =
                json!({"type": 1, "message_id": self.id().to_string(), "channel_id": channel.to_string()});
            message["message_snapshots"] = json!([{"message": {"type": 0, "content": content, "mentions": [],
                "mention_roles": [], "attachments": [], "embeds": [], "timestamp": "2026-01-01T00:00:00+00:00",
                "edited_timestamp": null, "flags": 0, "components": []}}]);
            message["content"] = "".into();
        }
        if said.webhook {
            message["webhook_id"] = self.id().to_string().into();
        }
        if said.picture {
            message["attachments"] = json!([{"id": self.id().to_string(), "filename": "clutch.jpg", "size": 1024,
                "url": "https://cdn.example/clutch.jpg", "proxy_url": "https://cdn.example/clutch.jpg",
                "content_type": "image/jpeg", "width": 10, "height": 10}]);
        }
        if !said.files.is_empty() {
            message["attachments"] = said.files.clone().into();
        }
        if said.sticker {
            message["sticker_items"] = json!([{"id": self.id().to_string(), "name": "wave", "format_type": 1}]);
        }
        let intended = self.with(|s| s.intents & (1 << 15) != 0);
        (message, server.is_none() || named || to_bot || intended)
    }

    fn interaction(&self, kind: u64, who: u64, server: Option<u64>, data: &Value) -> (Value, String) {
        let id = self.id();
        let token = format!("interaction-token-{id}");
        let permissions = self.with(|s| s.permissions);
        let channel = if server.is_some() { CHANNEL } else { DIRECT };
        let mut event = json!({
            "id": id.to_string(), "application_id": BOT.to_string(), "type": kind, "token": token, "version": 1,
            "channel_id": channel.to_string(), "data": data, "locale": "en-GB", "entitlements": [],
            "app_permissions": "2252074691709952", "attachment_size_limit": 10_485_760,
            "authorizing_integration_owners": {}, "context": i32::from(server.is_none()),
            "channel": {"id": channel.to_string(), "type": i32::from(server.is_none())},
        });
        if let Some(server) = server {
            let mut member = member(Some(permissions.unwrap_or(0x7fff_ffff_ffff)));
            member["user"] = user(who);
            event["guild_id"] = server.to_string().into();
            event["guild_locale"] = "en-GB".into();
            event["member"] = member;
        } else {
            event["user"] = user(who);
        }
        (event, token)
    }

    /// A member sends a slash command. Gives the token of the interaction.
    pub(crate) fn command(&self, who: u64, server: Option<u64>, name: &str, options: &Value) -> String {
        let data = json!({"id": self.id().to_string(), "name": name, "type": 1, "options": options});
        let (event, token) = self.interaction(2, who, server, &data);
        self.event("INTERACTION_CREATE", &event, server);
        token
    }

    /// A member sends a slash command with a file; `options` name it by its id.
    pub(crate) fn command_with(&self, who: u64, name: &str, options: &Value, file: &Value) -> String {
        let id = file["id"].as_str().expect("an id");
        let data = json!({"id": self.id().to_string(), "name": name, "type": 1, "options": options,
            "resolved": {"attachments": {id: file}}});
        let (event, token) = self.interaction(2, who, Some(SERVER), &data);
        self.event("INTERACTION_CREATE", &event, Some(SERVER));
        token
    }

    /// A member types in a command.
    pub(crate) fn types(&self, who: u64, name: &str, options: &Value) -> String {
        let data = json!({"id": self.id().to_string(), "name": name, "type": 1, "options": options});
        let (event, token) = self.interaction(4, who, Some(SERVER), &data);
        self.event("INTERACTION_CREATE", &event, Some(SERVER));
        token
    }

    /// A member picks a menu command on a message.
    pub(crate) fn picks(&self, who: u64, name: &str, message: u64) -> String {
        let target = self.with(|s| s.messages.get(&message).cloned()).expect("the message is there");
        let data = json!({"id": self.id().to_string(), "name": name, "type": 3, "target_id": message.to_string(),
            "resolved": {"messages": {message.to_string(): target}}});
        let (event, token) = self.interaction(2, who, Some(SERVER), &data);
        self.event("INTERACTION_CREATE", &event, Some(SERVER));
        token
    }

    /// A member presses a button under a message.
    pub(crate) fn presses(&self, who: u64, message: &Value, custom_id: &str) -> String {
        self.component(who, message, &json!({"custom_id": custom_id, "component_type": 2}))
    }

    /// A member chooses in a select of words under a message.
    pub(crate) fn chooses(&self, who: u64, message: &Value, custom_id: &str, values: &[&str]) -> String {
        self.component(who, message, &json!({"custom_id": custom_id, "component_type": 3, "values": values}))
    }

    /// A member uses any component under a message.
    pub(crate) fn component(&self, who: u64, message: &Value, data: &Value) -> String {
        let server = if is_id(&message["channel_id"], DIRECT) { None } else { Some(SERVER) };
        let (event, token) = self.press(who, message, data);
        self.event("INTERACTION_CREATE", &event, server);
        token
    }

    /// A press as the platform tells of it, and its token.
    pub(crate) fn press(&self, who: u64, message: &Value, data: &Value) -> (Value, String) {
        let server = if is_id(&message["channel_id"], DIRECT) { None } else { Some(SERVER) };
        let (mut event, token) = self.interaction(3, who, server, data);
        event["message"] = message.clone();
        self.with(|s| s.origins.insert(token.clone(), message.clone()));
        (event, token)
    }

    /// A member sends a form.
    pub(crate) fn submits(
        &self,
        who: u64,
        custom_id: &str,
        values: &[(&str, &str)],
        message: Option<&Value>,
    ) -> String {
        let rows: Vec<Value> = values
            .iter()
            .map(|(id, value)| json!({"type": 1, "components": [{"type": 4, "custom_id": id, "value": value}]}))
            .collect();
        let (mut event, token) =
            self.interaction(5, who, Some(SERVER), &json!({"custom_id": custom_id, "components": rows}));
        if let Some(message) = message {
            event["message"] = message.clone();
            self.with(|s| s.origins.insert(token.clone(), message.clone()));
        }
        self.event("INTERACTION_CREATE", &event, Some(SERVER));
        token
    }

    /// The bot is told of a server.
    pub(crate) fn server(&self, id: u64, joined_at: &str, more: &Value) {
        let mut server = server(id, joined_at);
        for (key, value) in more.as_object().into_iter().flatten() {
            server[key] = value.clone();
        }
        self.event("GUILD_CREATE", &server, Some(id));
    }

    /// The bot is removed from a server.
    pub(crate) fn removes(&self, id: u64) {
        self.event("GUILD_DELETE", &json!({"id": id.to_string()}), Some(id));
    }
}

/// A server as the platform tells of it.
pub(crate) fn server(id: u64, joined_at: &str) -> Value {
    let channel = |id: u64, name: &str| {
        json!({"id": id.to_string(), "type": 0, "name": name, "position": 0,
        "permission_overwrites": [], "nsfw": false, "topic": null, "parent_id": null, "last_message_id": null,
        "rate_limit_per_user": 0})
    };
    let base = if id == SERVER { 200_000_000_000_000_000 } else { id + 50 };
    let mut me = member(None);
    me["user"] = user(BOT);
    let mut server = json!({
        "id": id.to_string(), "name": "Scales", "icon": null, "icon_hash": null, "splash": null, "discovery_splash": null,
        "owner_id": "400000000000000009", "afk_channel_id": null, "afk_timeout": 300, "widget_enabled": false,
        "verification_level": 0, "default_message_notifications": 0, "explicit_content_filter": 0,
        "roles": [{"id": id.to_string(), "name": "@everyone", "color": 0, "hoist": false, "position": 0,
            "permissions": "2252074691709952", "managed": false, "mentionable": false, "flags": 0, "icon": null,
            "unicode_emoji": null, "colors": {"primary_color": 0, "secondary_color": null, "tertiary_color": null}}],
        "emojis": [], "features": [], "mfa_level": 0, "application_id": null, "system_channel_id": (base + 1).to_string(),
    });
    let more = json!({
        "system_channel_flags": 0, "rules_channel_id": null, "max_presences": null, "max_members": 500_000,
        "vanity_url_code": null, "description": null, "banner": null, "premium_tier": 0, "premium_subscription_count": 0,
        "preferred_locale": "en-US", "public_updates_channel_id": null, "nsfw_level": 0, "stickers": [],
        "premium_progress_bar_enabled": false, "safety_alerts_channel_id": null,
        "joined_at": joined_at, "large": false, "unavailable": false, "member_count": 12, "voice_states": [],
        "members": [me], "channels": [channel(base + 1, "general"), channel(base + 2, "pairings")], "threads": [],
        "presences": [], "stage_instances": [], "guild_scheduled_events": [], "soundboard_sounds": [],
    });
    for (key, value) in more.as_object().into_iter().flatten() {
        server[key] = value.clone();
    }
    server
}
