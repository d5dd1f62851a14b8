//! The season in words: for a phone, the best first, each with its reason.

mod against; // what speaks against others, who rests
mod held; // whom to keep
mod money; // what possible hets are worth, what to buy
mod pairs; // the pairings
mod rest; // who rests, and why
mod short; // refusals, and doing it

pub(in crate::conversation) use against::*;
pub(in crate::conversation) use held::*;
pub(in crate::conversation) use money::*;
pub(in crate::conversation) use pairs::*;
pub(in crate::conversation) use rest::sentence as rest_sentence;
pub(in crate::conversation) use short::*;
