//! Dates as a file for calendar programs: iCalendar, RFC 5545, all-day events.
//!
//! Written by hand: of the whole standard this needs one kind of event, and the libraries that write it bring a second
//! library of dates into the program. The tests read the file back with one of them.

use std::fmt::Write as _;

use jiff::civil::Date;

use super::window::plus;

/// Octets of a line, its end left out (RFC 5545, 3.1).
const LINE: usize = 75;

/// An all-day event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Stays the same when the event moves, so that a second file changes the first's events and adds none.
    pub uid: String,
    /// The first day.
    pub first: Date,
    /// The last day, which is one of the event's.
    pub last: Date,
    /// What it is, in a line.
    pub summary: String,
    /// More about it.
    pub description: String,
}

/// The events as a file, written on this day.
#[must_use]
pub fn write(events: &[Event], on: Date) -> Vec<u8> {
    let mut out = String::new();
    let mut line = |text: &str| fold(&mut out, text);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//Hatchward//Calendar//EN");
    line("CALSCALE:GREGORIAN");
    line("X-WR-CALNAME:Hatchward");
    for event in events {
        line("BEGIN:VEVENT");
        line(&format!("UID:{}", text(&event.uid)));
        line(&format!("DTSTAMP:{}T000000Z", digits(on)));
        line(&format!("DTSTART;VALUE=DATE:{}", digits(event.first)));
        // The end is the first day that is not of the event (RFC 5545, 3.6.1).
        line(&format!("DTEND;VALUE=DATE:{}", digits(plus(event.last.max(event.first), 1))));
        line(&format!("SUMMARY:{}", text(&event.summary)));
        if !event.description.is_empty() {
            line(&format!("DESCRIPTION:{}", text(&event.description)));
        }
        // Nobody is busy because a snake may lay.
        line("TRANSP:TRANSPARENT");
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out.into_bytes()
}

fn digits(date: Date) -> String {
    format!("{:04}{:02}{:02}", date.year(), date.month(), date.day())
}

/// A text with the signs escaped that would end it (RFC 5545, 3.3.11); other control signs are left out.
fn text(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    for sign in value.chars() {
        match sign {
            '\\' => out.push_str("\\\\"),
            ';' => out.push_str("\\;"),
            ',' => out.push_str("\\,"),
            '\n' => out.push_str("\\n"),
            sign if sign.is_control() => {}
            sign => out.push(sign),
        }
    }
    out
}

/// A line, folded so that none of its parts has more than 75 octets; no sign is cut in two.
fn fold(out: &mut String, line: &str) {
    let mut room = LINE;
    for sign in line.chars() {
        if sign.len_utf8() > room {
            out.push_str("\r\n ");
            room = LINE - 1;
        }
        room -= sign.len_utf8();
        let _ = write!(out, "{sign}");
    }
    out.push_str("\r\n");
}
