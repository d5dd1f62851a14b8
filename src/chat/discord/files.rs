//! Files that people hand in: a collection, or a server's own words.
//!
//! In: an attachment as the platform tells of it. Out: its bytes, or a refusal that says what to do. Fetched from the
//! platform itself and from nowhere else, never larger than the platform takes, and kept until it is said what becomes of it.

use std::sync::Arc;

use serenity::model::channel::{Attachment, Message};
use tracing::info;

use super::desk::Desk;
use super::limits;
use super::rest::Failure;
use super::sentences;
use super::turns::{self, Room, Thread, Turn};
use super::words::own_of;
use super::working::{Who, take_in, work_out};
use crate::reply::Reply;

/// Ends of names of files that may hold a collection. Those of workbooks are among them, because a person is then told how
/// to make a table of one; so is that of a long message, which the platform sends as a file.
const ENDS: [&str; 9] = ["csv", "tsv", "json", "zip", "txt", "xlsx", "xls", "ods", "tab"];

/// The name that the platform gives to a message that is too long for one: words as well as tables come in it.
const LONG_MESSAGE: &str = "message.txt";
/// Bytes of such a message that are read as words: as many as in the terminal.
const MOST_WORDS: usize = 8 * 1024;

/// The file of a message that may be a collection.
#[must_use]
pub fn of_message(message: &Message) -> Option<&Attachment> {
    message.attachments.iter().find(|file| {
        let end = file.filename.rsplit_once('.').map(|(_, end)| end.to_lowercase());
        end.is_some_and(|end| ENDS.contains(&end.as_str()))
    })
}

/// A collection that was handed in: what it would change, to be confirmed.
pub(super) async fn collection(desk: &Arc<Desk>, who: Who, thread: Thread, file: &Attachment) -> Turn {
    let only = |reply: Reply| Turn { reply: Some(reply), thread: thread.clone(), private: true, ..Turn::default() };
    let bytes = match fetch(desk, file).await {
        Ok(bytes) => bytes,
        Err(refused) => return only(refused),
    };
    if file.filename == LONG_MESSAGE && bytes.len() <= MOST_WORDS {
        let words = String::from_utf8_lossy(&bytes).into_owned();
        let own = own_of(desk, who.server).await;
        // "Add these: …" over many lines.
        if turns::nature(desk.books, Room { species: who.species, own: Some(&own) }, &words).private {
            return work_out(desk, who, thread, words).await;
        }
    }
    // First kept, then shown: the answer's button needs it.
    if desk.kept.keep_file(who.source, &bytes).await.is_err() {
        return only(sentences::away());
    }
    let turn = take_in(desk, who, thread.clone(), bytes).await;
    if turn.thread.asked.file != Some(who.source) {
        desk.kept.drop_file(who.source).await;
    }
    turn
}

/// The bytes of a file; else why not, and what to do.
pub(super) async fn fetch(desk: &Desk, file: &Attachment) -> Result<Vec<u8>, Reply> {
    let most = limits::FILE_BYTES;
    if file.size as usize > most {
        return Err(sentences::file_too_large(most));
    }
    desk.rest.fetch(&file.url, most).await.map_err(|failure| {
        info!(%failure, "a file that was handed in could not be fetched");
        match failure {
            Failure::TooLarge => sentences::file_too_large(most),
            Failure::Elsewhere => sentences::file_from_elsewhere(),
            _ => sentences::file_not_fetched(),
        }
    })
}
