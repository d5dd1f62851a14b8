//! Requests to the platform: time-outs, retries, waiting as it asks, and the one place where a message leaves.
//!
//! The library builds a request ([`Request`]) and knows the routes; its own sender is not used, because it repeats nothing,
//! waits for ever, drops what a refusal says of the wait, and lets everybody loose at once when the platform asks to slow
//! down. In: requests and message bodies. Out: JSON, or a [`Failure`] that says what became of it.
//! Invariant: whatever leaves through [`Rest::send`] pings nobody, and a message that is repeated is not said twice.

mod failure; // what went wrong
mod files; // what people hand in
mod message; // what is said, and where
mod pace; // when a request may leave

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use reqwest::StatusCode;
use reqwest::header::HeaderMap;
use serde_json::{Value, json};
use serenity::builder::CreateAttachment;
use serenity::http::{LightMethod, Multipart, MultipartUpload, Request, Route};
use serenity::model::id::InteractionId;
use tokio::time::{Instant, sleep, timeout};

pub use failure::{Failure, code};
pub use message::{Attached, Outgoing, To};

use super::limits::{self, Kind};
use crate::settings::Secret;
use pace::Pace;

/// One attempt; the library itself would wait for ever.
const ATTEMPT: Duration = Duration::from_secs(5);
/// A request that nobody waits for may take so long with all its attempts.
const PATIENCE: Duration = Duration::from_mins(1);
/// The first answer to an interaction must be there in 3 s; attempts end before that.
const FIRST_ANSWER: Duration = Duration::from_millis(2600);
/// One attempt at a first answer.
const FIRST_ATTEMPT: Duration = Duration::from_millis(1200);

/// Counts of what was asked of the platform, for the metrics.
#[derive(Debug, Default)]
pub struct Counts {
    /// Requests that succeeded.
    pub fine: AtomicU64,
    /// Attempts that were repeated.
    pub repeated: AtomicU64,
    /// Refusals by 429.
    pub slowed: AtomicU64,
    /// Other refusals (4xx).
    pub refused: AtomicU64,
    /// Faults of the platform (5xx) and broken lines.
    pub faults: AtomicU64,
}

/// The way to the platform.
#[derive(Debug)]
pub struct Rest {
    client: reqwest::Client,
    files: reqwest::Client,
    token: Secret,
    api: Option<String>,
    pace: Pace,
    /// What was asked so far.
    pub counts: Counts,
}

/// How long somebody waits.
#[derive(Debug, Clone, Copy)]
struct Patience {
    until: Instant,
    attempt: Duration,
    /// Outside the limit of requests a second.
    free: bool,
    /// A repeat cannot do the thing twice.
    repeatable: bool,
}

impl Rest {
    /// A way to the platform, or to `api` in its place.
    ///
    /// # Errors
    /// When the library for encrypted lines cannot be set up.
    pub fn new(token: &Secret, api: Option<String>) -> Result<Self, reqwest::Error> {
        let client = reqwest::Client::builder().timeout(ATTEMPT).connect_timeout(Duration::from_secs(3)).build()?;
        let pace = Pace::new(api.is_none());
        let files = files::client()?;
        Ok(Self {
            client,
            files,
            token: Secret::new(format!("Bot {}", token.reveal())),
            api,
            pace,
            counts: Counts::default(),
        })
    }

    /// Sends a message. The only way out for anything that a member reads.
    ///
    /// # Errors
    /// [`Failure`]; the message may then have been sent or not, and sending it again with the same nonce is safe.
    pub async fn send(&self, to: &To, message: &Outgoing) -> Result<Value, Failure> {
        let mut body = message.body();
        let kind = if matches!(to, To::Edit { .. } | To::Original { .. }) { Kind::Edit } else { Kind::Message };
        match to {
            To::Channel { reply_to, nonce, .. } => {
                body["nonce"] = nonce.as_str().into();
                body["enforce_nonce"] = true.into();
                if let Some(message) = reply_to {
                    // A question that is deleted meanwhile is still answered.
                    body["message_reference"] = json!({"message_id": message.to_string(), "fail_if_not_exists": false});
                }
            }
            // An edit cannot make a public message private, so the flag is not sent.
            To::Edit { .. } | To::Original { .. } => {
                if let Some(body) = body.as_object_mut() {
                    body.remove("flags");
                }
            }
            To::Answer { .. } => {}
        }
        if let Some(breach) = limits::check(kind, &body).first() {
            return Err(Failure::Breach(format!("{}: {}", breach.place, breach.what)));
        }
        let now = Instant::now();
        let (route, method, patience) = match to {
            To::Channel { channel, .. } => (
                Route::ChannelMessages { channel_id: *channel },
                LightMethod::Post,
                Patience { until: now + PATIENCE, attempt: ATTEMPT, free: false, repeatable: true },
            ),
            To::Edit { channel, message } => (
                Route::ChannelMessage { channel_id: *channel, message_id: *message },
                LightMethod::Patch,
                Patience { until: now + PATIENCE, attempt: ATTEMPT, free: false, repeatable: true },
            ),
            To::Answer { interaction, token, update } => {
                body = json!({"type": if *update { 7 } else { 4 }, "data": body});
                (
                    Route::InteractionResponse { interaction_id: *interaction, token },
                    LightMethod::Post,
                    Patience { until: now + FIRST_ANSWER, attempt: FIRST_ATTEMPT, free: true, repeatable: true },
                )
            }
            To::Original { application, token } => (
                Route::WebhookOriginalInteractionResponse { application_id: *application, token },
                LightMethod::Patch,
                Patience { until: now + PATIENCE, attempt: ATTEMPT, free: true, repeatable: true },
            ),
        };
        let mut request = Request::new(route, method);
        match &message.file {
            Some(file) => {
                let upload = CreateAttachment::bytes(file.bytes.clone(), file.name.clone());
                request = request.multipart(Some(Multipart {
                    upload: MultipartUpload::Attachments(vec![upload]),
                    fields: Vec::new(),
                    payload_json: Some(body.to_string()),
                }));
            }
            None => request = request.body(Some(body.to_string().into_bytes())),
        }
        self.request(request, patience).await
    }

    /// Says within the 3 s that an answer to this interaction is coming. `private` is fixed by this.
    ///
    /// # Errors
    /// [`Failure`].
    pub async fn defer(
        &self,
        interaction: InteractionId,
        token: &str,
        update: bool,
        private: bool,
    ) -> Result<(), Failure> {
        let flags = if private { limits::EPHEMERAL } else { 0 };
        let body = if update { json!({"type": 6}) } else { json!({"type": 5, "data": {"flags": flags}}) };
        self.first_answer(interaction, token, &body).await
    }

    /// Opens a form. It must be the first answer.
    ///
    /// # Errors
    /// [`Failure`].
    pub async fn form(&self, interaction: InteractionId, token: &str, form: &Value) -> Result<(), Failure> {
        if let Some(breach) = limits::check(Kind::Form, form).first() {
            return Err(Failure::Breach(format!("{}: {}", breach.place, breach.what)));
        }
        self.first_answer(interaction, token, &json!({"type": 9, "data": form})).await
    }

    /// What the platform's clock says, in seconds since 1970.
    pub async fn their_clock(&self) -> Option<f64> {
        let request = Request::new(Route::Gateway, LightMethod::Get);
        let (_, headers, _) = self.once(request, ATTEMPT).await.ok()?;
        let date = jiff::fmt::rfc2822::parse(headers.get("date")?.to_str().ok()?).ok()?;
        Some(date.timestamp().as_duration().as_secs_f64())
    }

    /// Whether the program itself can no longer send: what it keeps of the pace was lost in a fault.
    #[must_use]
    pub fn is_stuck(&self) -> bool {
        self.pace.is_stuck()
    }

    async fn first_answer(&self, interaction: InteractionId, token: &str, body: &Value) -> Result<(), Failure> {
        let route = Route::InteractionResponse { interaction_id: interaction, token };
        let request = Request::new(route, LightMethod::Post).body(Some(body.to_string().into_bytes()));
        let until = Instant::now() + FIRST_ANSWER;
        self.request(request, Patience { until, attempt: FIRST_ATTEMPT, free: true, repeatable: true }).await.map(drop)
    }

    /// A request without a message: reading, registering, deleting.
    ///
    /// # Errors
    /// [`Failure`].
    pub async fn plain(&self, route: Route<'_>, method: LightMethod, body: Option<&Value>) -> Result<Value, Failure> {
        self.plain_with(route, method, body, Vec::new(), PATIENCE).await
    }

    /// As [`Rest::plain`], with what stands behind the "?" and a patience of one's own.
    ///
    /// # Errors
    /// [`Failure`].
    pub async fn plain_with(
        &self,
        route: Route<'_>,
        method: LightMethod,
        body: Option<&Value>,
        params: Vec<(&'static str, String)>,
        patience: Duration,
    ) -> Result<Value, Failure> {
        let mut request = Request::new(route, method).body(body.map(|b| b.to_string().into_bytes()));
        if !params.is_empty() {
            request = request.params(Some(params));
        }
        let repeatable = !matches!(method, LightMethod::Post);
        let until = Instant::now() + patience;
        self.request(request, Patience { until, attempt: ATTEMPT, free: false, repeatable }).await
    }

    async fn request(&self, request: Request<'_>, patience: Patience) -> Result<Value, Failure> {
        let bucket = request.route_ref().ratelimiting_bucket();
        for attempt in 0_u32.. {
            if !self.pace.wait_for_turn(bucket, patience.until, patience.free).await {
                return Err(Failure::Busy);
            }
            let left = patience.until.saturating_duration_since(Instant::now());
            let why = match self.once(request.clone(), patience.attempt.min(left)).await {
                Ok((status, headers, body)) => {
                    self.pace.heed(bucket, &headers);
                    if status.is_success() {
                        self.counts.fine.fetch_add(1, Ordering::Relaxed);
                        return read_body(&body);
                    }
                    let said: Value = serde_json::from_slice(&body).unwrap_or(Value::Null);
                    let code = said["code"].as_u64().unwrap_or(0);
                    if status == StatusCode::TOO_MANY_REQUESTS {
                        self.counts.slowed.fetch_add(1, Ordering::Relaxed);
                        self.pace.count_refusal();
                        self.pace.slow_down(bucket, &headers, &said);
                        continue;
                    }
                    if status.is_client_error() {
                        // An attempt whose answer was lost has reached its goal all the same.
                        if code == code::ANSWERED && attempt > 0 {
                            return Ok(Value::Null);
                        }
                        self.counts.refused.fetch_add(1, Ordering::Relaxed);
                        if matches!(status.as_u16(), 401 | 403) {
                            self.pace.count_refusal();
                        }
                        return Err(Failure::Refused { status: status.as_u16(), code });
                    }
                    format!("status {}", status.as_u16())
                }
                Err(why) => why,
            };
            self.counts.faults.fetch_add(1, Ordering::Relaxed);
            // 100, 200, 400 ms and so on, each up to half as much again, so that not all come back at once.
            let pause = Duration::from_millis((100 << attempt.min(6)) + fastrand::u64(0..50 << attempt.min(6)));
            if !patience.repeatable || Instant::now() + pause >= patience.until {
                return Err(Failure::Silent(why));
            }
            self.counts.repeated.fetch_add(1, Ordering::Relaxed);
            sleep(pause).await;
        }
        Err(Failure::Busy)
    }

    /// One attempt. An error says in words what went wrong; never an address, which can hold a token.
    async fn once(&self, request: Request<'_>, most: Duration) -> Result<(StatusCode, HeaderMap, Vec<u8>), String> {
        let built = request.build(&self.client, self.token.reveal(), self.api.as_deref());
        let built = built.map_err(|_| "the request cannot be built".to_owned())?;
        let work = async {
            let response = built.send().await.map_err(reqwest::Error::without_url)?;
            let (status, headers) = (response.status(), response.headers().clone());
            let body = response.bytes().await.map_err(reqwest::Error::without_url)?;
            Ok::<_, reqwest::Error>((status, headers, body.to_vec()))
        };
        match timeout(most, work).await {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(error)) if error.is_connect() => Err("no connection".to_owned()),
            Ok(Err(error)) if error.is_timeout() => Err("time-out".to_owned()),
            Ok(Err(_)) => Err("the line broke".to_owned()),
            Err(_) => Err("time-out".to_owned()),
        }
    }
}

fn read_body(body: &[u8]) -> Result<Value, Failure> {
    if body.iter().all(u8::is_ascii_whitespace) {
        return Ok(Value::Null);
    }
    serde_json::from_slice(body).map_err(|_| Failure::Unreadable)
}
