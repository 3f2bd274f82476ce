//! The private database of a data folder: started, killed, taken over, stopped.

use std::fs;
use std::path::Path;

use linkout::store::cluster::{Cluster, ClusterError};
use linkout::store::migrate::migrate;
use linkout::store::pool::{Access, Pool};

use crate::harness::cluster::connect_when_ready;
use crate::harness::data_folder::DataFolder;
use crate::harness::wait_until;

fn kill(pid: u32) {
    // SAFETY: the number is that of a server this test started and has not reaped.
    unsafe { libc::kill(pid.cast_signed(), libc::SIGKILL) };
}

async fn count(url: &str) -> i64 {
    let client = connect_when_ready(url).await;
    let row = client.query_one("SELECT count(*) FROM events", &[]);
    row.await.unwrap().get(0)
}

const ADD: &str = "INSERT INTO events VALUES (gen_random_uuid(), 0, now(), NULL)";

#[tokio::test(flavor = "multi_thread")]
async fn it_keeps_what_was_committed_over_stop_and_start() {
    let folder = DataFolder::new("kept");
    let cluster = Cluster::start(folder.path()).await.unwrap();
    let access = migrate(Access::embedded(&cluster)).await.unwrap();
    let pool = Pool::open(access, 2).await.unwrap();
    drop(pool);
    let client = connect_when_ready(&cluster.app_url()).await;
    client.batch_execute(ADD).await.unwrap();
    drop(client);
    let pid = cluster.server_pid().unwrap();
    cluster.stop().await;
    assert!(!Path::new(&format!("/proc/{pid}")).exists());

    let again = Cluster::start(folder.path()).await.unwrap();
    assert_eq!(count(&again.app_url()).await, 1);
    again.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_killed_server_is_started_again_with_all_that_was_committed() {
    let folder = DataFolder::new("killed");
    let cluster = Cluster::start(folder.path()).await.unwrap();
    let access = migrate(Access::embedded(&cluster)).await.unwrap();
    let pool = Pool::open(access, 2).await.unwrap();
    for round in 1..=3 {
        let client = connect_when_ready(&cluster.app_url()).await;
        client.batch_execute(ADD).await.unwrap();
        let killed = cluster.server_pid().unwrap();
        kill(killed);
        wait_until("another server runs", || {
            cluster.server_pid().is_some_and(|pid| pid != killed)
        })
        .await;
        assert_eq!(count(&cluster.app_url()).await, round);
    }
    // Connections that died with the server are replaced when they are lent.
    use diesel_async::RunQueryDsl;
    let mut connection = pool.get().await.unwrap();
    diesel::sql_query("SELECT 1")
        .execute(&mut connection)
        .await
        .unwrap();
    drop(connection);
    cluster.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn only_one_process_uses_a_data_folder() {
    let folder = DataFolder::new("shared");
    let cluster = Cluster::start(folder.path()).await.unwrap();
    match Cluster::start(folder.path()).await {
        Err(ClusterError::InUse { folder: used }) => assert_eq!(used, folder.path()),
        other => panic!("{other:?}"),
    }
    assert!(!connect_when_ready(&cluster.owner_url()).await.is_closed());
    cluster.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_data_folder_with_a_long_path_gets_a_short_socket() {
    let folder = DataFolder::new("long");
    let deep = folder.path().join("d".repeat(120));
    let cluster = Cluster::start(&deep).await.unwrap();
    let client = connect_when_ready(&cluster.owner_url()).await;
    let row = client
        .query_one("SELECT current_setting('listen_addresses')", &[])
        .await
        .unwrap();
    assert_eq!(row.get::<_, &str>(0), "", "no TCP");
    drop(client);
    cluster.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_half_made_database_is_made_anew() {
    let folder = DataFolder::new("half");
    let cluster = Cluster::start(folder.path()).await.unwrap();
    cluster.stop().await;
    // As if the machine had gone down while the files were being created.
    let own = folder.path().join("postgres");
    fs::rename(own.join("data"), own.join("data.new")).unwrap();
    fs::remove_file(own.join("data.new/PG_VERSION")).unwrap();
    let again = Cluster::start(folder.path()).await.unwrap();
    connect_when_ready(&again.app_url()).await;
    again.stop().await;
}
