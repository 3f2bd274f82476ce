//! The tables of what exists, beside the logbook.

use linkout::app::Report;
use linkout::pit::ids::LineId;
use linkout::store::logbook;
use linkout::store::pool::Connection;
use linkout::store::{StoreError, TEXT_WITHOUT_NUL, projection};
use serde_json::json;
use uuid::Uuid;

use crate::harness::build::{
    EVENT, ROBOT, TEAM, based_on, danger, entry, one_of_everything, robot,
};
use crate::harness::database::TestDatabase;
use crate::harness::event::{places, record, with_event};

async fn refusal(connection: &mut Connection, report: Report) -> String {
    let refused = logbook::append(connection, EVENT, &[report]).await;
    match refused {
        Err(StoreError::Refused { constraint, .. }) => constraint,
        other => panic!("{other:?}"),
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_tables_refuse_what_the_lines_may_not_say() {
    let (_database, _pool, mut connection) = with_event().await;
    let orphan = vec![robot(1, ROBOT, "Pewter Finch")];
    assert_eq!(refusal(&mut connection, orphan).await, "robots_team_fk");
    record(&mut connection, one_of_everything(10))
        .await
        .unwrap();
    let second = vec![robot(2, Uuid::from_u128(0x99), "PEWTER finch")];
    assert_eq!(refusal(&mut connection, second).await, "robots_name_once");
    let mut correction = danger(3);
    correction.draft.corrects = Some(LineId(Uuid::from_u128(12345)));
    assert_eq!(
        refusal(&mut connection, vec![correction]).await,
        "lines_corrects_fk"
    );
    let itself = entry(
        4,
        "register_bout",
        "bout:00000000-0000-0000-0000-0000000000b4",
        &json!({
        "number": 3, "slots": [{"robot": ROBOT}, {"robot": ROBOT}],
        "call_at": "2027-01-15T12:00:00Z"}),
    );
    assert_eq!(
        refusal(&mut connection, vec![itself]).await,
        "bouts_two_robots"
    );
    let nul = based_on(
        14,
        entry(
            5,
            "register_library",
            &format!("team:{TEAM}"),
            &json!({
        "machine": "flipper_heavyweight", "changes": {"a\u{0}b": {}}}),
        ),
    );
    assert_eq!(refusal(&mut connection, vec![nul]).await, TEXT_WITHOUT_NUL);
    // What was refused took no place, and what is retired gives its name free.
    let retired = based_on(
        5,
        entry(
            6,
            "register_robot",
            &format!("robot:{ROBOT}"),
            &json!({
        "team": TEAM, "name": "Pewter Finch", "machine": "flipper_heavyweight", "links": 2,
        "retired": true}),
        ),
    );
    let again = robot(7, Uuid::from_u128(0x99), "Pewter Finch");
    assert_eq!(
        places(&record(&mut connection, vec![retired, again]).await),
        [(21, true), (22, true)]
    );
}

/// Every row of every table of what exists, in an order of its own.
async fn tables(database: &TestDatabase) -> Vec<String> {
    let client = database.client().await;
    let names = client
        .query(
            "SELECT table_name::text FROM information_schema.columns
             WHERE table_schema = 'public' AND column_name = 'event_id'
               AND table_name <> 'lines' ORDER BY 1",
            &[],
        )
        .await
        .unwrap();
    let mut rows = Vec::new();
    for name in names {
        let name: &str = name.get(0);
        let sql = format!("SELECT '{name} ' || to_jsonb(t)::text FROM {name} t ORDER BY 1");
        rows.extend(
            client
                .query(&sql, &[])
                .await
                .unwrap()
                .iter()
                .map(|row| row.get(0)),
        );
    }
    rows
}

#[tokio::test(flavor = "multi_thread")]
async fn tables_made_anew_from_the_lines_are_the_tables() {
    let (database, _pool, mut connection) = with_event().await;
    record(&mut connection, one_of_everything(10))
        .await
        .unwrap();
    let smaller = based_on(
        9,
        entry(
            40,
            "register_set",
            "set:00000000-0000-0000-0000-000000000105",
            &json!({"team": TEAM, "label": "B", "packs": [Uuid::from_u128(0x103)]}),
        ),
    );
    let bare = based_on(5, robot(41, ROBOT, "Pewter Wren"));
    record(&mut connection, vec![smaller, bare]).await.unwrap();
    linkout::store::names::set(&mut connection, EVENT, crate::harness::build::ANA, "Ana")
        .await
        .unwrap();
    let live = tables(&database).await;
    for table in [
        "bottle_stamps",
        "bottles",
        "bouts",
        "channels",
        "chargers",
        "circuits",
        "event_details",
        "libraries",
        "packs",
        "part_fits",
        "part_histories",
        "part_types",
        "people",
        "people_names",
        "robots",
        "set_packs",
        "sets",
        "supplies",
        "teams",
    ] {
        let start = format!("{table} ");
        assert!(
            live.iter().any(|row| row.starts_with(&start)),
            "no row in {table}"
        );
    }
    // A clearing of everything that was there before is part of what is tested.
    let client = database.client().await;
    client
        .batch_execute("UPDATE robots SET configuration = 'other'; DELETE FROM libraries")
        .await
        .unwrap();
    assert_ne!(tables(&database).await, live);
    projection::rebuild(&mut connection, EVENT).await.unwrap();
    assert_eq!(tables(&database).await, live);
}
