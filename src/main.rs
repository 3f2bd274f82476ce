//! Starts linkout.

use std::process::ExitCode;

#[tokio::main]
async fn main() -> ExitCode {
    linkout::cli::run().await
}
