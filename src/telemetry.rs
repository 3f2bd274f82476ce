//! What linkout says about itself: events on stderr, as text or as JSON.

use tracing_subscriber::EnvFilter;

/// How events are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum LogForm {
    /// For people.
    #[default]
    Text,
    /// For programs, one object a line.
    Json,
}

/// Starts writing events to stderr. `RUST_LOG` says which; all from info on if it is not set.
///
/// # Errors
/// Somebody started it before.
pub fn start(form: LogForm) -> Result<(), Box<dyn std::error::Error + Send + Sync>> {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new("info"));
    let events = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr);
    match form {
        LogForm::Text => events.try_init(),
        LogForm::Json => events.json().flatten_event(true).try_init(),
    }
}
