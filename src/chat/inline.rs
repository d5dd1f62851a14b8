//! A picture within the text of a terminal that can show one.
//!
//! In: a PNG, and what the environment says of the terminal. Out: the signs that show it there. May touch: nothing.
//! A terminal is never asked whether it can: one that cannot would print the question, and one that does not answer would
//! be waited for. It is known by its name, so one that is not known is sent text alone. Start at [`Way::found`].

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use crate::reply::Reply;
use crate::reply::picture::Theme;

/// Bytes of one piece, as the first of the ways allows at most.
const PIECE: usize = 4_096;
/// Columns that a picture takes: it is drawn for the width of a phone.
const MOST_COLUMNS: usize = 56;

/// In which signs a terminal takes a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The graphics protocol that kitty began; Ghostty and Konsole speak it, too.
    Kitty,
    /// The inline images that `iTerm2` began; `WezTerm` and mintty show them, too.
    Iterm,
}

/// How pictures are shown within the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Inline {
    /// In which signs.
    pub way: Way,
    /// On what ground.
    pub theme: Theme,
}

impl Way {
    /// The way of the terminal that the environment names; `None` for one that is not known to show pictures, and inside
    /// a multiplexer, which would swallow or print them.
    pub fn found(variable: impl Fn(&str) -> Option<String>) -> Option<Way> {
        let of = |name: &str| variable(name).unwrap_or_default();
        let (term, program) = (of("TERM"), of("TERM_PROGRAM"));
        let within = ["screen", "tmux", "dumb", "linux"].iter().any(|name| term.starts_with(name));
        if within || !of("TMUX").is_empty() || !of("STY").is_empty() || !of("ZELLIJ").is_empty() {
            return None;
        }
        // Konsole shows pictures since 22.04.
        let konsole = of("KONSOLE_VERSION").parse::<u32>().is_ok_and(|version| version >= 220_400);
        match (&*term, &*program) {
            ("xterm-kitty" | "xterm-ghostty", _) | (_, "ghostty") => Some(Way::Kitty),
            (_, "iTerm.app" | "WezTerm" | "mintty") => Some(Way::Iterm),
            _ if !of("KITTY_WINDOW_ID").is_empty() || konsole => Some(Way::Kitty),
            _ if of("LC_TERMINAL") == "iTerm2" => Some(Way::Iterm),
            _ => None,
        }
    }

    /// The signs that show a PNG in a terminal of so many columns, with a line end.
    #[must_use]
    pub fn signs(self, png: &[u8], columns: usize) -> String {
        let columns = columns.saturating_sub(1).clamp(1, MOST_COLUMNS);
        let text = STANDARD.encode(png);
        let mut out = String::with_capacity(text.len() + 256);
        match self {
            Way::Kitty => {
                let mut pieces = text.as_bytes().chunks(PIECE).peekable();
                // q=2: it answers nothing, since nobody would read it but the prompt.
                let mut head = format!("a=T,f=100,q=2,c={columns},");
                while let Some(piece) = pieces.next() {
                    let more = u8::from(pieces.peek().is_some());
                    let piece = String::from_utf8_lossy(piece);
                    let _ = write!(out, "\u{1b}_G{head}m={more};{piece}\u{1b}\\");
                    head.clear();
                }
            }
            Way::Iterm => {
                let n = png.len();
                let _ =
                    write!(out, "\u{1b}]1337;File=inline=1;size={n};width={columns};preserveAspectRatio=1:{text}\u{7}");
            }
        }
        out.push('\n');
        out
    }
}

impl Inline {
    /// What a reply draws, for a terminal of so many columns; `None` where it draws nothing that can be shown.
    #[must_use]
    pub fn show(self, reply: &Reply, columns: usize) -> Option<String> {
        let png = reply.drawing.as_ref()?.draw(self.theme).png().ok()?;
        Some(self.way.signs(&png, columns))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_terminal_is_known_by_its_name_and_others_are_sent_no_picture() {
        let found = |variables: &[(&str, &str)]| {
            Way::found(|name| variables.iter().find(|v| v.0 == name).map(|v| v.1.to_owned()))
        };
        for (variables, way) in [
            (&[("TERM", "xterm-kitty"), ("KITTY_WINDOW_ID", "1")][..], Some(Way::Kitty)),
            (&[("TERM", "xterm-ghostty")], Some(Way::Kitty)),
            (&[("TERM", "xterm-256color"), ("TERM_PROGRAM", "ghostty")], Some(Way::Kitty)),
            (&[("TERM", "xterm-256color"), ("KONSOLE_VERSION", "230804")], Some(Way::Kitty)),
            (&[("TERM", "xterm-256color"), ("TERM_PROGRAM", "iTerm.app")], Some(Way::Iterm)),
            (&[("TERM", "xterm-256color"), ("TERM_PROGRAM", "WezTerm")], Some(Way::Iterm)),
            (&[("TERM", "xterm-256color"), ("LC_TERMINAL", "iTerm2")], Some(Way::Iterm)),
            (&[("TERM", "xterm-256color"), ("KONSOLE_VERSION", "211200")], None),
            (&[("TERM", "xterm-256color"), ("TERM_PROGRAM", "Apple_Terminal")], None),
            (&[("TERM", "xterm-256color"), ("TERM_PROGRAM", "vscode")], None),
            // A multiplexer keeps the names of the terminal it runs in.
            (&[("TERM", "tmux-256color"), ("KITTY_WINDOW_ID", "1")], None),
            (&[("TERM", "xterm-kitty"), ("TMUX", "/tmp/tmux-1/default,1,0")], None),
            (&[("TERM", "dumb"), ("TERM_PROGRAM", "iTerm.app")], None),
            (&[("TERM", "linux")], None),
            (&[], None),
        ] {
            assert_eq!(found(variables), way, "{variables:?}");
        }
    }

    #[test]
    fn a_picture_goes_out_in_pieces_that_make_it_again() {
        let png: Vec<u8> = (0..10_000u32).map(|n| n.to_le_bytes()[0]).collect();
        let kitty = Way::Kitty.signs(&png, 80);
        let pieces: Vec<&str> = kitty.trim_end().split_terminator("\u{1b}\\").collect();
        assert!(pieces[0].starts_with("\u{1b}_Ga=T,f=100,q=2,c=56,m=1;"), "{}", &pieces[0][..40]);
        assert!(pieces[1..].iter().all(|p| p.starts_with("\u{1b}_Gm=")), "only the first says what it is");
        let told: String = pieces.iter().map(|p| p.split_once(';').unwrap().1).collect();
        assert!(pieces.iter().all(|p| p.split_once(';').unwrap().1.len() <= PIECE));
        assert_eq!(STANDARD.decode(told).unwrap(), png);
        assert!(pieces.last().unwrap().starts_with("\u{1b}_Gm=0;"));
        let iterm = Way::Iterm.signs(&png, 40);
        assert!(iterm.starts_with("\u{1b}]1337;File=inline=1;size=10000;width=39;"));
        let told = iterm.trim_end().trim_end_matches('\u{7}').split_once(':').unwrap().1;
        assert_eq!(STANDARD.decode(told).unwrap(), png);
    }
}
