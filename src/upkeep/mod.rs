//! What runs by itself beside the talk: the log, health, numbers, the supervisor's watchdog.

pub mod health; // alive, ready, numbers, by HTTP
pub mod log; // how the log is written, and what never gets into it
pub mod metrics; // numbers for the operator
pub mod watchdog; // signs of life for the system's supervisor
