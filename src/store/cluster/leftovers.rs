//! Processes of an earlier server that still use the data folder.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use super::ClusterError;

/// How long an earlier server may take for an orderly end before it is hurried.
const ORDERLY: Duration = Duration::from_secs(10);
/// How long it may then take before it is killed.
const HURRIED: Duration = Duration::from_secs(15);
/// When to give up.
const GIVE_UP: Duration = Duration::from_secs(20);

/// Waits until no server process has `data` as its working folder, and makes it end.
///
/// A server whose parent was killed is already on its way out and only has to be waited for; one
/// that was left alone is asked, then hurried, then killed.
///
/// # Errors
/// [`ClusterError::LeftOver`] if one is still there after all that.
pub(super) fn clear(data: &Path) -> Result<(), ClusterError> {
    let begun = Instant::now();
    let mut sent = 0;
    loop {
        let found = processes(data);
        if found.is_empty() {
            return Ok(());
        }
        let waited = begun.elapsed();
        let head = found.iter().find(|one| one.is_head).map(|one| one.pid);
        let step = match waited {
            w if w < ORDERLY => 1,
            w if w < HURRIED => 2,
            w if w < GIVE_UP => 3,
            _ => {
                return Err(ClusterError::LeftOver {
                    pids: found.iter().map(|one| one.pid).collect(),
                });
            }
        };
        if step > sent {
            sent = step;
            match (step, head) {
                (1, Some(pid)) => signal(pid, libc::SIGINT),
                (2, Some(pid)) => signal(pid, libc::SIGQUIT),
                (1 | 2, None) => found.iter().for_each(|one| signal(one.pid, libc::SIGQUIT)),
                _ => found.iter().for_each(|one| signal(one.pid, libc::SIGKILL)),
            }
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

struct Process {
    pid: i32,
    /// Whether it is the one the others were started by.
    is_head: bool,
}

fn processes(data: &Path) -> Vec<Process> {
    let mut found: Vec<(i32, i32)> = Vec::new();
    for entry in fs::read_dir("/proc").into_iter().flatten().flatten() {
        let Some(pid) = entry.file_name().to_str().and_then(|n| n.parse().ok()) else {
            continue;
        };
        let works_here = fs::read_link(entry.path().join("cwd")).is_ok_and(|cwd| cwd == data);
        if !works_here {
            continue;
        }
        let stat = fs::read_to_string(entry.path().join("stat")).unwrap_or_default();
        if let Some(parent) = living_server(&stat) {
            found.push((pid, parent));
        }
    }
    found
        .iter()
        .map(|&(pid, parent)| Process {
            pid,
            // Children of a killed head belong to init, so a head among several has children here.
            is_head: !found.iter().any(|&(other, _)| other == parent)
                && (found.len() == 1 || found.iter().any(|&(_, others)| others == pid)),
        })
        .collect()
}

/// The parent's number from `/proc/PID/stat`, if that tells of a server that is not a zombie.
fn living_server(stat: &str) -> Option<i32> {
    let (start, rest) = stat.rsplit_once(')')?;
    let (_, name) = start.split_once('(')?;
    let mut fields = rest.split_whitespace();
    let state = fields.next()?;
    let parent = fields.next()?.parse().ok()?;
    (name == "postgres" && !matches!(state, "Z" | "X")).then_some(parent)
}

fn signal(pid: i32, signal: i32) {
    // SAFETY: kill takes any numbers; a process that is gone by now is no error here.
    unsafe { libc::kill(pid, signal) };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zombies_and_strangers_are_not_servers() {
        // Lines in the form of proc(5).
        for (stat, parent) in [
            ("812 (postgres) S 640 812 812 0 -1 4194560", Some(640)),
            ("812 (postgres) Z 640 812 812 0 -1 4194560", None),
            ("812 (bash) S 640 812 812 0 -1 4194560", None),
            ("812 (a) (postgres) S 640 812", None),
            ("", None),
        ] {
            assert_eq!(living_server(stat), parent, "{stat}");
        }
    }
}
