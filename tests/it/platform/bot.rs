//! The real program as a process that logs in to the stand-in.

use std::io::Read;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use super::{Platform, TOKEN, WAIT};

/// A running program. It is killed when the test is over.
pub(crate) struct Bot {
    child: Child,
    log: Arc<Mutex<String>>,
    /// The home of a program without a database server: its own database is in there.
    _home: tempfile::TempDir,
}

impl Bot {
    /// `hatchward serve` against this platform, with more settings in the environment.
    pub(crate) fn start(platform: &Platform, more: &[(&str, &str)]) -> Self {
        Self::run(&["serve"], platform, more)
    }

    /// Any command against this platform.
    pub(crate) fn run(args: &[&str], platform: &Platform, more: &[(&str, &str)]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hatchward"));
        command.args(args).env_clear().current_dir(std::env::temp_dir());
        command.env("HATCHWARD_DISCORD_API", &platform.api).env("DISCORD_TOKEN", TOKEN);
        let home = tempfile::tempdir().expect("a folder");
        command.env("HOME", home.path());
        if let Some(database) = &platform.database {
            command.env("DATABASE_URL", database);
        }
        command.env("HATCHWARD_HEALTH_LISTEN", "").env("HATCHWARD_LOG_FORMAT", "json");
        for (name, value) in more {
            command.env(name, value);
        }
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let log = Arc::new(Mutex::new(String::new()));
        for mut pipe in [
            Box::new(child.stdout.take().expect("a pipe")) as Box<dyn Read + Send>,
            Box::new(child.stderr.take().expect("a pipe")),
        ] {
            let log = Arc::clone(&log);
            std::thread::spawn(move || {
                let mut buffer = [0; 4096];
                while let Ok(n @ 1..) = pipe.read(&mut buffer) {
                    log.lock().expect("unpoisoned").push_str(&String::from_utf8_lossy(&buffer[..n]));
                }
            });
        }
        Self { child, log, _home: home }
    }

    /// Starts, and waits until it has logged in on every shard.
    pub(crate) async fn ready(platform: &Platform, more: &[(&str, &str)]) -> Self {
        let before = platform.with(|s| s.identifies.len());
        let bot = Self::start(platform, more);
        let shards = usize::try_from(platform.shards).expect("few");
        bot.watch(platform.until("a login", WAIT, |s| (s.identifies.len() >= before + shards).then_some(()))).await;
        bot.says("logged in").await;
        bot
    }

    /// Shows the log when waiting fails.
    async fn watch(&self, waiting: impl Future<Output = ()>) {
        struct Shown<'a>(&'a Bot, bool);
        impl Drop for Shown<'_> {
            fn drop(&mut self) {
                if !self.1 {
                    eprintln!("the program said:\n{}", self.0.log());
                }
            }
        }
        let mut shown = Shown(self, false);
        waiting.await;
        shown.1 = true;
    }

    /// What it wrote so far.
    pub(crate) fn log(&self) -> String {
        self.log.lock().expect("unpoisoned").clone()
    }

    /// Waits until it has written these words.
    pub(crate) async fn says(&self, words: &str) {
        let end = Instant::now() + WAIT;
        while !self.log().contains(words) {
            assert!(Instant::now() < end, "it did not say {words:?} but:\n{}", self.log());
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Waits until it has written these words so many times, and fails where they stand there more often.
    pub(crate) async fn says_times(&self, words: &str, times: usize) {
        let end = Instant::now() + WAIT;
        while self.log().matches(words).count() < times {
            assert!(Instant::now() < end, "it did not say {words:?} {times} times but:\n{}", self.log());
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        assert_eq!(self.log().matches(words).count(), times, "{words:?}:\n{}", self.log());
    }

    /// Its process id.
    pub(crate) fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Sends a signal by name.
    pub(crate) fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([&format!("-{name}"), &self.pid().to_string()]).status();
        assert!(sent.expect("kill is there").success(), "the signal was sent");
    }

    /// Waits for its end.
    pub(crate) async fn ended(&mut self, most: Duration) -> ExitStatus {
        let end = Instant::now() + most;
        loop {
            if let Some(status) = self.child.try_wait().expect("it can be waited for") {
                // What it wrote last is still on its way through the pipe.
                tokio::time::sleep(Duration::from_millis(50)).await;
                return status;
            }
            assert!(Instant::now() < end, "it did not end within {most:?}:\n{}", self.log());
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }
}

impl Drop for Bot {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        if std::thread::panicking() {
            eprintln!("the program said:\n{}", self.log());
        }
    }
}
