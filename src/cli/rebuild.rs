//! `linkout rebuild`: the tables of what exists, built anew from the lines.

use super::{Failure, Opened, Place};
use crate::app::Events;
use clap::Args;

/// Builds the tables anew.
#[derive(Args)]
pub struct Rebuild {
    #[command(flatten)]
    place: Place,
}

impl Rebuild {
    /// Does it for every event.
    ///
    /// # Errors
    /// The database cannot be reached.
    pub async fn run(self) -> Result<(), Failure> {
        let opened = Opened::open(self.place.database(), 1).await?;
        let events = Events::new(opened.pool.clone());
        let rebuilt = events.rebuild_all().await;
        drop(events);
        opened.close().await;
        println!("rebuilt {} events", rebuilt?);
        Ok(())
    }
}
