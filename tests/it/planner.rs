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

#[tokio::test(flavor = "multi_thread")]
async fn what_would_help_comes_to_the_page_when_it_is_worked_out() {
    let hall = Hall::open().await;
    let app = hall.service.app.clone();
    let event = app.events.open(hall.event.parse().unwrap()).await.unwrap();
    let robot = RobotId(hall.own.robot);
    let page = format!("/e/{}/robots/{robot}", hall.event);
    let mut changes = event.hub().listen();
    let crew = hall.who("crew");

    // Nobody waits for it: the page is there at once and says that it is being worked out.
    let first = crew.get(&page).await.expect(200).text;
    assert!(first.contains("Being worked out."), "{first}");
    let told = async {
        loop {
            let change = changes.recv().await.unwrap();
            if change.subjects.contains(&Subject::Robot(robot)) {
                return;
            }
        }
    };
    tokio::time::timeout(AT_LAST, told)
        .await
        .expect("whoever looks is told");
    let then = crew.get(&page).await.expect(200).text;
    assert!(then.contains("What would help"), "{then}");
    assert!(!then.contains("Being worked out."), "{then}");

    // A program that asks is told of the same, and of what nothing is learned from yet.
    let path = hall.path(&format!("/robots/{robot}/advice"));
    let advice = crew.get(&path).await.expect(200).json();
    assert!(advice["tried"].as_u64().unwrap() > 0, "{advice}");
    let path = hall.path(&format!("/robots/{robot}/durations"));
    let learned = crew.get(&path).await.expect(200).json();
    assert_eq!(learned["tasks"], json!([]));
    let page = crew
        .get(&format!("{page}/durations"))
        .await
        .expect(200)
        .text;
    assert!(page.contains("Nothing is learned yet"), "{page}");
}
