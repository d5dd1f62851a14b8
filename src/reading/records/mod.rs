//! What a message tells of a keeper's own animals: a closed list of records, each with everything that was said.
//!
//! In: a message, the names of the keeper's animals, the day. Out: a record, with what must be asked and what was not read.
//! Never: the collection itself; who is meant by a name is settled in `conversation`.

pub mod described; // one animal in words
