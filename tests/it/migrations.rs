//! Every migration can be taken back, and the logbook only grows.

use diesel::migration::MigrationSource;
use diesel::pg::Pg;
use diesel_async::AsyncPgConnection;
use diesel_async::async_connection_wrapper::AsyncConnectionWrapper;
use diesel_migrations::MigrationHarness;
use linkout::store::cluster::Binaries;
use linkout::store::migrate::{MIGRATIONS, migrate};
use linkout::store::pool::{Access, Pool};

use crate::harness::database::TestDatabase;

/// The form of a database as its own dump program writes it.
fn dump(url: &str) -> String {
    let binaries = Binaries::find(&std::env::temp_dir(), None).unwrap();
    let answer = binaries
        .command("pg_dump")
        .args(["--schema-only", "--no-owner", "--no-privileges"])
        .args(["--exclude-table=__diesel_schema_migrations", url])
        .output()
        .unwrap();
    assert!(
        answer.status.success(),
        "{}",
        String::from_utf8_lossy(&answer.stderr)
    );
    let text = String::from_utf8(answer.stdout).unwrap();
    // Newer programs guard the dump with a key that is another one each time.
    text.lines()
        .filter(|line| !line.starts_with("\\restrict") && !line.starts_with("\\unrestrict"))
        .collect::<Vec<_>>()
        .join("\n")
}

#[tokio::test(flavor = "multi_thread")]
async fn each_migration_taken_back_leaves_what_was_before() {
    let database = TestDatabase::bare().await;
    let url = database.url();
    tokio::task::spawn_blocking(move || {
        use diesel::Connection;
        let mut connection = AsyncConnectionWrapper::<AsyncPgConnection>::establish(&url).unwrap();
        let mut all = MigrationSource::<Pg>::migrations(&MIGRATIONS).unwrap();
        all.sort_by(|a, b| a.name().version().cmp(&b.name().version()));
        assert!(!all.is_empty());
        MigrationHarness::<Pg>::applied_migrations(&mut connection).unwrap();
        let mut forms = vec![dump(&url)];
        for migration in &all {
            connection.run_migration(migration.as_ref()).unwrap();
            let with = dump(&url);
            connection.revert_migration(migration.as_ref()).unwrap();
            assert_eq!(dump(&url), *forms.last().unwrap(), "{}", migration.name());
            connection.run_migration(migration.as_ref()).unwrap();
            assert_eq!(dump(&url), with, "{}", migration.name());
            assert_ne!(
                with,
                *forms.last().unwrap(),
                "{} does nothing",
                migration.name()
            );
            forms.push(with);
        }
        connection.revert_all_migrations(MIGRATIONS).unwrap();
        assert_eq!(dump(&url), forms[0]);
        connection.run_pending_migrations(MIGRATIONS).unwrap();
        assert_eq!(dump(&url), *forms.last().unwrap());
    })
    .await
    .unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn migrating_twice_changes_nothing() {
    let database = TestDatabase::new().await;
    let before = dump(&database.url());
    let access = migrate(database.access()).await.unwrap();
    assert_eq!(access, database.access());
    assert_eq!(dump(&database.url()), before);
}

const EVENT_AND_LINE: &str = "
    INSERT INTO events VALUES ('00000000-0000-7000-8000-000000000001', 1, now(), NULL);
    INSERT INTO lines VALUES ('00000000-0000-7000-8000-000000000001', 1,
        '00000000-0000-7000-8000-000000000002', 'danger', 1, now(), now(), now(), false,
        NULL, NULL, 'program', 'event', NULL, NULL, '{}');";

#[tokio::test(flavor = "multi_thread")]
async fn nobody_changes_the_logbook() {
    let database = TestDatabase::new().await;
    let client = database.client().await;
    client.batch_execute(EVENT_AND_LINE).await.unwrap();
    let attempts = [
        "UPDATE lines SET body = '{\"a\": 1}'",
        "DELETE FROM lines",
        "TRUNCATE lines CASCADE",
        "DELETE FROM photos",
        "TRUNCATE events CASCADE",
    ];
    for attempt in attempts {
        // The superuser may do anything, so only the trigger is left to refuse it.
        let refused = client.batch_execute(attempt).await.unwrap_err();
        let said = refused.as_db_error().unwrap();
        assert_eq!(said.constraint(), Some("lines_only_grow"), "{attempt}");
    }
    client.batch_execute("SET ROLE linkout_app").await.unwrap();
    for attempt in attempts {
        let refused = client.batch_execute(attempt).await.unwrap_err();
        // 42501, insufficient_privilege: PostgreSQL 15 documentation, appendix A.
        assert_eq!(refused.code().unwrap().code(), "42501", "{attempt}");
    }
    let left = client
        .query_one("SELECT body::text FROM lines", &[])
        .await
        .unwrap();
    assert_eq!(left.get::<_, &str>(0), "{}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_account_that_may_create_no_role_still_serves() {
    let database = TestDatabase::bare().await;
    let client = database.client().await;
    let role = format!("lesser_{}", std::process::id());
    client
        .batch_execute(&format!(
            "CREATE ROLE {role} LOGIN; GRANT ALL ON SCHEMA public TO {role};"
        ))
        .await
        .unwrap();
    let url = database.url().replace("postgres@", &format!("{role}@"));
    let access = migrate(Access::given(url)).await.unwrap();
    assert_eq!(access.role, None);
    let pool = Pool::open(access, 1).await.unwrap();
    drop(pool);
    client
        .batch_execute(&format!("DROP OWNED BY {role}; DROP ROLE {role};"))
        .await
        .unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_serving_connection_is_the_lesser_role() {
    use diesel::sql_types::Text;
    use diesel_async::RunQueryDsl;

    #[derive(diesel::QueryableByName)]
    struct Who {
        #[diesel(sql_type = Text)]
        who: String,
    }

    let database = TestDatabase::new().await;
    let pool = database.pool().await;
    let mut connection = pool.get().await.unwrap();
    let row: Who = diesel::sql_query("SELECT current_user::text AS who")
        .get_result(&mut connection)
        .await
        .unwrap();
    assert_eq!(row.who, "linkout_app");
}
