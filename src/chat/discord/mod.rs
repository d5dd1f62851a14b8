//! The chat on Discord: a message in, a reply out, drawn for the platform.
//!
//! `gateway` hears, `address` says whether it is meant for us, `questions`, `doors` and `presses` answer by `turns`, `embeds` draws
//! within `limits`, and everything that a member reads leaves through `rest`. What is kept is in `kept`. Start at [`serve`].

pub mod address; // who is spoken to, and with which words
pub mod animals; // a member's own animals
pub mod asked; // who asked by an interaction
pub mod catch_up; // what was asked while nobody listened
pub mod commands; // the commands and their registration
mod complete; // what can follow while somebody types
pub mod components; // what stands under an answer
pub mod deliver; // an answer on its way
pub mod desk; // everything that answering takes
pub mod doctor; // what the bot needs, looked at one by one
pub mod doors; // what commands do with their text
pub mod embeds; // a reply drawn for the platform
pub mod files; // what people hand in
pub mod forget; // erasing everything of a member
pub mod gateway; // the line on which the platform speaks
pub mod hello; // joining and leaving a server
pub mod kept; // what is kept, in the database
pub mod limits; // the platform's limits
pub mod patience; // answers that take a while
pub mod places; // servers, channels, permissions
pub mod posts; // explanations that are posted and pinned
pub mod press; // the ids of buttons, selects and forms
pub mod presses; // what a press does
pub mod questions; // a message from hearing it to its answer
pub mod rate; // how much may be asked
mod reach; // whether direct messages arrive
pub mod remind; // reminders that are due
pub mod rest; // requests to the platform; the one way out
pub mod saved; // pairings that members saved
pub mod sentences; // what the front says for itself
pub mod serve; // a run from start to stop
pub mod settings_panel; // the settings of a server
pub mod turns; // words to a reply and what is kept of it
pub mod watch; // why the library gave a line up
pub mod words; // a community's own words
pub mod working; // an answer worked out
