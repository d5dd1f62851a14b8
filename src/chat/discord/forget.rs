//! Erasing everything of a member: what is kept is shown first, a copy is handed over, and a typed word does it.
//!
//! One way for /forget and for a message that asks for it. Nobody else is needed, and it works in direct messages after
//! the member has left every server.

use super::animals;
use super::asked::{Asked, tell};
use super::desk::Desk;
use super::sentences;
use super::turns::{self, Room, Thread, Turn, Words};

/// What is kept of a member, with a copy of their animals and the button that leads on.
pub async fn offer(desk: &Desk, member: u64, turn: &mut Turn) {
    turn.private = true;
    let Ok((pairings, answers)) = desk.kept.how_much(member).await else {
        turn.reply = Some(sentences::away());
        turn.erase = false;
        return;
    };
    let Ok(animals) = animals::herd(desk, member).await.map(|herd| herd.n_records()) else {
        turn.reply = Some(sentences::away());
        turn.erase = false;
        return;
    };
    turn.reply = Some(sentences::kept_of_you(animals, pairings, answers));
    turn.erase = true;
    if animals > 0 {
        turn.file = copy(desk, member).await;
    }
}

/// All of a member's animals as a file.
async fn copy(desk: &Desk, member: u64) -> Option<crate::conversation::File> {
    let asker = desk.asker(member, 0);
    let said = ("export everything as json", Words::Theirs);
    turns::turn(desk.books, Room::default(), &Thread::default(), said, &asker).await.file
}

/// The form was sent.
pub async fn sent(desk: &Desk, asked: &Asked, word: &str) {
    if word.trim().trim_matches('"').to_lowercase() != sentences::ERASE {
        tell(desk, asked, &sentences::not_erased()).await;
        return;
    }
    let gone = desk.kept.forget(asked.asker.get()).await.is_ok();
    tell(desk, asked, &if gone { sentences::erased() } else { sentences::away() }).await;
}
