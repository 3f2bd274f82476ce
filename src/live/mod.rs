//! Who is told, and of what, when something about an event changes.

use std::sync::Arc;

use tokio::sync::broadcast;

use crate::pit::ids::Subject;

/// How many changes a slow listener may be behind before it has to look for itself.
const BEHIND: usize = 256;

/// The logbook has grown, and what is known has been brought up to date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Place of the last line that is known now.
    pub last_seq: i64,
    /// What the new lines are about, each once.
    pub subjects: Arc<[Subject]>,
}

/// Tells every listener of one event of every change, in order.
#[derive(Debug)]
pub struct Hub {
    sender: broadcast::Sender<Change>,
}

impl Hub {
    /// A hub without listeners.
    #[must_use]
    pub fn new() -> Self {
        Self {
            sender: broadcast::Sender::new(BEHIND),
        }
    }

    /// Tells whoever listens; nobody listening is no fault.
    pub fn publish(&self, change: Change) {
        // The only error is that nobody listens.
        let _ = self.sender.send(change);
    }

    /// Listens from now on. A receiver that lags has missed changes and reads what is known anew.
    #[must_use]
    pub fn listen(&self) -> broadcast::Receiver<Change> {
        self.sender.subscribe()
    }
}

impl Default for Hub {
    fn default() -> Self {
        Self::new()
    }
}
