//! Packs: where each is and what it holds, what still ends a suspicion, and for nobody of another
//! team.

use super::phone;
use crate::harness::hall::Hall;
use chrono::TimeDelta;
use serde_json::json;

#[tokio::test(flavor = "multi_thread")]
async fn a_pack_shows_what_its_cells_say_and_where_it_is() {
    let hall = Hall::open().await;
    let robot = format!("robot:{}", hall.own.robot);
    let mut ana = phone::crew(&hall, "Ana").await;
    let packs = format!("/e/{}/packs", hall.event);
    ana.open(&packs).await;
    assert!(ana.page().contains("what it holds is not known"));
    let cells = json!({"set": hall.own.set, "cells_mv": [3850, 3850, 3850, 3850, 3850, 3826]});
    let read = hall.line("pack", &robot, Some("saw"), &cells);
    let charge = json!({"set": hall.own.set, "state": "started", "channels": [hall.own.channel],
        "watcher": hall.own.person});
    phone::hand_in(&hall, "crew", &[read]).await;
    hall.service.clock.advance(TimeDelta::minutes(2));
    let charge = hall.line("charge", &robot, Some("did"), &charge);
    phone::hand_in(&hall, "crew", &[charge]).await;
    ana.open(&packs).await;
    let page = ana.page().to_owned();
    assert!(
        page.contains("on charge since") && page.contains(", left"),
        "{page}"
    );
    assert!(page.contains("settings not read back by a second person"));
    assert!(page.contains("3.83 V low"), "{page}");
    let pack = format!("{packs}/{}", hall.own.pack);
    ana.open(&pack).await;
    // 24 mV between the cells stand in the band from 10 to 30.
    assert!(ana.page().contains("The cells differ by 24 mV at rest"));
    assert!(ana.page().contains("Use it, look again soon"));
    assert!(ana.page().contains("set A on charge"), "its history");
    ana.open(&format!("/e/{}/sets/{}", hall.event, hall.own.set))
        .await;
    // Six cells of 3.7 V nominal and 4.2 V full.
    assert!(ana.page().contains("22.2 V") && ana.page().contains("25.2 V full"));
    ana.open(&format!("{packs}/labels")).await;
    assert!(ana.page().contains("<svg") && ana.page().contains("5.0 A"));
    let next_door = format!("{packs}/{}", hall.other.pack);
    assert_eq!(ana.status(&next_door).await, 404);
    assert_eq!(
        ana.status(&format!("{packs}?team={}", hall.other.team))
            .await,
        404
    );
    assert_eq!(
        ana.status(&format!("/e/{}/sets/{}", hall.event, hall.other.set))
            .await,
        404
    );
    assert_eq!(
        ana.status(&format!("{packs}/labels?pack={}", hall.other.pack))
            .await,
        404
    );
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    ruth.open(&packs).await;
    assert!(ruth.page().contains("of which team?") && ruth.page().contains("Team 1"));
    assert_eq!(ruth.status(&next_door).await, 200);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_suspect_pack_is_good_again_only_after_its_time_and_two_people() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut ben = phone::crew(&hall, "Ben").await;
    let pack = format!("/e/{}/packs/{}", hall.event, hall.own.pack);
    ana.open(&pack).await;
    let nothing = ana.form("/packs/").with("aside", "");
    let answer = ana.send(&nothing).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Say what you see."));
    let says = |phone: &phone::Phone, looks: &str| {
        let form = phone
            .forms()
            .into_iter()
            .find(|form| form.inside.contains("name=\"looks\""));
        form.unwrap().with("looks", looks)
    };
    ana.press_form(&says(&ana, "hit")).await;
    assert!(
        ana.page().contains("Put it into the observation box"),
        "{}",
        ana.page()
    );
    ana.press_form(&ana.form("/packs/")).await;
    assert!(ana.page().contains("It is watched till"), "{}", ana.page());
    // Before its time nobody's word counts.
    ana.press_form(&says(&ana, "fine")).await;
    hall.service.clock.advance(TimeDelta::minutes(31));
    ana.open(&pack).await;
    assert!(
        ana.page().contains("Watched long enough. Two people look"),
        "{}",
        ana.page()
    );
    ana.press_form(&says(&ana, "fine")).await;
    assert!(
        ana.page().contains("A second person has to look too"),
        "{}",
        ana.page()
    );
    hall.service.clock.advance(TimeDelta::seconds(5));
    ana.press_form(&says(&ana, "fine")).await;
    assert!(
        ana.page().contains("data-part=\"suspect\""),
        "once more is no second person"
    );
    ben.open(&pack).await;
    ben.press_form(&says(&ben, "fine")).await;
    assert!(
        !ben.page().contains("data-part=\"suspect\""),
        "{}",
        ben.page()
    );
}
