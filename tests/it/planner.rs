//! Plans are published as lines, and pages are woken by time alone.

use crate::harness::hall::Hall;
use linkout::app::planner;
use linkout::pit::ids::{RobotId, Subject, TeamId};
use serde_json::json;
use std::time::Duration;

/// Longer than anything here takes; reached only if it never comes.
const AT_LAST: Duration = Duration::from_secs(60);

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_is_published_and_a_grown_old_account_wakes_the_pages() {
    let hall = Hall::open().await;
    let app = hall.service.app.clone();
    let watching = tokio::spawn(planner::watch_all(app.clone()));
    let event = app.events.open(hall.event.parse().unwrap()).await.unwrap();
    let robot = RobotId(hall.own.robot);
    let subject = format!("robot:{robot}");
    let mut changes = event.hub().listen();

    // In the arena queue an account grows old in ten minutes, by time alone.
    let lines = json!([
        hall.line("link", &subject, Some("did"), &json!({"state": "out"})),
        hall.line("place", &subject, Some("did"), &json!({"place": "queue"})),
    ]);
    let sent_at = lines[0]["at"].clone();
    hall.who("crew")
        .send(
            "POST",
            &hall.path("/lines"),
            &json!({"sent_at": sent_at, "lines": lines}),
        )
        .await
        .expect(201);

    let published = async {
        while !event.pit().plans.contains_key(&TeamId(hall.own.team)) {
            changes.recv().await.unwrap();
        }
    };
    tokio::time::timeout(AT_LAST, published)
        .await
        .expect("a plan is published");
    hall.who("crew")
        .get(&hall.path(&format!("/robots/{robot}/plan")))
        .await
        .expect(200);

    let woken = async {
        loop {
            // The clock goes on; nobody enters anything.
            hall.service.clock.advance(chrono::TimeDelta::seconds(30));
            let known = event.pit().last_seq;
            let heard = tokio::time::timeout(Duration::from_millis(500), changes.recv()).await;
            let Ok(Ok(change)) = heard else { continue };
            if change.last_seq == known && change.subjects.contains(&Subject::Robot(robot)) {
                return;
            }
        }
    };
    tokio::time::timeout(AT_LAST, woken)
        .await
        .expect("the pages are woken");
    watching.abort();
}
