//! What runs by itself beside the talk: the log, health, metrics, retention.

pub mod log; // how the log is written, and what never gets into it
