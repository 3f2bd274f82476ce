//! The thread that starts the server, waits for its end, and starts it again.

use std::io::{self, Read, Seek, SeekFrom};
use std::os::unix::process::CommandExt;
use std::process::{Child, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, mpsc};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use std::{fs, thread};

use super::layout::Layout;
use super::{Account, Binaries, ClusterError, leftovers};

/// How long a server may take until it is ready: recovery after a crash replays its log first.
const START: Duration = Duration::from_secs(120);
/// A server that lasted longer than this is started again without a pause: even if each dies as soon
/// as it is ready, that is a few starts a second.
const STEADY: Duration = Duration::from_millis(250);
/// The longest pause before another attempt to start it.
const LONGEST_PAUSE: Duration = Duration::from_secs(2);

/// The running server and the thread that looks after it.
///
/// One long-lived thread starts every server, because the signal that a child gets when its parent
/// dies is sent when the starting *thread* ends.
#[derive(Debug)]
pub(super) struct Keeper {
    shared: Arc<Mutex<State>>,
    thread: Option<JoinHandle<()>>,
}

#[derive(Debug, Default)]
struct State {
    stopping: bool,
    server: Option<Child>,
}

/// What the thread needs to start a server.
pub(super) struct Recipe {
    pub layout: Layout,
    pub binaries: Binaries,
    pub account: Option<Account>,
}

impl Keeper {
    /// Starts a server and returns when it is ready.
    pub fn start(recipe: Recipe) -> Result<Self, ClusterError> {
        let shared = Arc::new(Mutex::new(State::default()));
        let (first, ready) = mpsc::channel();
        let seen = Arc::clone(&shared);
        let thread = thread::Builder::new()
            .name("database".into())
            .spawn(move || keep(&recipe, &seen, &first))
            .map_err(ClusterError::io("starting the thread for", "the database"))?;
        let outcome = ready.recv().unwrap_or_else(|mpsc::RecvError| {
            Err(ClusterError::NotStarted {
                said: "its thread ended".into(),
            })
        });
        let mut keeper = Self {
            shared,
            thread: Some(thread),
        };
        if let Err(refused) = outcome {
            keeper.stop();
            return Err(refused);
        }
        Ok(keeper)
    }

    /// The server's process number, `None` while there is none.
    pub fn pid(&self) -> Option<u32> {
        locked(&self.shared).server.as_ref().map(Child::id)
    }

    /// Ends the server in order and waits for it.
    pub fn stop(&mut self) {
        self.ask_to_stop();
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
        {
            tracing::error!("the thread of the database panicked");
        }
    }

    fn ask_to_stop(&self) {
        let mut state = locked(&self.shared);
        state.stopping = true;
        if let Some(server) = &state.server {
            // SAFETY: a child that has not been reaped keeps its number.
            unsafe { libc::kill(pid_of(server), libc::SIGINT) };
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.ask_to_stop();
    }
}

fn keep(recipe: &Recipe, shared: &Mutex<State>, first: &mpsc::Sender<Result<(), ClusterError>>) {
    let mut pause = Duration::ZERO;
    let mut is_first = true;
    while !locked(shared).stopping {
        let started = Instant::now();
        match serve_once(recipe, shared, || {
            if is_first {
                // Nobody listens if the starter has gone: then this thread is told to stop.
                let _ = first.send(Ok(()));
            } else {
                tracing::info!(
                    duration_ms = started.elapsed().as_millis(),
                    "the database runs again"
                );
            }
        }) {
            Ok(()) if started.elapsed() > STEADY => pause = Duration::ZERO,
            Ok(()) => pause = longer(pause),
            Err(refused) if is_first => {
                let _ = first.send(Err(refused));
                return;
            }
            Err(refused) => {
                tracing::error!(cause = %refused, "the database could not be started again");
                pause = longer(pause);
            }
        }
        is_first = false;
        if !locked(shared).stopping {
            tracing::warn!("the database server ended; starting it again");
            thread::sleep(pause);
        }
    }
}

fn longer(pause: Duration) -> Duration {
    (pause * 2).clamp(Duration::from_millis(50), LONGEST_PAUSE)
}

/// Starts a server, says when it is ready, and returns when it has ended.
fn serve_once(
    recipe: &Recipe,
    shared: &Mutex<State>,
    ready: impl FnOnce(),
) -> Result<(), ClusterError> {
    let data = &recipe.layout.data;
    leftovers::clear(data)?;
    // With nobody left in the folder, what the last server left there only stands in the way.
    for stale in recipe
        .layout
        .socket_files()
        .iter()
        .chain([&data.join("postmaster.pid")])
    {
        match fs::remove_file(stale) {
            Ok(()) => {}
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {}
            Err(cause) => return Err(ClusterError::io("removing", stale)(cause)),
        }
    }
    let server = spawn(recipe)?;
    let pid = pid_of(&server);
    {
        let mut state = locked(shared);
        if state.stopping {
            // SAFETY: the child has not been reaped, so the number is still its own.
            unsafe { libc::kill(pid, libc::SIGINT) };
        }
        state.server = Some(server);
    }
    let is_ready = wait_until_ready(recipe, shared, pid);
    match &is_ready {
        Ok(()) => ready(),
        // SAFETY: as above; one that ended by itself is still unreaped.
        Err(_) => unsafe {
            libc::kill(pid, libc::SIGQUIT);
        },
    }
    wait_for_end(pid);
    // Taking it out of the shared state before reaping it keeps a stop from signalling a number
    // that by then belongs to somebody else.
    let ended = locked(shared).server.take();
    if let Some(mut server) = ended {
        server
            .wait()
            .map_err(ClusterError::io("waiting for the server of", data))?;
    }
    is_ready
}

fn spawn(recipe: &Recipe) -> Result<Child, ClusterError> {
    let log = recipe.layout.open_log()?;
    let mut command = recipe.binaries.command("postgres");
    command
        .arg("-D")
        .arg(&recipe.layout.data)
        .arg("-k")
        .arg(&recipe.layout.sockets);
    for setting in [
        "listen_addresses=",
        "port=5432",
        "unix_socket_permissions=0700",
        "recovery_init_sync_method=syncfs",
        "log_checkpoints=off",
        "jit=off",
    ] {
        command.arg("-c").arg(setting);
    }
    command
        .current_dir("/")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log)
        // Ctrl-C at the terminal is for this program, which then stops the server in order.
        .process_group(0);
    if let Some(account) = &recipe.account {
        account.apply(&mut command);
    }
    // SAFETY: getpid has no preconditions and cannot fail.
    let parent = unsafe { libc::getpid() };
    // SAFETY: between fork and exec only prctl and getppid are called, both safe there. The
    // account has been changed by then, which would have cleared the setting.
    unsafe {
        command.pre_exec(move || {
            if libc::prctl(libc::PR_SET_PDEATHSIG, libc::SIGINT) != 0 {
                return Err(io::Error::last_os_error());
            }
            if libc::getppid() != parent {
                return Err(io::Error::other("the parent is gone"));
            }
            Ok(())
        });
    }
    command.spawn().map_err(ClusterError::io(
        "starting the server of",
        &recipe.layout.data,
    ))
}

fn wait_until_ready(recipe: &Recipe, shared: &Mutex<State>, pid: i32) -> Result<(), ClusterError> {
    let file = recipe.layout.data.join("postmaster.pid");
    let begun = Instant::now();
    loop {
        // The file of an earlier server also says ready, so the number has to be our child's.
        let text = fs::read_to_string(&file).unwrap_or_default();
        let mut lines = text.lines();
        let is_ours = lines.next().and_then(|line| line.trim().parse().ok()) == Some(pid);
        if is_ours && lines.nth(6).is_some_and(|line| line.trim() == "ready") {
            return Ok(());
        }
        let has_ended = match locked(shared).server.as_mut() {
            Some(_) => has_ended(pid),
            None => true,
        };
        if has_ended || begun.elapsed() > START {
            return Err(ClusterError::NotStarted {
                said: last_lines(&recipe.layout),
            });
        }
        thread::sleep(Duration::from_millis(2));
    }
}

fn has_ended(pid: i32) -> bool {
    wait_id(pid, libc::WNOHANG) == Some(pid)
}

fn wait_for_end(pid: i32) {
    while wait_id(pid, 0).is_none() {
        if io::Error::last_os_error().kind() != io::ErrorKind::Interrupted {
            return;
        }
    }
}

/// Asks after the end of a child without reaping it; `None` if the call failed.
fn wait_id(pid: i32, options: i32) -> Option<i32> {
    // SAFETY: all-zero is a valid value of this plain structure, and it outlives the call.
    unsafe {
        let mut about: libc::siginfo_t = std::mem::zeroed();
        let outcome = libc::waitid(
            libc::P_PID,
            pid.unsigned_abs(),
            &mut about,
            libc::WEXITED | libc::WNOWAIT | options,
        );
        (outcome == 0).then(|| about.si_pid())
    }
}

fn pid_of(server: &Child) -> i32 {
    // Process numbers of Linux stay below 2^22.
    server.id().cast_signed()
}

fn last_lines(layout: &Layout) -> String {
    const SPAN: u64 = 2000;
    let read = || -> io::Result<String> {
        let mut log = fs::File::open(&layout.log)?;
        let length = log.metadata()?.len();
        log.seek(SeekFrom::Start(length.saturating_sub(SPAN)))?;
        let mut bytes = Vec::new();
        log.read_to_end(&mut bytes)?;
        Ok(String::from_utf8_lossy(&bytes).trim().to_owned())
    };
    read().unwrap_or_else(|cause| format!("its log cannot be read: {cause}"))
}

fn locked(shared: &Mutex<State>) -> MutexGuard<'_, State> {
    // The state is two plain fields, whole after every statement.
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}
