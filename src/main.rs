//! The command line: parse arguments, build the program, run one command; no logic.
fn main() {}
