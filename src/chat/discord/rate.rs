//! How much one member and one server may ask: enough for any talk, too little to tie the program up.
//!
//! In: who asks, where. Out: [`Verdict`]. Said kindly once, then silence until there is room again.

use std::collections::HashMap;
use std::num::NonZeroU32;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};

use crate::settings::Settings;

/// What a question meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Go on.
    Fine,
    /// Say once that there is room again after so long.
    TellWait(Duration),
    /// It was said; stay silent.
    Silent,
}

/// The limits of this process. A server is heard by one process alone, so no others need to know.
#[derive(Debug)]
pub struct Rate {
    members: DefaultKeyedRateLimiter<u64>,
    servers: DefaultKeyedRateLimiter<u64>,
    clock: DefaultClock,
    told: Mutex<HashMap<u64, Instant>>,
    faults: Mutex<HashMap<u64, Instant>>,
}

/// A channel hears of a fault once in so long: when everything breaks, it must not be filled with that.
const FAULTS: Duration = Duration::from_secs(10);

fn quota(questions: u32, window: Duration) -> Quota {
    let burst = NonZeroU32::new(questions).unwrap_or(NonZeroU32::MIN);
    let every = (window / burst.get()).max(Duration::from_nanos(1));
    Quota::with_period(every).unwrap_or(Quota::per_second(burst)).allow_burst(burst)
}

impl Rate {
    /// The limits that the operator set.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self {
            members: RateLimiter::keyed(quota(settings.member_questions, settings.member_window)),
            servers: RateLimiter::keyed(quota(settings.server_questions, settings.server_window)),
            clock: DefaultClock::default(),
            told: Mutex::default(),
            faults: Mutex::default(),
        }
    }

    /// Counts a question of a member, in a server where it is asked in one.
    #[must_use]
    pub fn ask(&self, member: u64, server: Option<u64>) -> Verdict {
        let now = self.clock.now();
        let refused = self.members.check_key(&member).err().or_else(|| {
            let server = server?;
            self.servers.check_key(&server).err()
        });
        let Some(refused) = refused else { return Verdict::Fine };
        let wait = refused.wait_time_from(now);
        let Ok(mut told) = self.told.lock() else { return Verdict::Silent };
        let now = Instant::now();
        if told.get(&member).is_some_and(|until| *until > now) {
            return Verdict::Silent;
        }
        told.retain(|_, until| *until > now);
        // One line for the whole wait, and not one more for each question that is a little too early.
        told.insert(member, now + wait.max(Duration::from_secs(10)));
        Verdict::TellWait(wait)
    }

    /// Whether a fault may be said in a channel now; if so, the next one not for a while.
    #[must_use]
    pub fn may_tell_fault(&self, channel: u64) -> bool {
        let Ok(mut faults) = self.faults.lock() else { return false };
        faults.retain(|_, at| at.elapsed() < FAULTS);
        if faults.contains_key(&channel) {
            return false;
        }
        faults.insert(channel, Instant::now());
        true
    }

    /// Forgets those who have not asked for a while.
    pub fn sweep(&self) {
        self.members.retain_recent();
        self.servers.retain_recent();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_member_is_told_once_and_others_are_not_held_up() {
        let rate = Rate::new(&Settings { member_questions: 3, ..Settings::default() });
        for _ in 0..3 {
            assert_eq!(rate.ask(1, Some(9)), Verdict::Fine);
        }
        assert!(matches!(rate.ask(1, Some(9)), Verdict::TellWait(wait) if wait <= Duration::from_secs(10)));
        assert_eq!(rate.ask(1, Some(9)), Verdict::Silent);
        assert_eq!(rate.ask(2, Some(9)), Verdict::Fine);
    }

    #[test]
    fn a_channel_hears_of_faults_once_in_a_while() {
        let rate = Rate::new(&Settings::default());
        assert!(rate.may_tell_fault(1) && rate.may_tell_fault(2));
        assert!(!rate.may_tell_fault(1) && !rate.may_tell_fault(2));
    }

    #[test]
    fn a_server_has_a_limit_of_its_own() {
        let rate = Rate::new(&Settings { server_questions: 2, ..Settings::default() });
        assert_eq!(rate.ask(1, Some(9)), Verdict::Fine);
        assert_eq!(rate.ask(2, Some(9)), Verdict::Fine);
        assert!(matches!(rate.ask(3, Some(9)), Verdict::TellWait(_)));
        assert_eq!(rate.ask(3, Some(8)), Verdict::Fine);
        assert_eq!(rate.ask(3, None), Verdict::Fine);
    }
}
