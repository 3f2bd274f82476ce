//! An event in a database, and its logbook.

use linkout::app::Report;
use linkout::pit::logbook::Line;
use linkout::store::logbook::{self, Outcome};
use linkout::store::pool::{Connection, Pool};

use super::build::{EVENT, founding, moment};
use super::database::TestDatabase;

/// A database with an event in it, and connections to it.
pub async fn with_event() -> (TestDatabase, Pool, Connection) {
    let database = TestDatabase::new().await;
    let pool = database.pool().await;
    let mut connection = pool.get().await.unwrap();
    let outcome = logbook::found(&mut connection, EVENT, moment(0), None, &founding()).await;
    assert_eq!(places(&outcome.unwrap()), [(1, true)]);
    (database, pool, connection)
}

/// Where the lines of a recorded report stand, and whether each was recorded now.
pub fn places(outcome: &Outcome) -> Vec<(i64, bool)> {
    let recorded = outcome.as_ref().expect("a recorded report");
    recorded.iter().map(|one| (one.seq, one.is_new)).collect()
}

/// Records a report alone.
pub async fn record(connection: &mut Connection, report: Report) -> Outcome {
    let mut outcomes = logbook::append(connection, EVENT, &[report]).await.unwrap();
    assert_eq!(outcomes.len(), 1);
    outcomes.pop().unwrap()
}

/// Every line of the event.
pub async fn all(connection: &mut Connection) -> Vec<Line> {
    logbook::read_after(connection, EVENT, 0, 100_000)
        .await
        .unwrap()
}
