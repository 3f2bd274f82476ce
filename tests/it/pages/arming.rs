//! Coming to the arena queue, the marshal's word, duties handed over, a bout put off.

use super::phone::{self, Phone};
use crate::harness::hall::Hall;
use chrono::TimeDelta;

fn bench(hall: &Hall) -> String {
    format!("/e/{}/robots/{}", hall.event, hall.own.robot)
}

/// Somebody's id in a list to choose from.
fn id_of(phone: &Phone, name: &str) -> String {
    let ends = format!(">{name}</option>");
    let mut options = phone.page().split("<option value=\"");
    let option = options.find(|option| option.contains(&ends)).unwrap();
    option.split('"').next().unwrap().to_owned()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_marshal_sees_what_speaks_against_a_robot_in_the_queue() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    let robot = format!("robot:{}", hall.own.robot);
    let queue = serde_json::json!({"place": "queue"});
    let line = hall.line("place", &robot, Some("did"), &queue);
    phone::hand_in(&hall, "crew", &[line]).await;

    // Coming to the queue asks. Nothing was said of the machine, so everything speaks against it,
    // what the departure check left out among it, and the page offers no other answer.
    ruth.open(&format!("/e/{}/marshal", hall.event)).await;
    assert!(ruth.page().contains("no marshal has answered"));
    assert!(ruth.page().contains("Nobody said: Hatch shut, covers on"));
    assert!(ruth.page().contains("not seen yet. Treat as live"));
    assert!(!ruth.page().contains("I looked, nothing against it"));
    ruth.tap_form("/clearance").await;
    hall.service.clock.advance(TimeDelta::seconds(5));
    ana.open(&bench(&hall)).await;
    assert!(ana.page().contains("Not yet, says Ruth"));
    assert!(ana.page().contains("no permit"));

    // The crew asks again.
    ana.tap_form("/clearance").await;
    assert!(ana.page().contains("Ana asked; no marshal has answered"));

    // Nobody of the crew answers for their own machine.
    ana.open(&format!("{}/clearance", bench(&hall))).await;
    assert!(!ana.page().contains("Not yet</button>"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_duty_passes_from_person_to_person() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut dee = phone::crew(&hall, "Dee").await;
    let duties = format!("{}/duties", bench(&hall));
    ana.open(&duties).await;
    let take = ana
        .forms()
        .into_iter()
        .find(|form| form.value("duty") == Some("driver") && form.value("takes") == Some("me"))
        .unwrap();
    ana.press_form(&take).await;
    let takes = id_of(&ana, "Dee");
    hall.service.clock.advance(TimeDelta::seconds(5));
    let hand = ana
        .forms()
        .into_iter()
        .find(|form| form.inside.contains("name=\"takes\"") && form.inside.contains("<select"));
    let hand = hand.unwrap().with("duty", "driver").with("takes", &takes);
    ana.press_form(&hand).await;
    assert!(
        ana.page().contains("offered to Dee by Ana"),
        "nothing has moved yet"
    );
    hall.service.clock.advance(TimeDelta::seconds(5));
    dee.open(&bench(&hall)).await;
    assert!(dee.page().contains("Ana offers you: Driver"));
    dee.tap_form("/duty").await;
    assert!(!dee.page().contains("offered to Dee"));
    ana.open(&duties).await;
    assert!(!ana.page().contains("offered to"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_crew_asks_to_put_its_bout_off_and_keeps_what_it_typed() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let page = format!("{}/postpone", bench(&hall));
    ana.open(&page).await;
    let form = ana.form("/postpone").with("because", "a controller");
    let refused = ana.send(&form.with("by_min", "-3")).await;
    assert_eq!(refused.status, 422);
    assert!(
        refused.text.contains("a controller"),
        "what was typed is kept"
    );
    let form = ana.form("/postpone");
    ana.press_form(&form.with("by_min", "10").with("because", "a controller"))
        .await;
    let mut wren = phone::organiser(&hall, "Wren").await;
    wren.open(&format!("/e/{}/bouts/{}", hall.event, hall.bout))
        .await;
    assert!(wren.page().contains("a controller"));
}
