//! When a request may leave: the platform's buckets, its waits, and an even pace of our own, so that those who waited
//! together do not leave together.
//!
//! In: what the platform's answers say. Out: permission to go, or that it would take too long. Never: a request.

use std::collections::HashMap;
use std::num::NonZeroU32;
use std::sync::Mutex;
use std::time::Duration;

use governor::{DefaultDirectRateLimiter, Quota, RateLimiter};
use reqwest::header::HeaderMap;
use serde_json::Value;
use serenity::http::RatelimitingBucket;
use tokio::time::{Instant, sleep, timeout};
use tracing::warn;

/// Requests a second to the platform itself, a little below its limit of 50.
const A_SECOND: NonZeroU32 = NonZeroU32::new(45).expect("it is not zero");
/// Refusals in ten minutes after which nothing more is sent; the platform shuts an address out at 10,000.
const REFUSALS: u64 = 8_000;
/// The span over which refusals are counted.
const REFUSALS_SPAN: Duration = Duration::from_mins(10);

#[derive(Debug, Clone, Copy)]
struct Bucket {
    left: u64,
    until: Instant,
}

#[derive(Debug)]
struct Said {
    buckets: HashMap<RatelimitingBucket, Bucket>,
    /// Nobody sends before this.
    stopped_until: Option<Instant>,
    /// The even pace holds until then; for the platform itself always.
    even_until: Option<Instant>,
    refusals: u64,
    refusals_since: Instant,
}

/// The pace of one way to the platform.
#[derive(Debug)]
pub(super) struct Pace {
    said: Mutex<Said>,
    even: DefaultDirectRateLimiter,
    always_even: bool,
}

impl Pace {
    /// A pace at which nothing was said yet. `always_even` is for the platform itself, whose limit is known.
    pub(super) fn new(always_even: bool) -> Self {
        let said = Said {
            buckets: HashMap::new(),
            stopped_until: None,
            even_until: None,
            refusals: 0,
            refusals_since: Instant::now(),
        };
        Self { said: Mutex::new(said), even: RateLimiter::direct(Quota::per_second(A_SECOND)), always_even }
    }

    /// Whether what was said was lost in a fault: nothing can be sent any more.
    pub(super) fn is_stuck(&self) -> bool {
        self.said.is_poisoned()
    }

    /// Waits until this request may leave; `false` when that is later than anybody waits.
    /// `free` is outside the limit of requests a second.
    pub(super) async fn wait_for_turn(&self, bucket: RatelimitingBucket, until: Instant, free: bool) -> bool {
        loop {
            let now = Instant::now();
            if now >= until {
                return false;
            }
            let (wait, even) = {
                let Ok(mut said) = self.said.lock() else { return true };
                if now.duration_since(said.refusals_since) > REFUSALS_SPAN {
                    said.refusals = 0;
                    said.refusals_since = now;
                }
                if said.refusals >= REFUSALS {
                    return false;
                }
                let mut wait = Duration::ZERO;
                if let (Some(until), false) = (said.stopped_until, free) {
                    wait = until.saturating_duration_since(now);
                }
                let even = !free && (self.always_even || said.even_until.is_some_and(|u| u > now));
                if let Some(state) = said.buckets.get_mut(&bucket) {
                    if state.until <= now {
                        said.buckets.remove(&bucket);
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
                let left = until - now;
                return timeout(left, self.even.until_ready()).await.is_ok();
            }
            if now + wait >= until {
                return false;
            }
            // A little apart, so that those who waited together do not leave together.
            sleep(wait + Duration::from_millis(fastrand::u64(1..20))).await;
        }
    }

    /// Takes what the answer says of its bucket.
    pub(super) fn heed(&self, bucket: RatelimitingBucket, headers: &HeaderMap) {
        if bucket.is_none() {
            return;
        }
        let told = |name: &str| headers.get(name)?.to_str().ok();
        let left = told("x-ratelimit-remaining").and_then(|n| n.parse::<u64>().ok());
        let after = told("x-ratelimit-reset-after").and_then(|n| n.parse::<f64>().ok()).filter(|n| n.is_finite());
        let (Some(left), Some(after)) = (left, after) else { return };
        let Ok(mut said) = self.said.lock() else { return };
        let now = Instant::now();
        // Buckets of a moment, one a channel: those that are over are swept out now and then.
        if said.buckets.len() > 4096 {
            said.buckets.retain(|_, b| b.until > now);
        }
        let until = now + Duration::from_secs_f64(after.clamp(0.0, 3600.0));
        let state = said.buckets.entry(bucket).or_insert(Bucket { left, until });
        // Answers come back out of order: the lower count of one span is the true one.
        *state = if until > state.until + Duration::from_millis(100) {
            Bucket { left, until }
        } else {
            Bucket { left: state.left.min(left), until: state.until }
        };
    }

    /// Takes what a 429 asks for.
    pub(super) fn slow_down(&self, bucket: RatelimitingBucket, headers: &HeaderMap, told: &Value) {
        let header = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
        let seconds =
            header("retry-after").and_then(|v| v.parse::<f64>().ok()).or_else(|| told["retry_after"].as_f64());
        let wait = Duration::from_secs_f64(seconds.filter(|s| s.is_finite()).unwrap_or(1.0).clamp(0.0, 3600.0));
        let everywhere = header("x-ratelimit-global").is_some_and(|v| v == "true")
            || header("x-ratelimit-scope") == Some("global")
            || told["global"] == true;
        let now = Instant::now();
        let Ok(mut said) = self.said.lock() else { return };
        if everywhere {
            said.stopped_until = Some(now + wait);
            // Those who waited would all leave in one burst and be refused again: they go at an even pace for a while.
            said.even_until = Some(now + wait + Duration::from_mins(1));
        } else {
            said.buckets.insert(bucket, Bucket { left: 0, until: now + wait });
        }
        warn!(wait_ms = u64::try_from(wait.as_millis()).unwrap_or(u64::MAX), everywhere, "the platform asks to wait");
    }

    /// Counts an answer of the kind that shuts an address out when there are too many.
    pub(super) fn count_refusal(&self) {
        if let Ok(mut said) = self.said.lock() {
            said.refusals += 1;
            if said.refusals == REFUSALS {
                warn!("too many requests were refused: nothing is sent until ten minutes are over");
            }
        }
    }
}
