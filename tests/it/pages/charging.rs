//! The charging table: a charge begun, watched, read back by a second person, cut by the mains, over.

use super::phone::{self, Form, Phone};
use crate::harness::hall::Hall;
use serde_json::json;

/// The form of the table that says `said`.
fn form(phone: &Phone, said: &str) -> Form {
    let asks = format!("name=\"said\" value=\"{said}\"");
    let mut forms = phone.forms().into_iter();
    let found = forms.find(|form| form.inside.contains(&asks));
    found.unwrap_or_else(|| panic!("no form says {said}: {}", phone.page()))
}

#[tokio::test(flavor = "multi_thread")]
async fn a_charge_is_watched_and_read_back_and_a_power_cut_asks_again() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut ben = phone::crew(&hall, "Ben").await;
    let table = format!("/e/{}/charging", hall.event);
    ana.open(&table).await;
    assert!(ana.page().contains("Nothing is on charge"));
    assert!(ana.page().contains("in the area set apart for it"));
    // The bout of the own robot has a set to be charged: one tap puts it on.
    let on = form(&ana, "on");
    ana.press_form(&on).await;
    assert!(ana.page().contains("left, since"), "{}", ana.page());
    assert!(
        ana.page()
            .contains("settings not read back by a second person")
    );
    // Whoever began it is no second person.
    let own = form(&ana, "read_back").with("is", "so");
    ana.press_form(&own).await;
    assert!(ana.page().contains("not read back"), "{}", ana.page());
    ben.open(&table).await;
    let empty = form(&ben, "read_back").with("is", "not_so");
    let answer = ben.send(&empty).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Say what it is set to"));
    let ohm = form(&ben, "off").with("mah", "3.2");
    let answer = ben.send(&ohm).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Is it in Ah? Then enter 3200."));
    hall.service.clock.advance(chrono::TimeDelta::seconds(5));
    ben.press_form(&form(&ben, "read_back").with("is", "so"))
        .await;
    assert!(ben.page().contains("read back by Ben"), "{}", ben.page());
    hall.service.clock.advance(chrono::TimeDelta::seconds(5));
    ben.press_form(&form(&ben, "interrupted")).await;
    assert!(
        ben.page()
            .contains("The mains went off while it was on charge")
    );
    hall.service.clock.advance(chrono::TimeDelta::seconds(5));
    ben.press_form(&form(&ben, "read_back").with("is", "so"))
        .await;
    assert!(
        !ben.page().contains("The mains went off while"),
        "{}",
        ben.page()
    );
    hall.service.clock.advance(chrono::TimeDelta::seconds(5));
    ben.press_form(&form(&ben, "watch")).await;
    assert!(ben.page().contains("by Ben, said"), "{}", ben.page());
    hall.service.clock.advance(chrono::TimeDelta::seconds(5));
    ben.press_form(&form(&ben, "off").with("mah", "3200").with("full", "1"))
        .await;
    assert!(
        ben.page().contains("Nothing is on charge"),
        "{}",
        ben.page()
    );
    assert_eq!(
        ana.status(&format!("{table}?team={}", hall.other.team))
            .await,
        404
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_charger_is_set_to_instead_stops_at_once() {
    let hall = Hall::open().await;
    let robot = format!("robot:{}", hall.own.robot);
    let charge = json!({"set": hall.own.set, "state": "started", "channels": [hall.own.channel]});
    let charge = hall.line("charge", &robot, Some("did"), &charge);
    phone::hand_in(&hall, "crew", &[charge]).await;
    let mut ben = phone::crew(&hall, "Ben").await;
    ben.open(&format!("/e/{}/charging", hall.event)).await;
    assert!(ben.page().contains("LiPo, 6 cells, at most 5.0 A a pack"));
    let wrong = form(&ben, "read_back")
        .with("is", "not_so")
        .with("cells", "4");
    ben.press_form(&wrong).await;
    assert!(
        ben.page()
            .contains("charger set to another number of cells"),
        "{}",
        ben.page()
    );
}
