//! Requests to the platform: time-outs, retries, waiting as it asks, and the one place where a message leaves.
//!
//! The library builds a request ([`Request`]) and knows the routes; its own sender is not used, because it repeats nothing,
//! waits for ever, drops what a refusal says of the wait, and lets everybody loose at once when the platform asks to slow
//! down. In: requests and message bodies. Out: JSON, or a [`Failure`] that says what became of it.
//! Invariant: whatever leaves through [`Rest::send`] pings nobody, and a message that is repeated is not said twice.

use std::collections::HashMap;
use std::num::NonZeroU32;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use governor::{DefaultDirectRateLimiter, Quota, RateLimiter};
use reqwest::StatusCode;
use reqwest::header::HeaderMap;
use serde_json::{Value, json};
use serenity::builder::CreateAttachment;
use serenity::http::{LightMethod, Multipart, MultipartUpload, RatelimitingBucket, Request, Route};
use serenity::model::id::{ApplicationId, ChannelId, InteractionId, MessageId};
use thiserror::Error;
use tokio::time::{Instant, sleep, timeout};
use tracing::warn;

use super::limits::{self, Kind};
use crate::settings::Secret;

/// One attempt; the library itself would wait for ever.
const ATTEMPT: Duration = Duration::from_secs(5);
/// A request that nobody waits for may take so long with all its attempts.
const PATIENCE: Duration = Duration::from_mins(1);
/// The first answer to an interaction must be there in 3 s; attempts end before that.
const FIRST_ANSWER: Duration = Duration::from_millis(2600);
/// One attempt at a first answer.
const FIRST_ATTEMPT: Duration = Duration::from_millis(1200);
/// Requests a second to the platform itself, a little below its limit of 50.
const A_SECOND: NonZeroU32 = NonZeroU32::new(45).expect("it is not zero");
/// Refusals in ten minutes after which nothing more is sent; the platform shuts an address out at 10,000.
const REFUSALS: u64 = 8_000;
/// The span over which refusals are counted.
const REFUSALS_SPAN: Duration = Duration::from_mins(10);

/// The platform's codes that are told apart here.
pub mod code {
    /// The message is gone.
    pub const UNKNOWN_MESSAGE: u64 = 10_008;
    /// The channel is gone.
    pub const UNKNOWN_CHANNEL: u64 = 10_003;
    /// The channel has as many pins as it can.
    pub const TOO_MANY_PINS: u64 = 30_003;
    /// The interaction's time is over.
    pub const UNKNOWN_INTERACTION: u64 = 10_062;
    /// The interaction has its first answer already.
    pub const ANSWERED: u64 = 40_060;
    /// No access to the channel.
    pub const NO_ACCESS: u64 = 50_001;
    /// The member takes no direct messages.
    pub const CLOSED: u64 = 50_007;
    /// A permission is missing.
    pub const FORBIDDEN: u64 = 50_013;
    /// The message that was replied to is gone (reported as an invalid form body).
    pub const INVALID_BODY: u64 = 50_035;
}

/// What became of a request that did not succeed.
#[derive(Debug, Error)]
pub enum Failure {
    /// The platform said no.
    #[error("the platform refused with {status}, code {code}")]
    Refused {
        /// HTTP status.
        status: u16,
        /// The platform's code, 0 where it gave none.
        code: u64,
    },
    /// It asks to wait longer than anybody waits for this.
    #[error("the platform asks to wait too long")]
    Busy,
    /// No answer, or only faults of its own, until patience ended.
    #[error("the platform does not answer ({0})")]
    Silent(String),
    /// What came back is not what was expected.
    #[error("the platform answered with something that cannot be read")]
    Unreadable,
    /// The body broke a limit and was not sent.
    #[error("the body breaks a limit of the platform: {0}")]
    Breach(String),
}

impl Failure {
    /// The platform's code of a refusal.
    #[must_use]
    pub fn code(&self) -> Option<u64> {
        match self {
            Self::Refused { code, .. } => Some(*code),
            _ => None,
        }
    }

    /// Whether the token was refused.
    #[must_use]
    pub fn is_unauthorised(&self) -> bool {
        matches!(self, Self::Refused { status: 401, .. })
    }
}

/// Where a message goes.
#[derive(Debug, Clone)]
pub enum To {
    /// A new message in a channel, as a reply to this message where one is named.
    Channel {
        /// The channel.
        channel: ChannelId,
        /// The message that is answered.
        reply_to: Option<MessageId>,
        /// The same for every attempt: the platform then makes one message of them.
        nonce: String,
    },
    /// Instead of an earlier message of ours.
    Edit {
        /// The channel.
        channel: ChannelId,
        /// The message.
        message: MessageId,
    },
    /// The first answer to an interaction.
    Answer {
        /// The interaction.
        interaction: InteractionId,
        /// Its token.
        token: String,
        /// Change the message of the component instead of posting a new one.
        update: bool,
    },
    /// Instead of the first answer to an interaction.
    Original {
        /// The application.
        application: ApplicationId,
        /// The token of the interaction.
        token: String,
    },
}

/// A file that goes with a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// Letters, digits and `. _ -`.
    pub name: String,
    /// What it shows, for those who do not see it.
    pub description: String,
    /// The file itself.
    pub bytes: Vec<u8>,
}

/// A message that leaves: content, embeds and components as the platform writes them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outgoing {
    /// Plain text, escaped by whoever made it.
    pub content: String,
    /// Embeds.
    pub embeds: Vec<Value>,
    /// Rows of components.
    pub components: Vec<Value>,
    /// Only the asker sees it (answers to interactions).
    pub private: bool,
    /// A file.
    pub file: Option<Attached>,
}

impl Outgoing {
    /// The body, which forbids every mention.
    #[must_use]
    pub fn body(&self) -> Value {
        let mut body = json!({
            "content": self.content,
            "embeds": self.embeds,
            "components": self.components,
            "allowed_mentions": {"parse": [], "replied_user": false},
        });
        if self.private {
            body["flags"] = limits::EPHEMERAL.into();
        }
        // In an edit the list says what is kept: without it an old file would stay under a new answer.
        body["attachments"] = match &self.file {
            Some(file) => json!([{"id": 0, "filename": file.name, "description": file.description}]),
            None => json!([]),
        };
        body
    }
}

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

#[derive(Debug, Clone, Copy)]
struct Bucket {
    left: u64,
    until: Instant,
}

#[derive(Debug)]
struct Pace {
    buckets: HashMap<RatelimitingBucket, Bucket>,
    /// Nobody sends before this.
    stopped_until: Option<Instant>,
    /// The even pace holds until then; for the platform itself always.
    even_until: Option<Instant>,
    refusals: u64,
    refusals_since: Instant,
}

/// The way to the platform.
#[derive(Debug)]
pub struct Rest {
    client: reqwest::Client,
    token: Secret,
    api: Option<String>,
    pace: Mutex<Pace>,
    even: DefaultDirectRateLimiter,
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
        let pace = Pace {
            buckets: HashMap::new(),
            stopped_until: None,
            even_until: None,
            refusals: 0,
            refusals_since: Instant::now(),
        };
        Ok(Self {
            client,
            token: Secret::new(format!("Bot {}", token.reveal())),
            api,
            pace: Mutex::new(pace),
            even: RateLimiter::direct(Quota::per_second(A_SECOND)),
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
        self.pace.is_poisoned()
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
            if !self.wait_for_turn(bucket, patience).await {
                return Err(Failure::Busy);
            }
            let left = patience.until.saturating_duration_since(Instant::now());
            let why = match self.once(request.clone(), patience.attempt.min(left)).await {
                Ok((status, headers, body)) => {
                    self.heed(bucket, &headers);
                    if status.is_success() {
                        self.counts.fine.fetch_add(1, Ordering::Relaxed);
                        return read_body(&body);
                    }
                    let said: Value = serde_json::from_slice(&body).unwrap_or(Value::Null);
                    let code = said["code"].as_u64().unwrap_or(0);
                    if status == StatusCode::TOO_MANY_REQUESTS {
                        self.counts.slowed.fetch_add(1, Ordering::Relaxed);
                        self.count_refusal();
                        self.slow_down(bucket, &headers, &said);
                        continue;
                    }
                    if status.is_client_error() {
                        // An attempt whose answer was lost has reached its goal all the same.
                        if code == code::ANSWERED && attempt > 0 {
                            return Ok(Value::Null);
                        }
                        self.counts.refused.fetch_add(1, Ordering::Relaxed);
                        if matches!(status.as_u16(), 401 | 403) {
                            self.count_refusal();
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

    /// Waits until this request may leave; `false` when that is later than anybody waits.
    async fn wait_for_turn(&self, bucket: RatelimitingBucket, patience: Patience) -> bool {
        loop {
            let now = Instant::now();
            if now >= patience.until {
                return false;
            }
            let (wait, even) = {
                let Ok(mut pace) = self.pace.lock() else { return true };
                if now.duration_since(pace.refusals_since) > REFUSALS_SPAN {
                    pace.refusals = 0;
                    pace.refusals_since = now;
                }
                if pace.refusals >= REFUSALS {
                    return false;
                }
                let mut wait = Duration::ZERO;
                if let (Some(until), false) = (pace.stopped_until, patience.free) {
                    wait = until.saturating_duration_since(now);
                }
                let even = !patience.free && (self.api.is_none() || pace.even_until.is_some_and(|u| u > now));
                if let Some(state) = pace.buckets.get_mut(&bucket) {
                    if state.until <= now {
                        pace.buckets.remove(&bucket);
                    } else if state.left == 0 {
                        wait = wait.max(state.until - now);
                    } else if wait.is_zero() {
                        state.left -= 1;
                    }
                }
                (wait, even)
            };
            if wait.is_zero() {
                if !even {
                    return true;
                }
                let left = patience.until - now;
                return timeout(left, self.even.until_ready()).await.is_ok();
            }
            if now + wait >= patience.until {
                return false;
            }
            // A little apart, so that those who waited together do not leave together.
            sleep(wait + Duration::from_millis(fastrand::u64(1..20))).await;
        }
    }

    /// Takes what the answer says of its bucket.
    fn heed(&self, bucket: RatelimitingBucket, headers: &HeaderMap) {
        if bucket.is_none() {
            return;
        }
        let number = |name: &str| headers.get(name)?.to_str().ok()?.parse::<f64>().ok();
        let (Some(left), Some(after)) = (number("x-ratelimit-remaining"), number("x-ratelimit-reset-after")) else {
            return;
        };
        let Ok(mut pace) = self.pace.lock() else { return };
        let now = Instant::now();
        // Buckets of a moment, one a channel: those that are over are swept out now and then.
        if pace.buckets.len() > 4096 {
            pace.buckets.retain(|_, b| b.until > now);
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a small count, clamped to zero
        let left = left.max(0.0) as u64;
        let until = now + Duration::from_secs_f64(after.clamp(0.0, 3600.0));
        let state = pace.buckets.entry(bucket).or_insert(Bucket { left, until });
        // Answers come back out of order: the lower count of one span is the true one.
        *state = if until > state.until + Duration::from_millis(100) {
            Bucket { left, until }
        } else {
            Bucket { left: state.left.min(left), until: state.until }
        };
    }

    /// Takes what a 429 asks for.
    fn slow_down(&self, bucket: RatelimitingBucket, headers: &HeaderMap, said: &Value) {
        let header = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
        let seconds =
            header("retry-after").and_then(|v| v.parse::<f64>().ok()).or_else(|| said["retry_after"].as_f64());
        let wait = Duration::from_secs_f64(seconds.filter(|s| s.is_finite()).unwrap_or(1.0).clamp(0.0, 3600.0));
        let everywhere = header("x-ratelimit-global").is_some_and(|v| v == "true")
            || header("x-ratelimit-scope") == Some("global")
            || said["global"] == true;
        let now = Instant::now();
        let Ok(mut pace) = self.pace.lock() else { return };
        if everywhere {
            pace.stopped_until = Some(now + wait);
            // Those who waited would all leave in one burst and be refused again: they go at an even pace for a while.
            pace.even_until = Some(now + wait + Duration::from_mins(1));
        } else {
            pace.buckets.insert(bucket, Bucket { left: 0, until: now + wait });
        }
        warn!(wait_ms = u64::try_from(wait.as_millis()).unwrap_or(u64::MAX), everywhere, "the platform asks to wait");
    }

    fn count_refusal(&self) {
        if let Ok(mut pace) = self.pace.lock() {
            pace.refusals += 1;
            if pace.refusals == REFUSALS {
                warn!("too many requests were refused: nothing is sent until ten minutes are over");
            }
        }
    }
}

fn read_body(body: &[u8]) -> Result<Value, Failure> {
    if body.iter().all(u8::is_ascii_whitespace) {
        return Ok(Value::Null);
    }
    serde_json::from_slice(body).map_err(|_| Failure::Unreadable)
}
