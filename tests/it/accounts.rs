//! Accounts, sessions, join codes and names.

use chrono::TimeDelta;
use linkout::pit::ids::{PersonId, TeamId};
use linkout::pit::logbook::Role;
use linkout::store::accounts::{self, Account};
use linkout::store::join_codes::{self, JoinCode};
use linkout::store::pool::Pool;
use linkout::store::sessions::{self, Session};
use linkout::store::{StoreError, logbook, names};
use uuid::Uuid;

use crate::harness::build::{ANA, EVENT, TEAM, founding, moment, one_of_everything};
use crate::harness::database::TestDatabase;

async fn with_team() -> (TestDatabase, Pool) {
    let database = TestDatabase::new().await;
    let pool = database.pool().await;
    let mut connection = pool.get().await.unwrap();
    logbook::found(&mut connection, EVENT, moment(0), None, &founding())
        .await
        .unwrap()
        .unwrap();
    for outcome in logbook::append(&mut connection, EVENT, &[one_of_everything(10)])
        .await
        .unwrap()
    {
        outcome.unwrap();
    }
    drop(connection);
    (database, pool)
}

fn refused_by<T: std::fmt::Debug>(outcome: Result<T, StoreError>) -> String {
    match outcome {
        Err(StoreError::Refused { constraint, .. }) => constraint,
        other => panic!("{other:?}"),
    }
}

fn organiser() -> Account {
    Account {
        id: Uuid::from_u128(1),
        login: "Desk".into(),
        password_hash: "$argon2id$".into(),
        is_organiser: true,
        created_at: moment(0),
        disabled_at: None,
    }
}

fn session(id: u128) -> Session {
    Session {
        id: Uuid::from_u128(id),
        event: Some(EVENT),
        person: Some(ANA),
        team: Some(TeamId(TEAM)),
        account: None,
        role: Role::Lead,
        created_at: moment(0),
        expires_at: moment(1000),
        revoked_at: None,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_login_is_one_persons_whatever_its_case() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    accounts::add(&mut connection, organiser()).await.unwrap();
    let again = Account {
        id: Uuid::from_u128(2),
        login: "dESK".into(),
        ..organiser()
    };
    let outcome = accounts::add(&mut connection, again).await;
    assert_eq!(refused_by(outcome), "accounts_login_once");
    let id = organiser().id;
    assert!(
        accounts::set_password(&mut connection, id, "$new$")
            .await
            .unwrap()
    );
    assert!(
        accounts::set_disabled(&mut connection, id, Some(moment(5)))
            .await
            .unwrap()
    );
    let found = accounts::by_login(&mut connection, "DESK").await.unwrap();
    let expected = Account {
        login: "desk".into(),
        password_hash: "$new$".into(),
        disabled_at: Some(moment(5)),
        ..organiser()
    };
    assert_eq!(found, Some(expected.clone()));
    assert_eq!(
        accounts::by_id(&mut connection, id).await.unwrap(),
        Some(expected.clone())
    );
    let nobody = Uuid::from_u128(404);
    assert!(
        !accounts::set_password(&mut connection, nobody, "")
            .await
            .unwrap()
    );
    assert_eq!(
        accounts::by_login(&mut connection, "nobody").await.unwrap(),
        None
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revoked_session_is_named_to_whoever_remembers_it() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    accounts::add(&mut connection, organiser()).await.unwrap();
    let of_account = Session {
        id: Uuid::from_u128(24),
        event: None,
        person: None,
        team: None,
        account: Some(organiser().id),
        role: Role::Organiser,
        ..session(24)
    };
    for one in [session(21), session(22), session(23), of_account.clone()] {
        sessions::open(&mut connection, &one).await.unwrap();
    }
    let read = sessions::by_id(&mut connection, Uuid::from_u128(24))
        .await
        .unwrap();
    assert_eq!(read, Some(of_account));
    assert!(
        sessions::revoke(&mut connection, Uuid::from_u128(21), moment(50))
            .await
            .unwrap()
    );
    assert!(
        !sessions::revoke(&mut connection, Uuid::from_u128(21), moment(60))
            .await
            .unwrap()
    );
    let gone = sessions::by_id(&mut connection, Uuid::from_u128(21))
        .await
        .unwrap()
        .unwrap();
    assert!(!gone.is_live(moment(51)));
    let live = session(22);
    assert!(live.is_live(moment(999)) && !live.is_live(moment(1000)));
    let mut ended = sessions::revoke_person(&mut connection, EVENT, ANA, moment(70))
        .await
        .unwrap();
    ended.sort_unstable();
    assert_eq!(ended, [Uuid::from_u128(22), Uuid::from_u128(23)]);
    let ended = sessions::revoke_account(&mut connection, organiser().id, moment(80)).await;
    assert_eq!(ended.unwrap(), [Uuid::from_u128(24)]);
    let mut since = sessions::revoked_since(&mut connection, moment(70))
        .await
        .unwrap();
    since.sort_unstable();
    assert_eq!(since, [22, 23, 24].map(Uuid::from_u128));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_names_only_what_exists() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    let stranger = Session {
        person: Some(PersonId(Uuid::from_u128(404))),
        ..session(30)
    };
    let outcome = sessions::open(&mut connection, &stranger).await;
    assert_eq!(refused_by(outcome), "sessions_person_fk");
    let nobody = Session {
        event: None,
        person: None,
        team: None,
        ..session(31)
    };
    let outcome = sessions::open(&mut connection, &nobody).await;
    assert_eq!(refused_by(outcome), "sessions_belong");
}

fn code() -> JoinCode {
    JoinCode {
        event: EVENT,
        code_hash: [7; 32],
        team: Some(TeamId(TEAM)),
        role: Role::Crew,
        expires_at: moment(1000),
        uses_left: Some(3),
        created_by: None,
        revoked_at: None,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_join_code_is_used_as_often_as_it_says() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    join_codes::add(&mut connection, &code()).await.unwrap();
    assert_eq!(
        join_codes::look(&mut connection, [7; 32], moment(999))
            .await
            .unwrap(),
        Some(code())
    );
    assert_eq!(
        join_codes::look(&mut connection, [7; 32], moment(1000))
            .await
            .unwrap(),
        None
    );
    assert_eq!(
        join_codes::use_once(&mut connection, [7; 32], moment(1000))
            .await
            .unwrap(),
        None
    );
    let mut users = tokio::task::JoinSet::new();
    for _ in 0..8 {
        let pool = pool.clone();
        users.spawn(async move {
            let mut connection = pool.get().await.unwrap();
            join_codes::use_once(&mut connection, [7; 32], moment(1))
                .await
                .unwrap()
        });
    }
    let used = users.join_all().await.into_iter().flatten().count();
    assert_eq!(used, 3);
    assert_eq!(
        join_codes::look(&mut connection, [7; 32], moment(1))
            .await
            .unwrap(),
        None
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_join_code_without_a_number_holds_until_it_is_withdrawn() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    let open = JoinCode {
        uses_left: None,
        team: None,
        role: Role::Marshal,
        ..code()
    };
    join_codes::add(&mut connection, &open).await.unwrap();
    for second in 0..5 {
        let now = moment(0) + TimeDelta::seconds(second);
        let used = join_codes::use_once(&mut connection, [7; 32], now)
            .await
            .unwrap();
        assert_eq!(used, Some(open.clone()));
    }
    assert!(
        join_codes::revoke(&mut connection, EVENT, [7; 32], moment(9))
            .await
            .unwrap()
    );
    assert!(
        !join_codes::revoke(&mut connection, EVENT, [7; 32], moment(9))
            .await
            .unwrap()
    );
    assert_eq!(
        join_codes::use_once(&mut connection, [7; 32], moment(10))
            .await
            .unwrap(),
        None
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_person_is_erased_while_their_lines_stand() {
    let (_database, pool) = with_team().await;
    let mut connection = pool.get().await.unwrap();
    names::set(&mut connection, EVENT, ANA, "Anna")
        .await
        .unwrap();
    names::set_pin_hash(&mut connection, EVENT, ANA, Some("$pin$"))
        .await
        .unwrap();
    names::set(&mut connection, EVENT, ANA, "Ana")
        .await
        .unwrap();
    let all = names::of_event(&mut connection, EVENT).await.unwrap();
    assert_eq!(
        all.into_iter().collect::<Vec<_>>(),
        [(ANA, "Ana".to_owned())]
    );
    let pin = names::pin_hash(&mut connection, EVENT, ANA).await.unwrap();
    assert_eq!(pin.as_deref(), Some("$pin$"));
    assert!(names::erase(&mut connection, EVENT, ANA).await.unwrap());
    assert!(!names::erase(&mut connection, EVENT, ANA).await.unwrap());
    assert_eq!(
        names::pin_hash(&mut connection, EVENT, ANA).await.unwrap(),
        None
    );
    let lines = logbook::read_after(&mut connection, EVENT, 0, 100)
        .await
        .unwrap();
    assert_eq!(lines.len(), 20);
    assert!(lines.iter().all(|line| line.entered_by.person == Some(ANA)));
    let stranger = PersonId(Uuid::from_u128(404));
    let outcome = names::set(&mut connection, EVENT, stranger, "Nobody").await;
    assert_eq!(refused_by(outcome), "people_names_person_fk");
}
