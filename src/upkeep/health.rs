//! Whether the program is alive and ready, and its numbers, by HTTP on an address of the operator's choice.
//!
//! `/healthz`: it runs. `/readyz`: the platform hears it and the database answers. `/metrics`: the numbers.

use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::get;

/// What is not ready, in words for the operator; empty when all is.
pub type Ready = Pin<Box<dyn Future<Output = Vec<&'static str>> + Send>>;

/// Where health and numbers come from.
pub struct Sources {
    /// What is not ready now.
    pub ready: Box<dyn Fn() -> Ready + Send + Sync>,
    /// The numbers as text.
    pub numbers: Box<dyn Fn() -> Option<String> + Send + Sync>,
}

/// Serves until the program ends.
///
/// # Errors
/// When the address cannot be listened on.
pub async fn serve(address: SocketAddr, sources: Sources) -> std::io::Result<()> {
    let listener = tokio::net::TcpListener::bind(address).await?;
    let app = Router::new()
        .route("/healthz", get(|| async { "alive\n" }))
        .route("/readyz", get(ready))
        .route("/metrics", get(numbers))
        .with_state(Arc::new(sources));
    tokio::spawn(async move {
        if let Err(error) = axum::serve(listener, app).await {
            tracing::warn!(%error, "health is no longer served");
        }
    });
    Ok(())
}

async fn ready(State(sources): State<Arc<Sources>>) -> impl IntoResponse {
    let missing = (sources.ready)().await;
    if missing.is_empty() {
        (StatusCode::OK, "ready\n".to_owned())
    } else {
        (StatusCode::SERVICE_UNAVAILABLE, format!("not ready: {}\n", missing.join(", ")))
    }
}

async fn numbers(State(sources): State<Arc<Sources>>) -> impl IntoResponse {
    match (sources.numbers)() {
        Some(text) => (
            StatusCode::OK,
            [(header::CONTENT_TYPE, "application/openmetrics-text; version=1.0.0; charset=utf-8")],
            text,
        ),
        None => (StatusCode::INTERNAL_SERVER_ERROR, [(header::CONTENT_TYPE, "text/plain")], String::new()),
    }
}
