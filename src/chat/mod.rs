//! The fronts: a message in, a reply out, drawn for the medium. No sentence of the talk is built here.

#[cfg(feature = "discord")]
pub mod discord; // the chat on Discord: gateway, commands, buttons, forms
pub mod due; // reminders at this machine
pub mod inline; // a picture within the text of a terminal
pub mod keeper; // the keeper at this machine
pub mod terminal; // the chat in a terminal, and its plain form for other programs
