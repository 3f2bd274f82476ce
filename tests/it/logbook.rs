//! The logbook: places, ids and revisions.

use linkout::app::Entry;
use linkout::pit::ids::{LineId, Subject};
use linkout::pit::logbook::{Kind, Line};
use linkout::pit::state::Pit;
use linkout::store::logbook::{self, Filter, NotRecorded, Outcome};
use serde_json::json;
use uuid::Uuid;

use crate::harness::build::{
    EVENT, ROBOT, TEAM, based_on, danger, entry, founding, moment, one_of_everything, subject, team,
};
use crate::harness::event::{all, places, record, with_event};

#[tokio::test(flavor = "multi_thread")]
async fn places_have_no_gap_whoever_writes_at_the_same_time() {
    let (_database, pool, mut connection) = with_event().await;
    let mut writers = tokio::task::JoinSet::new();
    for writer in 0..4_u64 {
        let pool = pool.clone();
        writers.spawn(async move {
            let mut given = Vec::new();
            for n in 0..25 {
                let number = 100 + writer * 1000 + n * 10;
                let reports = match n % 3 {
                    0 => vec![vec![danger(number)], vec![danger(number + 1)]],
                    1 => vec![vec![danger(number), danger(number + 1), danger(number + 2)]],
                    _ => vec![vec![team(
                        number,
                        Uuid::from_u128(number.into()),
                        &format!("T{number}"),
                    )]],
                };
                let mut connection = pool.get().await.unwrap();
                let outcomes = logbook::append(&mut connection, EVENT, &reports)
                    .await
                    .unwrap();
                given.extend(outcomes.iter().flat_map(places));
            }
            given
        });
    }
    let mut given: Vec<i64> = writers
        .join_all()
        .await
        .into_iter()
        .flatten()
        .map(|(seq, is_new)| {
            assert!(is_new);
            seq
        })
        .collect();
    given.sort_unstable();
    let count = i64::try_from(given.len()).unwrap();
    assert_eq!(given, (2..count + 2).collect::<Vec<_>>());
    let read: Vec<i64> = all(&mut connection)
        .await
        .iter()
        .map(|line| line.seq)
        .collect();
    assert_eq!(read, (1..count + 2).collect::<Vec<_>>());
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_read_back_is_what_was_recorded() {
    let (_database, _pool, mut connection) = with_event().await;
    let mut report = one_of_everything(10);
    report.push(Entry {
        clock_doubtful: true,
        ..entry(
            60,
            "link",
            &format!("robot:{ROBOT}"),
            &json!({"state": "out"}),
        )
    });
    let mut correction = entry(61, "void", &format!("robot:{ROBOT}"), &json!({}));
    correction.draft.corrects = Some(report.last().unwrap().draft.id);
    report.push(correction);
    let recorded = record(&mut connection, report.clone()).await;
    let expected: Vec<Line> = (2..)
        .zip(&report)
        .map(|(seq, entry)| entry.line(EVENT, seq))
        .collect();
    assert_eq!(places(&recorded).len(), expected.len());
    let read = all(&mut connection).await;
    assert_eq!(read[1..], expected);
    // The statement without a transaction of its own writes the same columns.
    let fact = entry(
        70,
        "link",
        &format!("robot:{ROBOT}"),
        &json!({"state": "out"}),
    );
    record(&mut connection, vec![fact.clone()]).await.unwrap();
    let last = all(&mut connection).await.pop().unwrap();
    assert_eq!(last, fact.line(EVENT, last.seq));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_line_again_is_recorded_once() {
    let (_database, _pool, mut connection) = with_event().await;
    assert_eq!(
        places(&record(&mut connection, vec![danger(7)]).await),
        [(2, true)]
    );
    assert_eq!(
        places(&record(&mut connection, vec![danger(7)]).await),
        [(2, false)]
    );
    // Twice in one batch, and half known, half new.
    let reports = [vec![danger(8)], vec![danger(8)], vec![danger(7), danger(9)]];
    let outcomes = logbook::append(&mut connection, EVENT, &reports)
        .await
        .unwrap();
    let given: Vec<_> = outcomes.iter().map(places).collect();
    assert_eq!(
        given,
        [
            vec![(3, true)],
            vec![(3, false)],
            vec![(2, false), (4, true)]
        ]
    );
    // The server's own account of when it came in is not the line's content.
    let mut later = danger(7);
    later.recorded_at = moment(5000);
    later.clock_doubtful = true;
    assert_eq!(
        places(&record(&mut connection, vec![later]).await),
        [(2, false)]
    );
    assert_eq!(all(&mut connection).await.len(), 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn another_line_under_a_used_id_is_refused_with_its_whole_report() {
    let (_database, _pool, mut connection) = with_event().await;
    record(&mut connection, vec![danger(7)]).await.unwrap();
    let mut other = danger(8);
    other.draft.id = danger(7).draft.id;
    let reports = [
        vec![danger(20)],
        vec![danger(21), other, danger(22)],
        vec![danger(23)],
    ];
    let outcomes = logbook::append(&mut connection, EVENT, &reports)
        .await
        .unwrap();
    assert_eq!(places(&outcomes[0]), [(3, true)]);
    match &outcomes[1] {
        Err(NotRecorded::IdUsed { id, seq }) => {
            assert_eq!((*id, *seq), (danger(7).draft.id, 2));
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(places(&outcomes[2]), [(4, true)]);
    let ids: Vec<LineId> = all(&mut connection)
        .await
        .iter()
        .map(|line| line.id)
        .collect();
    assert!(!ids.contains(&danger(21).draft.id));
    assert_eq!(ids.len(), 4);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_register_line_names_the_revision_it_changes() {
    let (_database, _pool, mut connection) = with_event().await;
    record(&mut connection, vec![team(1, TEAM, "Copper Kettle")])
        .await
        .unwrap();
    let stale = |outcome: Outcome| match outcome {
        Err(NotRecorded::Stale {
            based_on, present, ..
        }) => (based_on, present),
        other => panic!("{other:?}"),
    };
    // As if it were new; based on a later revision than there is; right; the same again, late.
    assert_eq!(
        stale(record(&mut connection, vec![team(2, TEAM, "A")]).await),
        (None, Some(2))
    );
    let ahead = based_on(9, team(3, TEAM, "A"));
    assert_eq!(
        stale(record(&mut connection, vec![ahead]).await),
        (Some(9), Some(2))
    );
    let right = based_on(2, team(4, TEAM, "Copper Kettles"));
    assert_eq!(
        places(&record(&mut connection, vec![right.clone()]).await),
        [(3, true)]
    );
    assert_eq!(
        places(&record(&mut connection, vec![right]).await),
        [(3, false)]
    );
    let unknown = based_on(3, team(5, Uuid::from_u128(77), "B"));
    assert_eq!(
        stale(record(&mut connection, vec![unknown]).await),
        (Some(3), None)
    );
    // Two changes in one batch, of which only the first is based on the present revision.
    let reports = [
        vec![based_on(3, team(6, TEAM, "C"))],
        vec![based_on(3, team(7, TEAM, "D"))],
        vec![based_on(4, team(8, TEAM, "E"))],
    ];
    let mut outcomes = logbook::append(&mut connection, EVENT, &reports)
        .await
        .unwrap();
    assert_eq!(places(&outcomes[2]), [(5, true)]);
    assert_eq!(stale(outcomes.remove(1)), (Some(3), Some(4)));
    let pit = Pit::fold(&all(&mut connection).await);
    assert_eq!(pit.teams.values().next().unwrap().revision, 5);
}

/// Makes every change of these tables fail at the last moment, when it is committed.
const FAIL_AT_COMMIT: &str = "
    CREATE FUNCTION too_late() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION 'not committed'; END $$;
    CREATE CONSTRAINT TRIGGER too_late AFTER INSERT ON lines
        DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION too_late();
    CREATE CONSTRAINT TRIGGER too_late AFTER UPDATE ON join_codes
        DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION too_late();";

#[tokio::test(flavor = "multi_thread")]
async fn nothing_is_acknowledged_before_its_commit() {
    use linkout::store::join_codes::{self, JoinCode};

    let (database, _pool, mut connection) = with_event().await;
    let code = JoinCode {
        event: EVENT,
        code_hash: [7; 32],
        team: None,
        role: linkout::pit::logbook::Role::Marshal,
        expires_at: moment(1000),
        uses_left: Some(1),
        created_by: None,
        revoked_at: None,
    };
    join_codes::add(&mut connection, &code).await.unwrap();
    let client = database.client().await;
    client.batch_execute(FAIL_AT_COMMIT).await.unwrap();
    for report in [vec![danger(1)], vec![team(2, TEAM, "Copper Kettle")]] {
        let outcome = logbook::append(&mut connection, EVENT, &[report]).await;
        assert!(outcome.is_err(), "{outcome:?}");
    }
    let used = join_codes::use_once(&mut connection, [7; 32], moment(1)).await;
    assert!(used.is_err(), "{used:?}");
    assert_eq!(all(&mut connection).await.len(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_event_takes_no_lines() {
    let (_database, _pool, mut connection) = with_event().await;
    let nowhere = linkout::pit::ids::EventId(Uuid::from_u128(404));
    for report in [vec![danger(1)], vec![team(2, TEAM, "A")]] {
        let outcomes = logbook::append(&mut connection, nowhere, &[report])
            .await
            .unwrap();
        assert!(matches!(outcomes[..], [Err(NotRecorded::NoEvent(id))] if id == nowhere));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_event_without_a_first_line_is_not_created() {
    let (_database, _pool, mut connection) = with_event().await;
    let other = linkout::pit::ids::EventId(Uuid::from_u128(0xee));
    let stale = vec![based_on(4, founding().remove(0))];
    let outcome = logbook::found(&mut connection, other, moment(0), None, &stale)
        .await
        .unwrap();
    assert!(
        matches!(outcome, Err(NotRecorded::Stale { .. })),
        "{outcome:?}"
    );
    let events = logbook::events(&mut connection).await.unwrap();
    let ids: Vec<_> = events.iter().map(|event| event.id).collect();
    assert_eq!(ids, [EVENT]);
    // Founding an event again is recording the same line again.
    let again = logbook::found(&mut connection, EVENT, moment(9), None, &founding())
        .await
        .unwrap();
    assert_eq!(places(&again), [(1, false)]);
}

#[tokio::test(flavor = "multi_thread")]
async fn lines_are_listed_by_what_they_are_and_what_they_are_about() {
    let (_database, _pool, mut connection) = with_event().await;
    record(&mut connection, one_of_everything(10))
        .await
        .unwrap();
    for n in 100..110 {
        record(&mut connection, vec![danger(n)]).await.unwrap();
    }
    let mut listed = async |filter: Filter| -> Vec<i64> {
        let lines = logbook::list(&mut connection, EVENT, &filter)
            .await
            .unwrap();
        lines.iter().map(|line| line.seq).collect()
    };
    let limit = 3;
    let stops = vec![Kind::EveryoneStop];
    assert_eq!(
        listed(Filter {
            limit,
            ..Filter::default()
        })
        .await,
        [30, 29, 28]
    );
    assert_eq!(
        listed(Filter {
            kinds: stops.clone(),
            before: Some(24),
            limit,
            ..Filter::default()
        })
        .await,
        [23, 22, 21]
    );
    assert_eq!(
        listed(Filter {
            kinds: stops,
            after: Some(24),
            limit,
            ..Filter::default()
        })
        .await,
        [25, 26, 27]
    );
    let about = Some(subject(&format!("robot:{ROBOT}")));
    assert_eq!(
        listed(Filter {
            subject: about,
            limit,
            ..Filter::default()
        })
        .await,
        [5]
    );
    let about = Some(Subject::Event);
    assert_eq!(
        listed(Filter {
            subject: about,
            after: Some(0),
            before: Some(23),
            limit,
            ..Filter::default()
        })
        .await,
        [22, 21, 1]
    );
}
