//! The kind `project`: one season's decision under chance, or the forecast of a fixed plan.

mod fixed; // a plan that decides nothing
mod season; // purchases and pairs, or whom to hold

use serde_json::{Map, Value};

use super::parts::{Senseless, field};

/// Answers a request of this kind.
pub(super) fn answer(id: &Value, request: &Map<String, Value>) -> Result<String, Senseless> {
    match field(request, "plan") {
        Some(plan) => fixed::answer(id, request, plan),
        None => season::answer(id, request),
    }
}
