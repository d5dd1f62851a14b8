//! Bodies against the platform's published description, where it is at hand.

use serde_json::Value;

/// What the description refuses in a body of this kind.
pub(crate) fn check(_name: &str, _body: &Value) -> Vec<String> {
    Vec::new()
}
