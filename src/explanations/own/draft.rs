//! A text as a moderator typed it, and what may not be in it: calls to people, mark-up tricks, unseen signs, links, length.
//!
//! In: a [`Draft`]. Out: a checked [`Wording`], or a [`Refused`] with every fault and the draft unchanged, so that nothing
//! typed is lost. Plain emphasis (`*word*`) and lists stay; whatever could hide, call or lead away does not.

use std::fmt;
use std::sync::OnceLock;

use regex::Regex;
use thiserror::Error;
use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

use crate::explanations::topic::placeholders;

/// Characters of a text.
pub const MOST_TEXT: usize = 4_000;
/// Characters of a title, and of a question that leads to it.
pub const MOST_TITLE: usize = 60;
/// Questions that lead to one topic.
pub const MOST_QUESTIONS: usize = 12;
/// Combining marks on one letter; real writing needs no more.
const MOST_MARKS: usize = 2;
/// Faults that are listed; the rest is counted.
const MOST_FAULTS: usize = 10;

/// What was typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Draft {
    /// A title; without one that of the built-in topic stays.
    pub title: Option<String>,
    /// Everyday questions that lead to it, beside the built-in ones.
    pub questions: Vec<String>,
    /// The text.
    pub text: String,
}

/// A checked text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wording {
    /// Its title, if it has one of its own.
    pub(crate) title: Option<String>,
    pub(super) questions: Vec<String>,
    pub(super) text: String,
}

impl Wording {
    /// What was typed, to be edited again.
    #[must_use]
    pub fn draft(&self) -> Draft {
        Draft { title: self.title.clone(), questions: self.questions.clone(), text: self.text.clone() }
    }

    /// The questions that lead to it.
    #[must_use]
    pub fn questions(&self) -> &[String] {
        &self.questions
    }

    /// The addresses in its text. It was checked that they may be there.
    #[must_use]
    pub fn links(&self) -> Vec<String> {
        let words = self.text.split_whitespace().filter(|word| word.starts_with("https://"));
        words.map(|word| word.trim_end_matches(['.', ',', ';', ':', '!', '?', ')']).to_owned()).collect()
    }

    /// The paragraphs of its text.
    #[must_use]
    pub fn paragraphs(&self) -> Vec<&str> {
        self.text.lines().map(str::trim).filter(|l| !l.is_empty()).collect()
    }
}

/// What a place allows in its texts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Rules {
    /// Whether a text may hold plain https links.
    pub links: bool,
}

/// The part of a draft that a fault is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The title.
    Title,
    /// The questions.
    Questions,
    /// This line of the text, from 1.
    Line(usize),
    /// The text as a whole.
    Text,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Title => f.write_str("title"),
            Self::Questions => f.write_str("questions"),
            Self::Line(n) => write!(f, "line {n}"),
            Self::Text => f.write_str("text"),
        }
    }
}

/// What is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Wrong {
    /// Nothing was written.
    #[error("nothing is written; write at least one sentence")]
    Empty,
    /// Too many characters.
    #[error("{is} characters, {most} are allowed; take out {}", is - most)]
    TooLong {
        /// So many there are.
        is: usize,
        /// So many may be.
        most: usize,
    },
    /// Too many questions.
    #[error("{is} questions, {most} are allowed")]
    TooMany {
        /// So many there are.
        is: usize,
        /// So many may be.
        most: usize,
    },
    /// Something that calls people or roles.
    #[error("{0:?} could call people; write the name without the sign before it")]
    Call(String),
    /// Mark-up that hides, links or breaks the post.
    #[error("{0:?} is mark-up that is not shown here; leave it out (plain *emphasis* and lists are fine)")]
    Markup(String),
    /// A sign that nobody sees.
    #[error("there is an unseen sign ({0}) after {1:?}; delete it, or type the word again")]
    Unseen(String, String),
    /// Heaped accents.
    #[error("{0:?} has more than {MOST_MARKS} accents on one letter")]
    Marks(String),
    /// A link where none is allowed.
    #[error("{0:?} is a link, which is not allowed here; describe it in words")]
    Link(String),
    /// A link that is not a plain https one.
    #[error("{0:?} is no plain https link")]
    LinkForm(String),
    /// A figure that the topic does not have.
    #[error("{{{0}}} is no figure of this topic; it has {1}")]
    Figure(String, String),
}

/// A draft that cannot be taken, handed back whole.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", list(.faults))]
pub struct Refused {
    /// The draft as it was typed.
    pub draft: Draft,
    /// What is wrong with it, in order.
    pub faults: Vec<(Part, Wrong)>,
}

fn list(faults: &[(Part, Wrong)]) -> String {
    let mut lines: Vec<String> =
        faults.iter().take(MOST_FAULTS).map(|(part, wrong)| format!("{part}: {wrong}")).collect();
    if faults.len() > MOST_FAULTS {
        lines.push(format!("and {} more", faults.len() - MOST_FAULTS));
    }
    lines.join("\n")
}

impl Draft {
    /// Checks what was typed. `figures` are the names that may stand in braces: those of the built-in topic.
    ///
    /// # Errors
    /// [`Refused`] with every fault, and the draft as it was.
    pub fn check<'a>(self, rules: Rules, figures: impl IntoIterator<Item = &'a str>) -> Result<Wording, Box<Refused>> {
        let mut faults = Vec::new();
        let figures: Vec<&str> = figures.into_iter().collect();
        let length = self.text.chars().count();
        if self.text.trim().is_empty() {
            faults.push((Part::Text, Wrong::Empty));
        }
        if length > MOST_TEXT {
            faults.push((Part::Text, Wrong::TooLong { is: length, most: MOST_TEXT }));
        }
        for (n, line) in (1..).zip(self.text.lines().take(MOST_TEXT)) {
            let part = Part::Line(n);
            signs(line, rules, &mut |wrong| faults.push((part, wrong)));
            for name in placeholders(line).filter(|name| !figures.contains(name)) {
                let has = if figures.is_empty() { "none".to_owned() } else { figures.join(", ") };
                faults.push((part, Wrong::Figure(name.chars().take(MOST_TITLE).collect(), has)));
            }
        }
        if self.questions.len() > MOST_QUESTIONS {
            let wrong = Wrong::TooMany { is: self.questions.len(), most: MOST_QUESTIONS };
            faults.push((Part::Questions, wrong));
        }
        let short = self.title.iter().map(|t| (Part::Title, t));
        for (part, text) in short.chain(self.questions.iter().map(|q| (Part::Questions, q))) {
            if text.trim().is_empty() {
                faults.push((part, Wrong::Empty));
            }
            let length = text.chars().count();
            if length > MOST_TITLE {
                faults.push((part, Wrong::TooLong { is: length, most: MOST_TITLE }));
            }
            signs(text, Rules { links: false }, &mut |wrong| faults.push((part, wrong)));
            if text.contains('\n') {
                faults.push((part, Wrong::Markup("line break".to_owned())));
            }
        }
        if !faults.is_empty() {
            return Err(Box::new(Refused { draft: self, faults }));
        }
        let kept = |text: &str| text.trim().nfc().collect::<String>();
        Ok(Wording {
            title: self.title.as_deref().map(kept),
            questions: self.questions.iter().map(|q| kept(q)).collect(),
            text: kept(&self.text),
        })
    }
}

struct Patterns {
    call: Regex,
    markup: Regex,
    unseen: Regex,
    link: Regex,
}

fn patterns() -> &'static Patterns {
    static PATTERNS: OnceLock<Patterns> = OnceLock::new();
    PATTERNS.get_or_init(|| {
        let made = |pattern: &str| Regex::new(pattern).expect("a pattern of the program is valid");
        Patterns {
            // Also inside words: an address of post looks like a call to some chats.
            call: made(r"@\s?[\w.-]+|<[@#&!a-zA-Z/:][^>\s]*>?|(?i:\beveryone\b\s*@)"),
            // Hidden text, code, headings, quotes, masked links, heaps of signs.
            markup: made(r"\|\||`+|^\s*(?:#{1,6}\s|-#\s|>{1,3}\s?)|\[[^\]]*\]\s*\(|~~|[*_]{3,}|\\[@<`|*_~#\[]"),
            // Controls, format signs, private use, and letters that are blank.
            unseen: made(
                r"[\p{Cc}\p{Cf}\p{Co}\p{Zl}\p{Zp}\u{115F}\u{1160}\u{17B4}\u{17B5}\u{180B}-\u{180F}\u{2800}\u{3164}\u{FFA0}\u{FFF9}-\u{FFFF}]",
            ),
            link: made(
                r"(?i)[a-z][a-z0-9+.-]*://\S*|\bwww\.\S+|\b(?:[a-z0-9-]+\.)+(?:com|net|org|info|io|gg|me|tv|co|app|xyz|link|shop|store|site|online|live|dev|ly|de|at|ch|uk|eu|es|fr|it|nl|us|ca|au)\b(?:/\S*)?",
            ),
        }
    })
}

fn signs(line: &str, rules: Rules, fault: &mut dyn FnMut(Wrong)) {
    let patterns = patterns();
    let bare: String = line.chars().filter(|c| *c != '\t').collect();
    for found in patterns.unseen.find_iter(&bare) {
        let before: String =
            bare[..found.start()].chars().rev().take(12).collect::<Vec<_>>().into_iter().rev().collect();
        // A joiner inside an emoji is part of it; beside a letter it hides something.
        let after = bare[found.end()..].chars().next();
        let in_emoji = found.as_str() == "\u{200d}"
            && !before.chars().next_back().is_none_or(char::is_alphanumeric)
            && !after.is_none_or(char::is_alphanumeric);
        if !in_emoji {
            let code = found.as_str().chars().next().map_or(0, u32::from);
            fault(Wrong::Unseen(format!("U+{code:04X}"), before));
        }
    }
    let mut marks = 0;
    for c in bare.nfd() {
        marks = if is_combining_mark(c) { marks + 1 } else { 0 };
        if marks > MOST_MARKS {
            fault(Wrong::Marks(bare.chars().take(12).collect()));
            break;
        }
    }
    // Signs of full width and the like count as what they look like.
    let plain: String = bare.nfkc().collect();
    for found in patterns.call.find_iter(&plain) {
        fault(Wrong::Call(found.as_str().chars().take(30).collect()));
    }
    for found in patterns.markup.find_iter(&plain) {
        fault(Wrong::Markup(found.as_str().trim().chars().take(30).collect()));
    }
    for found in patterns.link.find_iter(&plain) {
        let address: String = found.as_str().chars().take(60).collect();
        if !rules.links {
            fault(Wrong::Link(address));
        } else if !address.starts_with("https://") || address.contains('@') {
            fault(Wrong::LinkForm(address));
        }
    }
}
