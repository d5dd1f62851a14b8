//! A Postgres server for tests, of their own: a private folder, a Unix socket, no port.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Mutex, OnceLock};
use std::time::{Duration, Instant};

use hatchward::collection::store::{Place, ServerUrl, Store};

/// A running server; it ends with the test process, by `pg_ctl` or by the watch that is started beside it.
#[derive(Debug)]
pub(crate) struct Server {
    folder: tempfile::TempDir,
    programs: PathBuf,
}

/// The folder with `initdb` and `postgres`, from `HATCHWARD_POSTGRES` or where Debian puts them.
fn programs() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os("HATCHWARD_POSTGRES") {
        return Some(PathBuf::from(named));
    }
    let mut found: Vec<PathBuf> =
        fs::read_dir("/usr/lib/postgresql").ok()?.flatten().map(|e| e.path().join("bin")).collect();
    found.retain(|p| p.join("initdb").exists());
    found.sort();
    found.pop()
}

impl Server {
    /// A new server, or nothing where no binaries are installed: then the test says so and ends.
    pub(crate) fn start() -> Option<Self> {
        let Some(programs) = programs() else {
            eprintln!("no Postgres server is installed here: this test runs where `initdb` is found");
            return None;
        };
        let folder = tempfile::Builder::new().prefix("hatchward-test-").tempdir().expect("a folder");
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).expect("rights");
        let server = Self { folder, programs };
        fs::create_dir(server.path().join("socket")).expect("a folder");
        if root() {
            run(Command::new("chown").args(["-R", "postgres"]).arg(server.path()));
        }
        run(server
            .program("initdb")
            .args(["--auth=trust", "--no-sync", "--username=hatchward", "--encoding=UTF8", "--locale=C.UTF-8", "-D"])
            .arg(server.path().join("data")));
        server.up();
        server.watch();
        Some(server)
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Postgres refuses to run as root, so root runs it as the user `postgres`.
    fn program(&self, name: &str) -> Command {
        let program = self.programs.join(name);
        let mut command = if root() {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups"]).arg(program);
            command
        } else {
            Command::new(program)
        };
        command.current_dir("/").stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// Starts the server and waits until it answers.
    pub(crate) fn up(&self) {
        let options = format!(
            "-c listen_addresses='' -c unix_socket_directories='{}' -c max_connections=60 -c shared_buffers=64MB",
            self.path().join("socket").display()
        );
        run(self.control("start").args(["-o", &options, "-l"]).arg(self.path().join("log")));
    }

    /// Stops the server at once, as a crash would.
    pub(crate) fn down(&self) {
        run(self.control("stop").args(["-m", "immediate"]));
    }

    fn control(&self, what: &str) -> Command {
        let mut command = self.program("pg_ctl");
        command.arg(what).arg("-w").arg("-D").arg(self.path().join("data"));
        command
    }

    /// A process of its own that stops the server when this one is gone, also after a crash of the tests.
    fn watch(&self) {
        // "ps", because "kill -0" of another user's process says that it is gone.
        let script = "(while ps -p \"$1\" >/dev/null && [ -d \"$2\" ]; do sleep 1; done; exec \"$3\" stop -m immediate -D \"$2\") &";
        let mut command = if root() {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups", "sh"]);
            command
        } else {
            Command::new("sh")
        };
        command.args(["-c", script, "watch"]).arg(std::process::id().to_string());
        command.arg(self.path().join("data")).arg(self.programs.join("pg_ctl")).current_dir("/");
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        run(&mut command);
    }

    /// A fresh database on this server.
    pub(crate) fn database(&self) -> Place {
        let name = self.fresh();
        self.place("hatchward", &name)
    }

    /// A fresh database on this server, by its name.
    pub(crate) fn fresh(&self) -> String {
        static NEXT: AtomicU32 = AtomicU32::new(1);
        let name = format!("test{}", NEXT.fetch_add(1, Ordering::Relaxed));
        run(self.program("createdb").arg("-h").arg(self.path().join("socket")).args([
            "-U",
            "hatchward",
            "-T",
            "template0",
            &name,
        ]));
        name
    }

    /// The address of a database for a user.
    pub(crate) fn place(&self, user: &str, database: &str) -> Place {
        Place::Server(ServerUrl::new(self.url(user, database)))
    }

    /// The folder of its socket.
    pub(crate) fn socket(&self) -> PathBuf {
        self.path().join("socket")
    }

    /// The same as `DATABASE_URL` names it.
    pub(crate) fn url(&self, user: &str, database: &str) -> String {
        let socket = self.path().join("socket").display().to_string().replace('/', "%2F");
        format!("postgres://{user}@{socket}/{database}")
    }

    /// Runs SQL as the superuser.
    pub(crate) fn sql(&self, database: &str, sql: &str) {
        run(self.program("psql").arg("-h").arg(self.path().join("socket")).args([
            "-U",
            "hatchward",
            "-v",
            "ON_ERROR_STOP=1",
            "-c",
            sql,
            database,
        ]));
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.control("stop").args(["-m", "immediate"]).status();
    }
}

/// The one server that tests share which do not break it.
pub(crate) fn shared() -> Option<&'static Server> {
    static SERVER: OnceLock<Option<Server>> = OnceLock::new();
    static STARTING: Mutex<()> = Mutex::new(());
    let _one = STARTING.lock();
    SERVER.get_or_init(Server::start).as_ref()
}

/// A fresh store of each kind that there is here.
pub(crate) async fn stores() -> Vec<Store> {
    let mut stores = vec![Store::open(&Place::Memory).await.expect("the one inside opens")];
    if let Some(server) = shared() {
        stores.push(Store::open(&server.database()).await.expect("the server's opens"));
    }
    stores
}

fn root() -> bool {
    use std::os::unix::fs::MetadataExt as _;
    fs::metadata("/proc/self").is_ok_and(|m| m.uid() == 0)
}

#[track_caller]
fn run(command: &mut Command) {
    let start = Instant::now();
    let status = command.status().unwrap_or_else(|e| panic!("{command:?}: {e}"));
    assert!(status.success(), "{command:?} failed: {status}");
    assert!(start.elapsed() < Duration::from_mins(1), "{command:?} took too long");
}
