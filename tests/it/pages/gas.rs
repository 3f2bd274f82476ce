//! Gas: what was weighed is on the page at once, with its limits, and for nobody of another team.

use super::phone;
use crate::harness::hall::Hall;
use linkout::pit::ids::RobotId;
use serde_json::json;

#[tokio::test(flavor = "multi_thread")]
async fn a_bottle_weighed_shows_what_it_holds_and_why_not_to_fill_it() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let gas = format!("/e/{}/gas", hall.event);
    ana.open(&gas).await;
    assert!(ana.page().contains("Nobody weighed it"), "{}", ana.page());
    let keypad = format!("/e/{}/bottles/{}/mass", hall.event, hall.own.bottle);
    ana.open(&keypad).await;
    // 1.34 l at 0.667 kg for each litre is 893 g; the tare is 2950 g (industry rule of thumb).
    assert!(ana.page().contains("3843 g gross"), "{}", ana.page());
    assert!(ana.page().contains("The test pressure is not known."));
    let filled = ana.form("/mass").with("mass", "3900").with("did", "filled");
    // More than it should hold is recorded like anything else.
    ana.press_form(&filled).await;
    ana.open(&keypad).await;
    assert!(ana.page().contains("57 g above the stop"), "{}", ana.page());
    ana.open(&gas).await;
    assert!(ana.page().contains("950 g"), "{}", ana.page());
    assert!(ana.page().contains("Advice: do not fill"));
    assert!(ana.page().contains("It holds 57 g more than the 893 g"));
    let bottle = format!("{gas}/{}", hall.own.bottle);
    ana.open(&bottle).await;
    assert!(ana.page().contains("When it warms") && ana.page().contains("65 °C"));
    assert!(ana.page().contains("filled, 3900 g"), "{}", ana.page());
    let next_door = format!("{gas}/{}", hall.other.bottle);
    assert_eq!(ana.status(&next_door).await, 404);
    let of_others = format!("{gas}?team={}", hall.other.team);
    assert_eq!(ana.status(&of_others).await, 404);
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    ruth.open(&gas).await;
    assert!(ruth.page().contains("of which team?") && ruth.page().contains("Team 1"));
    assert_eq!(ruth.status(&of_others).await, 200);
}

/// Gives the robot of the first team a gas system: 100 mm bore, 250 mm stroke, 10 bar gauge.
async fn with_a_ram(hall: &Hall) {
    let revision = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap()
        .pit()
        .robot(RobotId(hall.own.robot))
        .unwrap()
        .register
        .revision;
    let body = json!({"team": hall.own.team, "name": "Robot 1", "machine": "flipper_heavyweight",
        "links": 1, "bench": 1, "gas_system": {"gas": "co2", "feed": "regulated",
        "extend_pressure_mbar_gauge": 10_000, "need_pressure_mbar_gauge": 15_000,
        "bore_um": 100_000, "stroke_um": 250_000, "rod_um": 32_000, "shots_a_bout": 4}});
    let subject = format!("robot:{}", hall.own.robot);
    let mut line = hall.line("register_robot", &subject, None, &body);
    line["if_revision"] = json!(revision);
    phone::hand_in(hall, "account", &[line]).await;
}

/// Such a ram takes 72 g of CO2 a warm shot (CoolProp 8.0.0): five shots and 432 g are 1.2 of that.
#[tokio::test(flavor = "multi_thread")]
async fn shots_counted_at_the_scale_are_learned_from() {
    let hall = Hall::open().await;
    with_a_ram(&hall).await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let keypad = format!(
        "/e/{}/bottles/{}/mass?robot={}",
        hall.event, hall.own.bottle, hall.own.robot
    );
    ana.open(&keypad).await;
    let full = ana.form("/mass").with("mass", "3840");
    ana.press_form(&full).await;
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    ana.open(&bench).await;
    assert!(ana.page().contains("Enough for the bout"), "{}", ana.page());
    hall.service.clock.advance(chrono::TimeDelta::minutes(1));
    ana.open(&keypad).await;
    let after = ana.form("/mass").with("mass", "3408");
    let answer = ana.send(&after.clone().with("shots", "<several>")).await;
    assert_eq!(answer.status, 422);
    assert!(
        answer.text.contains("&lt;several&gt;"),
        "what was typed is kept"
    );
    ana.press_form(&after.with("shots", "5")).await;
    let page = format!("/e/{}/gas/{}", hall.event, hall.own.bottle);
    ana.open(&page).await;
    assert!(
        ana.page().contains("A shot takes 1.20 times a warm stroke"),
        "{}",
        ana.page()
    );
    assert!(
        ana.page()
            .contains("1 pair of weighings, 5 shots: 432 g drawn")
    );
    assert!(
        ana.page().contains("3408 g, 5 shots since"),
        "{}",
        ana.page()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_gauge_and_a_leak_test_are_entered_with_what_they_show() {
    let hall = Hall::open().await;
    with_a_ram(&hall).await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let robot = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    ana.open(&format!("{robot}/regulator")).await;
    let read = ana.form("/regulator").with("set", "10");
    let answer = ana.send(&read.clone().with("read", "about <ten>")).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("about &lt;ten&gt;"));
    ana.press_form(&read.with("read", "10,8")).await;
    ana.open(&format!("/e/{}/gas", hall.event)).await;
    assert!(
        ana.page().contains("0.8 bar above what is set: it drifts"),
        "{}",
        ana.page()
    );

    ana.open(&format!("{robot}/leak")).await;
    let readings = ana
        .form("/leak")
        .with("volume_l", "4.5")
        .with("first_temperature_degc", "21")
        .with("second_pressure_bar_gauge", "9.89")
        .with("second_temperature_degc", "18.5");
    let dense = readings.clone().with("first_pressure_bar_gauge", "56");
    let answer = ana.send(&dense).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("weigh instead"), "{}", answer.text);
    let answer = ana.send(&readings).await;
    assert_eq!(answer.status, 200, "worked out, not entered");
    assert!(
        answer.text.contains("Inside uncertainty"),
        "{}",
        answer.text
    );
    assert_eq!(phone::lines(&hall, "proof"), 0);
    ana.press_form(&readings.with("result", "pass")).await;
    assert_eq!(phone::lines(&hall, "proof"), 1);
    ana.open(&robot).await;
    assert!(
        ana.page().contains("leak test passed: Inside uncertainty"),
        "{}",
        ana.page()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_team_weighs_its_own_cylinder_and_nobody_elses() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let cylinder = format!("/e/{}/supplies/{}/mass", hall.event, hall.own.supply);
    ana.open(&cylinder).await;
    let heavy = ana.form("/mass").with("mass", "78,4");
    ana.press_form(&heavy).await;
    assert!(
        ana.page().contains("its empty mass is not registered"),
        "{}",
        ana.page()
    );
    assert_eq!(phone::lines(&hall, "supply_weighed"), 1);
    let next_door = format!("/e/{}/supplies/{}/mass", hall.event, hall.other.supply);
    assert_eq!(ana.status(&next_door).await, 404);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_air_at_the_bay_is_read_there() {
    let hall = Hall::open().await;
    let mut zeb = phone::official(&hall, "Zeb").await;
    let bay = format!("/e/{}/stations/gas_bay", hall.event);
    zeb.open(&bay).await;
    assert!(zeb.page().contains("nobody has measured it"));
    assert!(zeb.page().contains("trained fillers"), "{}", zeb.page());
    let wrong = zeb.form("/stations/gas_bay/air").with("co2_ppm", "<much>");
    assert_eq!(zeb.send(&wrong).await.status, 422);
    let read = zeb.form("/stations/gas_bay/air").with("co2_ppm", "700");
    zeb.press_form(&read).await;
    assert!(zeb.page().contains("700 ppm, Zeb"), "{}", zeb.page());
    let scale = format!("/e/{}/stations/scale/air", hall.event);
    assert_eq!(zeb.send(&read.to(&scale)).await.status, 404);
}
