//! The stations: joined from the bench, served on a keypad, and nobody's but the official's.

use super::phone;
use crate::harness::hall::Hall;
use serde_json::json;

/// Lets a minute pass: what happens later is later.
fn later(hall: &Hall) {
    hall.service.clock.advance(chrono::TimeDelta::minutes(1));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_queue_joined_from_the_bench_is_served_on_the_keypad() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut zeb = phone::official(&hall, "Zeb").await;
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    let bay = format!("/e/{}/stations/gas_bay", hall.event);
    ana.open(&bench).await;
    ana.tap_form("/stations/gas_bay/steps").await;
    assert_eq!(ana.path(), bench, "one tap, and still at the bench");
    assert!(ana.page().contains("Leave: Gas bay"));
    assert_eq!(phone::lines(&hall, "station"), 1);

    later(&hall);
    zeb.open(&bay).await;
    assert!(zeb.page().contains("stamp not known: do not fill"));
    let wrong = zeb.form("/results").with("mass", "about 3 <kilos>");
    let answer = zeb.send(&wrong).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Grams, such as 7420."));
    assert!(answer.text.contains("value=\"about 3 &lt;kilos&gt;\""));
    assert_eq!(phone::lines(&hall, "bottle"), 0, "nothing was recorded");

    let filled = zeb.form_in(&answer.text, "/results").with("mass", "3900");
    let filled = filled.with("did", "filled");
    zeb.press_form(&filled).await;
    assert_eq!(phone::lines(&hall, "bottle"), 1);
    assert!(zeb.page().contains("Nobody waits."));
    assert!(zeb.page().contains("Robot 1: bottle B1"), "the last result");
    ana.open(&bench).await;
    assert!(!ana.page().contains("Leave: Gas bay"), "served");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_crew_joins_and_leaves_but_neither_calls_nor_enters_results() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut zeb = phone::official(&hall, "Zeb").await;
    let scale = format!("/e/{}/stations/scale", hall.event);
    ana.open(&scale).await;
    ana.tap_form("/steps").await;
    assert_eq!(ana.path(), scale);
    assert!(!ana.page().contains("/results"), "no keypad for a crew");
    later(&hall);
    ana.press_form(&ana.form("/steps")).await;
    assert!(ana.page().contains("Nobody waits."), "left by one tap");
    later(&hall);
    ana.tap_form("/steps").await;
    let calls = ana.form("/steps").with("step", "serving");
    assert_eq!(ana.send(&calls).await.status, 403);

    later(&hall);
    zeb.open(&scale).await;
    let weighed = zeb.form("/results").with("mass", "109,4");
    let answer = ana.send(&weighed.clone().with("result", "within")).await;
    assert_eq!(answer.status, 403);
    assert_eq!(phone::lines(&hall, "proof"), 0);
    // The page works the result out itself, here from the limit of the class.
    let answer = zeb.send(&weighed.clone().with("mass", "a lot")).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("value=\"a lot\""));
    zeb.press_form(&weighed).await;
    assert_eq!(phone::lines(&hall, "proof"), 1);
    assert!(zeb.page().contains("Nobody waits."));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_teams_own_result_says_whose_word_it_is() {
    let hall = Hall::open().await;
    let mut zeb = phone::official(&hall, "Zeb").await;
    let robot = format!("robot:{}", hall.own.robot);
    let body = json!({"what": "weight", "result": "within", "mass_g": 109_400});
    let word = hall.line("proof", &robot, Some("did"), &body);
    phone::hand_in(&hall, "crew", &[word]).await;
    zeb.open(&format!("/e/{}/stations/scale", hall.event)).await;
    assert!(zeb.page().contains("team says"), "{}", zeb.page());
    let body = json!({"what": "weight", "result": "fail", "mass_g": 111_000});
    let result = hall.line("proof", &robot, Some("saw"), &body);
    phone::hand_in(&hall, "official", &[result]).await;
    zeb.open(&format!("/e/{}/stations/scale", hall.event)).await;
    assert_eq!(zeb.page().matches("team says").count(), 1);
}
