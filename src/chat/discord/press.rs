//! The ids of buttons, selects and forms: what was pressed, under which answer.
//!
//! Invariant: [`Press`] and its text are inverse; a text that is none of ours is no [`Press`], whatever it holds.

use std::fmt;
use std::str::FromStr;

use super::kept::turns::Source;

/// Ids of ours begin with this; the number rises when their meaning changes.
const OURS: &str = "hw1";

/// What a component asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verb {
    /// Another clutch size: opens a form, or is the form that was sent.
    Eggs,
    /// Male and female change places.
    Swap,
    /// All kinds of young.
    All,
    /// How it was worked out.
    How,
    /// The same as a picture.
    Draw,
    /// Save this pairing.
    Save,
    /// Show a private answer to everybody here.
    Share,
    /// Show a private explanation to everybody, for those who look after the server.
    Publicise,
    /// A page of the answer.
    Page,
    /// A reading, where something was asked back.
    Pick,
    /// A page of the saved pairings.
    Saved,
    /// A saved pairing, to be worked out.
    Open,
    /// A saved pairing, to be removed.
    Remove,
    /// Erase everything of who asks: opens a form, or is the form that was sent.
    Forget,
    /// Stop working on an answer.
    Cancel,
    /// A page of the asker's animals.
    Herd,
    /// One of the asker's animals, to be shown.
    Animal,
    /// A new animal: opens a form, or is the form that was sent.
    Add,
    /// Something is different about an animal: opens a form, or is the form that was sent.
    Correct,
    /// A weight: opens a form, or is the form that was sent.
    Weigh,
    /// Show an animal of one's own to everybody here.
    Show,
    /// A reminder of what one of the asker's animals is due for, so many days before.
    Remind,
    /// A topic of a "start here".
    Topic,
    /// A post, to be unpinned.
    Unpin,
    /// A post, to be replaced: opens a form, or is the form that was sent.
    Replace,
    /// All posts, to be brought up to date.
    Refresh,
    /// A text of the community's own: the form that was sent.
    Write,
    /// A draft, to be edited again.
    Draft,
    /// A draft, to be published.
    Publish,
    /// A file of words, to be taken in.
    TakeIn,
    /// The settings of the server: the usual species.
    Species,
    /// The settings: where to answer.
    Channels,
    /// The settings: what a mention leads to.
    Mentions,
    /// The settings: who sees answers.
    Quiet,
    /// The settings: the language.
    Locale,
    /// The settings: whether texts may hold links.
    Links,
    /// The settings: the panel itself, first or second part.
    Panel,
    /// The settings: who changed what.
    Changes,
    /// The settings: how much the bot is used here.
    Use,
    /// The settings: all back to the usual.
    Reset,
}

impl Verb {
    const ALL: [(Self, &'static str); 40] = [
        (Self::Eggs, "eggs"),
        (Self::Swap, "swap"),
        (Self::All, "all"),
        (Self::How, "how"),
        (Self::Draw, "draw"),
        (Self::Save, "save"),
        (Self::Share, "share"),
        (Self::Publicise, "public"),
        (Self::Page, "page"),
        (Self::Pick, "pick"),
        (Self::Saved, "saved"),
        (Self::Open, "open"),
        (Self::Remove, "remove"),
        (Self::Forget, "forget"),
        (Self::Cancel, "cancel"),
        (Self::Herd, "herd"),
        (Self::Animal, "animal"),
        (Self::Add, "add"),
        (Self::Correct, "correct"),
        (Self::Weigh, "weigh"),
        (Self::Show, "show"),
        (Self::Remind, "remind"),
        (Self::Topic, "topic"),
        (Self::Unpin, "unpin"),
        (Self::Replace, "replace"),
        (Self::Refresh, "refresh"),
        (Self::Write, "write"),
        (Self::Draft, "draft"),
        (Self::Publish, "publish"),
        (Self::TakeIn, "takein"),
        (Self::Species, "species"),
        (Self::Channels, "channels"),
        (Self::Mentions, "mentions"),
        (Self::Quiet, "quiet"),
        (Self::Locale, "locale"),
        (Self::Links, "links"),
        (Self::Panel, "panel"),
        (Self::Changes, "changes"),
        (Self::Use, "use"),
        (Self::Reset, "reset"),
    ];

    /// Whether it is about the asker's own animals.
    #[must_use]
    pub fn keeps(self) -> bool {
        matches!(self, Self::Herd | Self::Animal | Self::Add | Self::Correct | Self::Weigh | Self::Show | Self::Remind)
    }

    /// Whether it is about posts of explanations.
    #[must_use]
    pub fn posts(self) -> bool {
        matches!(self, Self::Topic | Self::Unpin | Self::Replace | Self::Refresh)
    }

    /// Whether it belongs to the settings of a server.
    #[must_use]
    pub fn sets(self) -> bool {
        matches!(
            self,
            Self::Species
                | Self::Channels
                | Self::Mentions
                | Self::Quiet
                | Self::Locale
                | Self::Links
                | Self::Panel
                | Self::Changes
                | Self::Use
                | Self::Reset
        )
    }
}

/// One component: what it asks for, under which answer, with which number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Press {
    /// What it asks for.
    pub verb: Verb,
    /// The answer it stands under, or the animal it is about; 0 where there is none.
    pub source: Source,
    /// A page, or which of several like it.
    pub n: u32,
}

impl Press {
    /// A component under an answer.
    #[must_use]
    pub fn under(verb: Verb, source: Source) -> Self {
        Self { verb, source, n: 0 }
    }
}

impl fmt::Display for Press {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = Verb::ALL.iter().find(|(v, _)| *v == self.verb).map_or("", |(_, name)| name);
        write!(f, "{OURS}:{name}:{}:{}", self.source, self.n)
    }
}

/// A text that is no id of ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotOurs;

impl FromStr for Press {
    type Err = NotOurs;

    fn from_str(text: &str) -> Result<Self, NotOurs> {
        let mut parts = text.split(':');
        let (Some(OURS), Some(name), Some(source), Some(n), None) =
            (parts.next(), parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(NotOurs);
        };
        let verb = Verb::ALL.iter().find(|(_, known)| *known == name).map(|(v, _)| *v).ok_or(NotOurs)?;
        let press = Self { verb, source: source.parse().map_err(|_| NotOurs)?, n: n.parse().map_err(|_| NotOurs)? };
        // "+7" and "007" parse too, and would make two texts of one press.
        if press.to_string() == text { Ok(press) } else { Err(NotOurs) }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn a_press_and_its_text_are_inverse(verb in 0..Verb::ALL.len(), source: u64, n: u32) {
            let press = Press { verb: Verb::ALL[verb].0, source, n };
            prop_assert_eq!(press.to_string().parse(), Ok(press));
            prop_assert!(press.to_string().len() <= super::super::limits::CUSTOM_ID);
        }

        #[test]
        fn any_other_text_is_no_press(text in "(hw1|hw0)?:?[a-z]{0,8}:?[+0-9]{0,25}:?.{0,12}") {
            if let Ok(press) = text.parse::<Press>() {
                prop_assert_eq!(press.to_string(), text);
            }
        }
    }
}
