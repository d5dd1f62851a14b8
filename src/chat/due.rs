//! Reminders of the keeper at this machine: found when they are due, shown, and only then counted as told.
//!
//! In: an open collection and who its keeper is. Out: what is due in words. May touch: the database. Never: a terminal.
//! A window that is closed between the two hears of it again: at least once, never not at all. Start at [`Watch::keep`].

use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use tokio::runtime::Handle;
use tracing::debug;

use crate::collection::store::{Claim, Due, Outcome, StoreError, Who};
use crate::conversation::desk::Shelf;
use crate::conversation::reminders_told;
use crate::reply::Reply;

/// How often an open collection is looked into.
const EVERY: Duration = Duration::from_secs(10);
/// Seconds after which what was claimed and not shown is anybody's again.
const LEASE_S: f64 = 60.0;
/// Moments that are shown at once.
const MOST: i32 = 50;

/// Looks for what is due while nothing is typed.
#[derive(Debug, Clone)]
pub struct Watch {
    pub(super) shelf: Arc<Shelf>,
    pub(super) who: Who,
    pub(super) handle: Handle,
}

impl Watch {
    /// Looks from now on until the runtime ends. `show` prints a text and says whether it could; what it could not print
    /// comes again. It may block.
    pub fn keep(self, show: impl FnMut(String) -> bool + Send + 'static) {
        let Self { shelf, who, handle } = self;
        handle.spawn(async move {
            let mut show = Some(show);
            while let Some(mut own) = show.take() {
                tokio::time::sleep(EVERY).await;
                let Ok(found) = due(&shelf, &who).await else {
                    show = Some(own);
                    continue;
                };
                let text = told(&found).map(|reply| reply.text() + "\n");
                let shown = tokio::task::spawn_blocking(move || (text.is_none_or(&mut own), own)).await;
                // Nobody can be shown anything any more.
                let Ok((true, own)) = shown else { return };
                show = Some(own);
                if let Err(error) = count_as_told(&shelf, &found).await {
                    debug!(reason = %error, "a reminder was shown and will be again");
                }
            }
        });
    }
}

/// Moments of this keeper that are due and not told, claimed for a minute; none where the collection is not open.
///
/// # Errors
/// [`StoreError`] when the database does not answer.
pub async fn due(shelf: &Shelf, who: &Who) -> Result<Vec<Due>, StoreError> {
    if shelf.opened().is_none() {
        return Ok(Vec::new());
    }
    let store = shelf.store().await?;
    let Some(keeper) = store.keeper(who).await? else { return Ok(Vec::new()) };
    let claim =
        Claim { platform: who.platform, keeper: Some(keeper), worker: "terminal", lease_s: LEASE_S, most: MOST };
    let mut found = store.claim_old(claim).await?;
    found.extend(store.claim_due(claim).await?);
    Ok(found)
}

/// The same in words; `None` where nothing is due.
#[must_use]
pub fn told(found: &[Due]) -> Option<Reply> {
    (!found.is_empty()).then(|| reminders_told(found, Timestamp::now()))
}

/// They were shown: a rule goes on to its next moment.
///
/// # Errors
/// [`StoreError`] when the database does not answer.
pub async fn count_as_told(shelf: &Shelf, found: &[Due]) -> Result<(), StoreError> {
    let now = Timestamp::now();
    let next: Vec<_> = found.iter().map(|due| (due.id, due.next(now))).collect();
    if !next.is_empty() {
        shelf.store().await?.settle_all_due(Outcome::Told, &next).await?;
    }
    Ok(())
}
