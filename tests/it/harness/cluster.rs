//! One throwaway database server a run, shared by every test process.

use std::fs::{self, File};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use linkout::store::cluster::{Account, Binaries, socket_url};
use linkout::store::migrate::migrate;
use linkout::store::pool::Access;

/// Stops the server three seconds after the last test process has gone.
const SUPERVISE: &str = include_str!("supervise.sh");

static SHARED: LazyLock<SharedCluster> = LazyLock::new(|| {
    // A thread of its own: the caller may be on a runtime, where blocking on another is refused.
    std::thread::spawn(SharedCluster::join_or_start)
        .join()
        .expect("the test cluster starts")
});

/// The server of this run, and this process's hold on it.
pub struct SharedCluster {
    folder: PathBuf,
    template: String,
    _held: File,
}

impl SharedCluster {
    /// The server of this run, started if it is not there yet.
    pub fn get() -> &'static Self {
        &SHARED
    }

    /// The address of a database, for its superuser.
    pub fn url(&self, database: &str) -> String {
        socket_url(&self.folder, "postgres", database)
    }

    /// The name of the migrated database that tests get copies of.
    pub fn template(&self) -> &str {
        &self.template
    }

    fn join_or_start() -> Self {
        let checkout = env!("CARGO_MANIFEST_DIR");
        let mut hasher = DefaultHasher::new();
        checkout.hash(&mut hasher);
        let name = format!("linkout-tests-{:016x}", hasher.finish());
        let folder = std::env::temp_dir().join(&name);
        // The system's temporary folder, because the server's account may not enter root's home.
        let gate = File::create(std::env::temp_dir().join(format!("{name}.gate"))).unwrap();
        gate.lock().unwrap();
        let held = join(&folder).unwrap_or_else(|| start(&folder));
        let mut cluster = Self {
            template: template_name(Path::new(checkout)),
            folder,
            _held: held,
        };
        let runtime = tokio::runtime::Runtime::new().unwrap();
        runtime.block_on(cluster.make_template());
        cluster
    }

    async fn make_template(&mut self) {
        let admin = connect_when_ready(&self.url("postgres")).await;
        let known = admin
            .query_opt(
                "SELECT 1 FROM pg_database WHERE datname = $1",
                &[&self.template],
            )
            .await
            .unwrap();
        if known.is_some() {
            return;
        }
        let draft = format!("{}_draft", self.template);
        for statement in [
            format!("DROP DATABASE IF EXISTS {draft}"),
            format!("CREATE DATABASE {draft} STRATEGY file_copy"),
        ] {
            admin.batch_execute(&statement).await.unwrap();
        }
        migrate(Access::given(self.url(&draft))).await.unwrap();
        // Renaming waits for nobody: it fails while the migrating connection is still closing.
        let rename = format!("ALTER DATABASE {draft} RENAME TO {}", self.template);
        let begun = Instant::now();
        while let Err(cause) = admin.batch_execute(&rename).await {
            assert!(begun.elapsed() < Duration::from_secs(10), "{cause}");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }
}

/// Takes hold of a server that is running and stays, if there is one.
fn join(folder: &Path) -> Option<File> {
    let path = folder.join("holders");
    let held = File::open(&path).ok()?;
    held.lock_shared().unwrap();
    // A server that was stopping meanwhile took its folder along.
    let still_there = fs::metadata(&path).is_ok_and(|about| {
        about.ino() == held.metadata().expect("an open file has metadata").ino()
    });
    let is_watched =
        File::open(folder.join("alive")).is_ok_and(|alive| alive.try_lock_shared().is_err());
    (still_there && is_watched).then_some(held)
}

#[expect(
    clippy::zombie_processes,
    reason = "the supervisor outlives this process on purpose"
)]
fn start(folder: &Path) -> File {
    if folder.exists() {
        end_forgotten(folder);
        fs::remove_dir_all(folder).unwrap();
    }
    let account = Account::for_server().unwrap();
    let binaries = Binaries::find(folder, None).unwrap();
    fs::DirBuilder::new().mode(0o700).create(folder).unwrap();
    let own = |path: &Path| {
        if let Some(account) = &account {
            std::os::unix::fs::chown(path, Some(account.uid), Some(account.gid)).unwrap();
        }
    };
    own(folder);
    let holders = folder.join("holders");
    let held = File::create(&holders).unwrap();
    fs::set_permissions(&holders, fs::Permissions::from_mode(0o600)).unwrap();
    own(&holders);
    held.lock_shared().unwrap();
    let run_as = |command: &mut Command| {
        if let Some(account) = &account {
            account.apply(command);
        }
        command.current_dir("/").stdin(Stdio::null());
    };
    let mut initdb = binaries.command("initdb");
    initdb
        .args([
            "-N",
            "-U",
            "postgres",
            "-E",
            "UTF8",
            "--locale=C",
            "-A",
            "trust",
            "-D",
        ])
        .arg(folder.join("data"));
    run_as(&mut initdb);
    let answer = initdb.output().unwrap();
    assert!(
        answer.status.success(),
        "initdb: {}",
        String::from_utf8_lossy(&answer.stderr)
    );
    let mut supervisor = Command::new("sh");
    supervisor
        .args(["-c", SUPERVISE, "supervise"])
        .arg(folder)
        .arg(binaries.folder().join("postgres"));
    run_as(&mut supervisor);
    supervisor.stdout(Stdio::null()).stderr(Stdio::null());
    // SAFETY: setsid is safe between fork and exec, and takes the child out of this session, so
    // that it outlives the run.
    unsafe {
        supervisor.pre_exec(|| match libc::setsid() {
            -1 => Err(std::io::Error::last_os_error()),
            _ => Ok(()),
        });
    }
    supervisor.spawn().unwrap();
    held
}

/// Ends a server whose supervisor was killed.
fn end_forgotten(folder: &Path) {
    let data = folder.join("data");
    let text = fs::read_to_string(data.join("postmaster.pid")).unwrap_or_default();
    let Some(pid) = text
        .lines()
        .next()
        .and_then(|line| line.parse::<i32>().ok())
    else {
        return;
    };
    let is_there = || fs::read_link(format!("/proc/{pid}/cwd")).is_ok_and(|cwd| cwd == data);
    if is_there() {
        // SAFETY: the process works in this folder, so it is the forgotten server.
        unsafe { libc::kill(pid, libc::SIGQUIT) };
    }
    while is_there() {
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Migrations that differ make another template, though the server is the same.
fn template_name(checkout: &Path) -> String {
    let mut hasher = DefaultHasher::new();
    let mut folders: Vec<PathBuf> = fs::read_dir(checkout.join("migrations"))
        .unwrap()
        .map(|entry| entry.unwrap().path().join("up.sql"))
        .collect();
    folders.sort();
    folders.push(checkout.join("src/store/rights.sql"));
    for file in folders {
        fs::read(&file).unwrap().hash(&mut hasher);
    }
    format!("template_{:016x}", hasher.finish())
}

/// Connects, waiting for a server that is just starting.
pub async fn connect_when_ready(url: &str) -> tokio_postgres::Client {
    let begun = Instant::now();
    loop {
        match tokio_postgres::connect(url, tokio_postgres::NoTls).await {
            Ok((client, connection)) => {
                tokio::spawn(connection);
                return client;
            }
            Err(cause) => assert!(begun.elapsed() < Duration::from_secs(30), "{cause}"),
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}
