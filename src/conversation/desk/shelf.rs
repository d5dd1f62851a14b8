//! The database of a collection, opened when it is first needed.

use std::time::Duration;

use tokio::sync::OnceCell;

use crate::collection::store::{Place, Store, StoreError, Waiting};

/// A collection's database that is opened when it is first needed, and shared by all talks of a process.
#[derive(Debug)]
pub struct Shelf {
    place: Place,
    store: OnceCell<Store>,
}

impl Shelf {
    /// A database that is not opened yet.
    #[must_use]
    pub fn new(place: Place) -> Self {
        Self { place, store: OnceCell::new() }
    }

    /// One that is open already.
    #[must_use]
    pub fn open(place: Place, store: Store) -> Self {
        Self { place, store: OnceCell::new_with(Some(store)) }
    }

    /// The open database.
    ///
    /// # Errors
    /// [`StoreError`] when it cannot be opened now; the next call tries again.
    pub async fn store(&self) -> Result<&Store, StoreError> {
        self.store.get_or_try_init(|| Store::open(&self.place)).await
    }

    /// The database, if it is open.
    #[must_use]
    pub fn opened(&self) -> Option<&Store> {
        self.store.get()
    }

    /// The place where it is.
    #[must_use]
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// Opens it now, waiting for a server that is down; `tell` hears of each failed try.
    ///
    /// # Errors
    /// [`StoreError`] when it cannot be opened within `patience`.
    pub async fn open_when_up(&self, patience: Duration, tell: impl FnMut(&Waiting<'_>)) -> Result<(), StoreError> {
        self.store.get_or_try_init(|| Store::open_when_up(&self.place, patience, tell)).await.map(|_| ())
    }

    /// Ends the database, if it was opened.
    pub async fn close(&self) {
        if let Some(store) = self.store.get() {
            store.close().await;
        }
    }
}
