//! Signs of life for the system's supervisor (systemd): ready, alive, stopping. Without one nothing happens.

use std::time::Duration;

use sd_notify::NotifyState;

/// Says that the program is ready, and keeps saying that it is alive for as long as `alive` says so.
pub fn ready(alive: impl Fn() -> bool + Send + 'static) {
    let _ = sd_notify::notify(&[NotifyState::Ready]);
    let Some(within) = sd_notify::watchdog_enabled() else { return };
    let every = (within / 3).max(Duration::from_millis(100));
    tokio::spawn(async move {
        loop {
            if alive() {
                let _ = sd_notify::notify(&[NotifyState::Watchdog]);
            }
            tokio::time::sleep(every).await;
        }
    });
}

/// Says that the program is ending.
pub fn stopping() {
    let _ = sd_notify::notify(&[NotifyState::Stopping]);
}
