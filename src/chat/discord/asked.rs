//! Who asked by an interaction, whether they are answered at all, and how a line is said to them alone.
//!
//! In: interactions of the platform. Out: [`Asked`], and the talk that they go on from.

use serenity::model::guild::Member;
use serenity::model::id::{ChannelId, GuildId, InteractionId, UserId};
use serenity::model::user::User;
use tracing::warn;

use super::deliver;
use super::desk::Desk;
use super::kept::turns::{Answer, Before, Claim, Source};
use super::places::permission;
use super::rate::Verdict;
use super::rest::To;
use super::sentences;
use super::turns::Thread;
use crate::reply::Reply;

/// Who asked by an interaction, and how it is answered.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The interaction.
    pub interaction: InteractionId,
    /// Its token.
    pub token: String,
    /// The channel.
    pub channel: ChannelId,
    /// The server.
    pub guild: Option<GuildId>,
    /// Who asked.
    pub asker: UserId,
    /// The shard it came by.
    pub shard: u32,
    /// What the member may do, as far as the library knows the bits.
    pub permissions: u64,
}

impl Asked {
    /// Who sent this interaction, by the parts that every kind of it has.
    #[must_use]
    pub fn of(
        (interaction, token): (InteractionId, &str),
        (channel, guild): (ChannelId, Option<GuildId>),
        (user, member): (&User, Option<&Member>),
        shard: u32,
    ) -> Self {
        let permissions = member.and_then(|m| m.permissions).map_or(0, |p| p.bits());
        Self { interaction, token: token.to_owned(), channel, guild, asker: user.id, shard, permissions }
    }

    /// The server's id, 0 in direct messages.
    #[must_use]
    pub fn server(&self) -> u64 {
        self.guild.map_or(0, GuildId::get)
    }

    /// The first answer to it.
    #[must_use]
    pub fn answer(&self) -> To {
        To::Answer { interaction: self.interaction, token: self.token.clone(), update: false }
    }

    /// Whether who asked looks after what stands in the server: posts, texts, what everybody sees.
    #[must_use]
    pub fn may_moderate(&self) -> bool {
        let needed = permission::MANAGE_MESSAGES | permission::MANAGE_SERVER | permission::ADMINISTRATOR;
        self.permissions & needed != 0
    }

    /// A record of its answer.
    #[must_use]
    pub fn record(&self, private: bool) -> Answer {
        let (channel, asker) = (self.channel.get(), self.asker.get());
        Answer { channel, guild: self.server(), asker, private, ..Answer::default() }
    }
}

/// Says something privately to who asked, where nothing is to be kept.
pub async fn tell(desk: &Desk, asked: &Asked, reply: &Reply) {
    if let Err(failure) = desk.rest.send(&asked.answer(), &deliver::bare(reply, true)).await {
        warn!(%failure, "an interaction could not be answered");
    }
}

/// Says why not, where somebody may not look after what stands in the server.
pub(super) async fn refused(desk: &Desk, asked: &Asked) -> bool {
    let why = if asked.guild.is_none() {
        sentences::only_in_servers()
    } else if asked.may_moderate() {
        return false;
    } else {
        sentences::not_a_moderator()
    };
    tell(desk, asked, &why).await;
    true
}

/// Whether an interaction is answered at all: not too many, and ours. Says the wait itself.
pub(super) async fn admitted(desk: &Desk, asked: &Asked) -> bool {
    admitted_after(desk, asked, Before::Nothing).await.is_some()
}

/// As [`admitted`], with what was talked of before.
pub(super) async fn admitted_after(desk: &Desk, asked: &Asked, before: Before) -> Option<Thread> {
    if desk.is_blocked(asked.asker.get()) || desk.is_blocked(asked.server()) {
        return None;
    }
    match desk.rate.ask(asked.asker.get(), asked.guild.map(GuildId::get)) {
        Verdict::Fine => {
            match desk.kept.claim(asked.interaction.get(), &asked.record(true), before, asked.shard).await {
                Claim::Mine(thread) => Some(thread.unwrap_or_default()),
                Claim::Taken | Claim::NotOurs => None,
            }
        }
        Verdict::Silent => None,
        Verdict::TellWait(wait) => {
            tell(desk, asked, &sentences::slow_down(wait)).await;
            None
        }
    }
}

/// The answer of a talk that this interaction goes on from, by its id.
pub(super) async fn gone_on_from(desk: &Desk, source: Source) -> Option<Answer> {
    if source == 0 { None } else { desk.kept.answer(source).await }
}
