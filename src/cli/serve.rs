//! `linkout serve`: everything together, until a signal ends it.

use super::{Failure, Opened, Place};
use crate::app::{
    App, Clock, IdSource,
    clock::SystemClock,
    demo::play::{Demo, FastClock},
    id_source::RandomIds,
    order, planner, tail,
};
use crate::auth::{Key, Tokens};
use crate::config::Config;
use crate::http::server;
use crate::pit::library;
use clap::Args;
use std::{
    net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener},
    num::NonZeroUsize,
    sync::Arc,
    time::Duration,
};
use tokio::{
    signal::unix::{SignalKind, signal},
    time::MissedTickBehavior,
};

/// How often to look for sessions that ended in other processes.
const LOOK: Duration = Duration::from_secs(1);

/// Serves.
#[derive(Args)]
pub struct Serve {
    /// Port to listen on.
    #[arg(long, env = "PORT", default_value_t = 8080)]
    port: u16,
    /// Address to listen on; every one of this computer if not given.
    #[arg(long, default_value_t = IpAddr::V4(Ipv4Addr::UNSPECIFIED))]
    listen: IpAddr,
    /// Connections to the database.
    #[arg(long, default_value_t = NonZeroUsize::new(8).unwrap_or(NonZeroUsize::MIN))]
    connections: NonZeroUsize,
    /// Key that tokens are signed with, 32 bytes in base64: needed where several processes serve
    /// together; kept in the data folder otherwise.
    #[arg(long, env = "LINKOUT_TOKEN_KEY", hide_env_values = true)]
    token_key: Option<String>,
    /// Serves an invented event as well, in the middle of its day, and prints a way in for each
    /// role.
    #[arg(long)]
    demo: bool,
    /// How fast time passes in the demo.
    #[arg(long, default_value_t = 1.0, requires = "demo", value_parser = speed)]
    speed: f64,
    #[command(flatten)]
    place: Place,
}

/// A speed the demo can keep up with.
fn speed(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|speed| (0.1..=600.0).contains(speed))
        .ok_or_else(|| "a speed is from 0.1 to 600".to_owned())
}

impl Serve {
    fn config(&self) -> Config {
        Config {
            listen: SocketAddr::new(self.listen, self.port),
            data: self.place.data.clone(),
            database: self.place.database(),
            connections: self.connections,
            workers: std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN),
        }
    }

    /// Serves until SIGINT or SIGTERM.
    ///
    /// # Errors
    /// The database, the token key or the port cannot be had.
    pub async fn run(self) -> Result<(), Failure> {
        library::check().map_err(|faults| faults.join("; "))?;
        let key = match &self.token_key {
            Some(text) => Key::read(text)?,
            None => Key::kept_in(&self.place.data)?,
        };
        let config = self.config();
        let listener = TcpListener::bind(config.listen)
            .map_err(|cause| format!("{} cannot be listened on: {cause}", config.listen))?;
        let opened = Opened::open(config.database.clone(), config.connections.get()).await?;
        let demo_clock = self
            .demo
            .then(|| Arc::new(FastClock::new(SystemClock.now(), self.speed)));
        let clock: Arc<dyn Clock> = match &demo_clock {
            Some(clock) => clock.clone(),
            None => Arc::new(SystemClock),
        };
        let ids: Arc<dyn IdSource> =
            Arc::new(RandomIds::new(rand::make_rng::<rand::rngs::StdRng>()));
        let app = Arc::new(App::new(opened.pool.clone(), Tokens::new(&key), clock, ids));
        let demo = match demo_clock {
            Some(clock) => Some(Demo::open(&app, &clock).await?),
            None => None,
        };
        let playing = demo.map(|demo| {
            for (role, code) in &demo.doors {
                println!("{role:20} http://localhost:{}/join/{code}", self.port);
            }
            tokio::spawn(demo.go_on(app.clone(), self.speed))
        });
        let served = until_signal(app, listener, &config).await;
        if let Some(playing) = playing {
            playing.abort();
        }
        opened.close().await;
        served
    }
}

async fn until_signal(
    app: Arc<App>,
    listener: TcpListener,
    config: &Config,
) -> Result<(), Failure> {
    let following = tokio::spawn(tail::follow(app.clone()));
    let looking = tokio::spawn(look_for_ended(app.clone()));
    let planning = tokio::spawn(planner::watch_all(app.clone()));
    let ordering = tokio::spawn(order::watch_all(app.clone()));
    let running = server::build(app, listener, config.workers)?;
    let handle = running.server.handle();
    let serving = tokio::spawn(running.server);
    println!("linkout serves at http://{}", config.listen);
    let (mut interrupt, mut terminate) = (
        signal(SignalKind::interrupt())?,
        signal(SignalKind::terminate())?,
    );
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
    }
    tracing::info!("ending");
    running.end.now();
    handle.stop(true).await;
    following.abort();
    looking.abort();
    planning.abort();
    ordering.abort();
    serving.await??;
    Ok(())
}

async fn look_for_ended(app: Arc<App>) {
    let mut ticks = tokio::time::interval(LOOK);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    loop {
        ticks.tick().await;
        if let Err(cause) = app.sessions.look_for_ended(app.clock.now()).await {
            tracing::warn!(%cause, "looking for ended sessions failed");
        }
    }
}
