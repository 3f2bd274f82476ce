//! The command line: what linkout is asked to do.

mod calc;
mod organiser;
mod rebuild;
mod serve;

use crate::config::Database;
use crate::store::{cluster::Cluster, migrate::migrate, pool::Access, pool::Pool};
use crate::telemetry::{self, LogForm};
use clap::{Args, Parser, Subcommand};
use std::{error::Error, path::PathBuf, process::ExitCode};

/// Any failure of a command, told to whoever typed it.
pub type Failure = Box<dyn Error + Send + Sync>;

#[derive(Parser)]
#[command(name = "linkout", version, about, long_about = None)]
struct Cli {
    /// How events are written to stderr.
    #[arg(long, value_enum, default_value_t, global = true)]
    log: LogForm,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Serves the API, the pages and the live stream.
    Serve(serve::Serve),
    /// Adds and closes organisers' accounts.
    #[command(subcommand)]
    Organiser(organiser::Organiser),
    /// Runs a calculator on the problem on stdin.
    Calc(calc::Calc),
    /// Prints the published document of the API.
    Openapi,
    /// Builds the tables of what exists anew from the lines.
    Rebuild(rebuild::Rebuild),
}

/// Where the data is.
#[derive(Args)]
struct Place {
    /// Folder for the private database and the token key.
    #[arg(long, env = "LINKOUT_DATA", default_value = "linkout-data")]
    data: PathBuf,
    /// A PostgreSQL server of your own; a private one in the data folder otherwise.
    #[arg(long, env = "DATABASE_URL", hide_env_values = true)]
    database_url: Option<String>,
}

/// A database that is ready, and the private server behind it, if it is one.
struct Opened {
    pool: Pool,
    cluster: Option<Cluster>,
}

impl Place {
    fn database(&self) -> Database {
        Database::from(self.database_url.clone(), self.data.clone())
    }
}

impl Opened {
    /// Starts or finds the database, brings its tables up to date, and connects.
    async fn open(database: Database, connections: usize) -> Result<Self, Failure> {
        let (access, cluster) = match database {
            Database::Given(access) => (access, None),
            Database::Embedded(data) => {
                let cluster = Cluster::start(&data).await?;
                (Access::embedded(&cluster), Some(cluster))
            }
        };
        let access = migrate(access).await?;
        let pool = Pool::open(access, connections).await?;
        Ok(Self { pool, cluster })
    }

    /// Lets the database go, and ends it if it is private.
    async fn close(self) {
        drop(self.pool);
        if let Some(cluster) = self.cluster {
            cluster.stop().await;
        }
    }
}

/// Does what the command line says.
pub async fn run() -> ExitCode {
    let cli = Cli::parse();
    if let Err(cause) = telemetry::start(cli.log) {
        eprintln!("linkout: {cause}");
    }
    // The data the product brings along: whatever is wrong with it is said here and not to a phone.
    if let Err(faults) = crate::pit::library::check() {
        eprintln!("linkout: starting data: {}", faults.join("; "));
        return ExitCode::FAILURE;
    }
    let done = match cli.command {
        Command::Serve(serve) => serve.run().await,
        Command::Organiser(organiser) => organiser.run().await,
        Command::Calc(calc) => calc.run(),
        Command::Openapi => crate::http::server::openapi()
            .to_pretty_json()
            .map(|text| println!("{text}"))
            .map_err(Failure::from),
        Command::Rebuild(rebuild) => rebuild.run().await,
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("linkout: {}", told(&*failure));
            ExitCode::FAILURE
        }
    }
}

/// A failure with everything that led to it.
fn told(failure: &(dyn Error + 'static)) -> String {
    let mut text = failure.to_string();
    let mut next = failure.source();
    while let Some(cause) = next {
        text.push_str(": ");
        text.push_str(&cause.to_string());
        next = cause.source();
    }
    text
}
