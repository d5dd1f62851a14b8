//! Servers and channels as far as answering takes: what the bot may do where, and what was last said there.
//!
//! In: events of the platform. Out: permissions, and channels with something new. A few numbers a channel and no names,
//! so that a thousand servers stay small. Never: a member, a message.

use std::collections::HashMap;
use std::sync::RwLock;

use serenity::model::channel::{ChannelType, GuildChannel, PermissionOverwrite, PermissionOverwriteType};
use serenity::model::guild::{Guild, Role};
use serenity::model::id::UserId;

/// Permissions by their bits. The library's own type drops the ones that it does not know, such as the last.
pub mod permission {
    /// May do everything.
    pub const ADMINISTRATOR: u64 = 1 << 3;
    /// May change the server.
    pub const MANAGE_SERVER: u64 = 1 << 5;
    /// Add Reactions.
    pub const REACT: u64 = 1 << 6;
    /// View Channel.
    pub const VIEW: u64 = 1 << 10;
    /// Send Messages.
    pub const SEND: u64 = 1 << 11;
    /// Manage Messages: what moderators have.
    pub const MANAGE_MESSAGES: u64 = 1 << 13;
    /// Embed Links.
    pub const EMBED: u64 = 1 << 14;
    /// Attach Files.
    pub const ATTACH: u64 = 1 << 15;
    /// Read Message History: needed to reply.
    pub const HISTORY: u64 = 1 << 16;
    /// Send Messages in Threads.
    pub const SEND_IN_THREADS: u64 = 1 << 38;
    /// Pin Messages.
    pub const PIN: u64 = 1 << 51;

    /// What the bot asks for when it is invited, each with what it is for.
    pub const NEEDED: [(u64, &str, &str); 7] = [
        (VIEW, "View Channel", "to hear a mention"),
        (SEND, "Send Messages", "to answer it"),
        (SEND_IN_THREADS, "Send Messages in Threads", "to answer in threads"),
        (EMBED, "Embed Links", "to draw an answer as a card; without it, it is plain text"),
        (ATTACH, "Attach Files", "to send pictures and long lists"),
        (HISTORY, "Read Message History", "to answer as a reply, and what was asked while it was away"),
        (PIN, "Pin Messages", "to pin explanations, when a moderator asks for it"),
    ];

    /// The number of an invitation.
    #[must_use]
    pub fn invitation() -> u64 {
        NEEDED.iter().fold(0, |all, p| all | p.0)
    }
}

#[derive(Debug, Clone, Default)]
struct Channel {
    /// Of a thread, the channel that it hangs on; 0 else.
    parent: u64,
    thread: bool,
    text: bool,
    last: u64,
    /// Denied and allowed to everyone, then to each of the bot's roles together, then to the bot itself.
    overwrites: [(u64, u64); 3],
}

#[derive(Debug, Clone, Default)]
struct Place {
    everyone: u64,
    owner: bool,
    /// Permissions by role.
    roles: HashMap<u64, u64>,
    /// The roles of the bot.
    mine: Vec<u64>,
    system: u64,
    channels: HashMap<u64, Channel>,
}

/// All servers of this process.
#[derive(Debug, Default)]
pub struct Places {
    servers: RwLock<HashMap<u64, Place>>,
}

impl Places {
    /// Takes a server as the platform tells of it.
    pub fn take(&self, server: &Guild, me: UserId) {
        let mut place = Place {
            owner: server.owner_id == me,
            system: server.system_channel_id.map_or(0, serenity::model::id::ChannelId::get),
            mine: server.members.get(&me).map(|m| m.roles.iter().map(|r| r.get()).collect()).unwrap_or_default(),
            ..Place::default()
        };
        for role in server.roles.values() {
            place.take_role(server.id.get(), role);
        }
        for channel in server.channels.values().chain(&server.threads) {
            let taken = place.channel(server.id.get(), me, channel);
            place.channels.insert(channel.id.get(), taken);
        }
        if let Ok(mut servers) = self.servers.write() {
            servers.insert(server.id.get(), place);
        }
    }

    /// Forgets a server.
    pub fn drop(&self, server: u64) {
        if let Ok(mut servers) = self.servers.write() {
            servers.remove(&server);
        }
    }

    /// Takes a channel or thread that is new or was changed.
    pub fn channel(&self, me: UserId, channel: &GuildChannel) {
        let server = channel.guild_id.get();
        if let Ok(mut servers) = self.servers.write()
            && let Some(place) = servers.get_mut(&server)
        {
            let taken = place.channel(server, me, channel);
            place.channels.insert(channel.id.get(), taken);
        }
    }

    /// Forgets a channel.
    pub fn drop_channel(&self, server: u64, channel: u64) {
        if let Ok(mut servers) = self.servers.write()
            && let Some(place) = servers.get_mut(&server)
        {
            place.channels.remove(&channel);
        }
    }

    /// Takes a role that is new or was changed.
    pub fn role(&self, role: &Role) {
        let server = role.guild_id.get();
        if let Ok(mut servers) = self.servers.write()
            && let Some(place) = servers.get_mut(&server)
        {
            place.take_role(server, role);
        }
    }

    /// Takes the bot's own roles.
    pub fn my_roles(&self, server: u64, roles: Vec<u64>) {
        if let Ok(mut servers) = self.servers.write()
            && let Some(place) = servers.get_mut(&server)
        {
            place.mine = roles;
        }
    }

    /// Servers known.
    #[must_use]
    pub fn len(&self) -> usize {
        self.servers.read().map_or(0, |s| s.len())
    }

    /// Whether this server is known.
    #[must_use]
    pub fn knows(&self, server: u64) -> bool {
        self.servers.read().is_ok_and(|s| s.contains_key(&server))
    }

    /// Whether no server is known.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The channel that a thread hangs on; a channel's own id for any other.
    #[must_use]
    pub fn root(&self, server: u64, channel: u64) -> u64 {
        let found = self.servers.read().ok().and_then(|s| s.get(&server)?.channels.get(&channel).cloned());
        found.filter(|c| c.thread).map_or(channel, |c| c.parent)
    }

    /// What the bot may do in a channel; `None` where the channel is not known.
    #[must_use]
    pub fn may(&self, server: u64, channel: u64) -> Option<u64> {
        self.servers.read().ok()?.get(&server)?.may(channel)
    }

    /// Where a hello may be said: the server's own channel for notices, else the first in which the bot may write.
    #[must_use]
    pub fn for_hello(&self, server: u64) -> Option<u64> {
        let needed = permission::VIEW | permission::SEND;
        let servers = self.servers.read().ok()?;
        let place = servers.get(&server)?;
        let open = |id: u64| place.may(id).is_some_and(|p| p & needed == needed);
        if place.system != 0 && open(place.system) {
            return Some(place.system);
        }
        let mut channels: Vec<u64> =
            place.channels.iter().filter(|(_, c)| c.text && !c.thread).map(|(id, _)| *id).collect();
        channels.sort_unstable();
        channels.into_iter().find(|id| open(*id))
    }

    /// Channels of a server in which something was said after `since` (ids grow with time).
    #[must_use]
    pub fn spoken_since(&self, server: u64, since: u64) -> Vec<u64> {
        let Ok(servers) = self.servers.read() else { return Vec::new() };
        let Some(place) = servers.get(&server) else { return Vec::new() };
        let readable = |id: u64| {
            let needed = permission::VIEW | permission::HISTORY;
            place.may(id).is_none_or(|p| p & needed == needed)
        };
        place.channels.iter().filter(|(id, c)| c.last > since && readable(**id)).map(|(id, _)| *id).collect()
    }
}

impl Place {
    fn take_role(&mut self, server: u64, role: &Role) {
        if role.id.get() == server {
            self.everyone = role.permissions.bits();
        } else {
            self.roles.insert(role.id.get(), role.permissions.bits());
        }
    }

    fn channel(&self, server: u64, me: UserId, channel: &GuildChannel) -> Channel {
        let thread =
            matches!(channel.kind, ChannelType::NewsThread | ChannelType::PublicThread | ChannelType::PrivateThread);
        let mut taken = Channel {
            parent: channel.parent_id.map_or(0, serenity::model::id::ChannelId::get),
            thread,
            text: matches!(channel.kind, ChannelType::Text | ChannelType::News),
            last: channel.last_message_id.map_or(0, serenity::model::id::MessageId::get),
            overwrites: [(0, 0); 3],
        };
        for PermissionOverwrite { allow, deny, kind, .. } in &channel.permission_overwrites {
            let level = match kind {
                PermissionOverwriteType::Role(role) if role.get() == server => 0,
                PermissionOverwriteType::Role(role) if self.mine.contains(&role.get()) => 1,
                PermissionOverwriteType::Member(member) if *member == me => 2,
                _ => continue,
            };
            taken.overwrites[level].0 |= deny.bits();
            taken.overwrites[level].1 |= allow.bits();
        }
        taken
    }

    fn may(&self, channel: u64) -> Option<u64> {
        let mut found = self.channels.get(&channel)?;
        let thread = found.thread;
        if thread {
            found = self.channels.get(&found.parent)?;
        }
        let roles = self.mine.iter().filter_map(|r| self.roles.get(r));
        let mut may = roles.fold(self.everyone, |all, p| all | p);
        if self.owner || may & permission::ADMINISTRATOR != 0 {
            return Some(u64::MAX);
        }
        for (deny, allow) in found.overwrites {
            may = may & !deny | allow;
        }
        if thread {
            // In a thread it is the other permission that counts.
            let send = if may & permission::SEND_IN_THREADS != 0 { permission::SEND } else { 0 };
            may = may & !permission::SEND | send;
        }
        Some(may)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_invitation_asks_for_the_documented_number() {
        assert_eq!(permission::invitation(), 2_252_074_691_709_952);
    }
}
