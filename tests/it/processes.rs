//! Several processes of the program on one database.

use crate::harness::data_folder::DataFolder;
use crate::harness::database::TestDatabase;
use crate::harness::service::Service;
use reqwest::{Method, StatusCode};
use std::time::{Duration, Instant};

/// 32 bytes in base64.
const KEY: &str = "bGlua291dCB0ZXN0cyBzaWduIHdpdGggdGhpcyBrZXk=";
const SESSION: &str = "/api/v1/session";

#[tokio::test(flavor = "multi_thread")]
async fn whoever_signs_out_of_one_process_is_out_of_the_other() {
    let database = TestDatabase::bare().await;
    let folder = DataFolder::new("processes");
    Service::add_organiser_to(folder.path(), &database.url());
    let [here, there] = [(); 2].map(|()| Service::start_on(folder.path(), &database.url(), KEY));
    let token = here.sign_in().await;
    assert_eq!(
        there.ask(Method::GET, &token, SESSION).await,
        StatusCode::OK
    );
    assert_eq!(
        here.ask(Method::DELETE, &token, SESSION).await,
        StatusCode::NO_CONTENT
    );
    let begun = Instant::now();
    while there.ask(Method::GET, &token, SESSION).await != StatusCode::UNAUTHORIZED {
        assert!(begun.elapsed() < Duration::from_secs(30));
    }
}
