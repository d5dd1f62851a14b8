//! The database, both kinds: the one inside the program, and a real server where its binaries are installed.

mod backup; // everything to a file and back
mod failing; // killed, cut off, too slow
pub(crate) mod line; // a line to a server that can be cut
mod opening; // roles, migrations, a server that is down
mod records; // saved, taken back, seen by their keeper alone
pub(crate) mod server; // a private server for tests
