//! What is left out of a reply that is too long: whole rows, notes and names, never part of a number.

use super::{Reply, clean};

/// Unread words that are named one by one.
const MOST_WORDS: usize = 6;
/// What remains in any case: a caution, the pairing, one line of the answer and one row, each within this length.
const LAST_RESORT: usize = 150;

impl Reply {
    /// The same reply with a plain text of at most `most` characters (at least 600).
    ///
    /// What matters least goes first: notes from the last, then assumptions (their number is said), rows, lines of the
    /// answer, and at the end the tails of lists. Words of a member are made safe to repeat.
    #[must_use]
    pub fn fitted(mut self, most: usize) -> Reply {
        self.tidy();
        while self.length() > most && self.drop_least() {}
        if self.length() > most {
            for line in &mut self.cautions {
                *line = shortened(line, 2 * LAST_RESORT);
            }
            for line in self.answer.iter_mut().chain([&mut self.understood]) {
                *line = shortened(line, LAST_RESORT);
            }
            for row in &mut self.rows {
                row.kind = shortened(&row.kind, LAST_RESORT - 40);
            }
        }
        while self.length() > most && self.drop_last() {}
        self
    }

    fn tidy(&mut self) {
        let n = self.unread.len();
        self.unread = self.unread.iter().take(MOST_WORDS).map(|w| clean::word(w)).filter(|w| !w.is_empty()).collect();
        if n > MOST_WORDS {
            self.unread.push(format!("and {} more", n - MOST_WORDS));
        }
        let lists = [&mut self.cautions, &mut self.answer, &mut self.choices, &mut self.notes, &mut self.assumed];
        for line in lists.into_iter().flatten().chain([&mut self.understood]).chain(&mut self.rest) {
            *line = clean::clean(line);
        }
    }

    /// Leaves out one thing that can be spared; false when there is none.
    fn drop_least(&mut self) -> bool {
        if self.notes.len() > 1 {
            self.notes.pop();
        } else if self.assumed.len() > 2 || self.assumed.iter().any(|a| a.len() > LAST_RESORT) {
            // Said in short rather than not at all.
            let n = self.assumed.len() - 1;
            self.assumed.truncate(1);
            self.assumed[0] = shortened(&self.assumed[0], LAST_RESORT);
            self.assumed.push(format!("{n} more of that kind"));
        } else if self.choices.len() > 8 {
            self.choices.truncate(8);
        } else if self.answer.len() > 4 {
            self.answer.pop();
        } else if self.understood.chars().count() > 2 * LAST_RESORT {
            self.understood = shortened(&self.understood, 2 * LAST_RESORT);
        } else {
            return false;
        }
        true
    }

    /// Leaves out what one would rather keep; the pairing, one caution and one line or row of the answer stay longest.
    fn drop_last(&mut self) -> bool {
        if self.rows.len() > 1 {
            self.pop_row();
        } else if self.grid.take().is_some() {
        } else if let Some(list) =
            [&mut self.notes, &mut self.choices, &mut self.assumed].into_iter().find(|list| !list.is_empty())
        {
            list.pop();
        } else if self.answer.len() > 1 {
            self.answer.pop();
        } else if self.cautions.len() > 1 {
            self.cautions.pop();
        } else if !self.rows.is_empty() {
            self.pop_row();
        } else {
            return false;
        }
        true
    }

    fn pop_row(&mut self) {
        self.rows.pop();
        // A count made for more rows would be wrong now.
        self.rest = Some("and more kinds than fit here".to_owned());
    }
}

/// The text up to the last comma or blank before `most` characters, with a sign that it goes on. Words are kept whole or
/// left out, and so is a number whose unit would be lost.
fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let end = text.char_indices().nth(most.saturating_sub(2)).map_or(text.len(), |(i, _)| i);
    let head = &text[..end];
    let cut = head.rfind(", ").or_else(|| head.rfind(' ')).unwrap_or(0);
    let mut words: Vec<&str> = text[..cut].split(' ').collect();
    while words.last().is_some_and(|w| !w.contains(char::is_alphabetic)) {
        words.pop();
    }
    format!("{} …", words.join(" ").trim_end_matches(|c: char| ",:;(.".contains(c)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_ends_at_a_whole_name_and_a_number_is_never_cut() {
        assert_eq!(shortened("Pastel, Clown, 66 % het Piebald", 20), "Pastel, Clown …");
        assert_eq!(shortened("about 123456 eggs", 15), "about …");
        assert_eq!(shortened(&"x".repeat(50), 20), " …");
        assert_eq!(shortened("short", 20), "short");
    }

    #[test]
    fn the_first_things_stay() {
        let long = |n: usize| (0..n).map(|i| format!("thing {i} {}", "with words ".repeat(9))).collect::<Vec<_>>();
        let reply = Reply {
            cautions: vec!["Spider: wobble".into()],
            understood: "Ball python: a × b".into(),
            answer: vec!["Clown: 1/4 per egg (25 %)".into()],
            notes: long(9),
            assumed: long(9),
            unread: long(30),
            ..Reply::default()
        };
        let text = reply.fitted(900).text();
        assert!(text.chars().count() <= 900, "{text}");
        assert!(text.starts_with("Caution: Spider: wobble\nBall python: a × b\nClown: 1/4 per egg (25 %)"), "{text}");
        assert!(text.contains("8 more of that kind") && text.contains("and 24 more"), "{text}");
    }
}
