//! The database, both kinds: the one inside the program, and a real server where its binaries are installed.

mod opening; // roles, migrations, a server that is down
pub(crate) mod server; // a private server for tests
