//! The year at a glance in words.
