//! The register on a phone: nothing is lost, nothing is half entered.

use super::phone;
use crate::harness::hall::Hall;
use serde_json::Value;

async fn registered(hall: &Hall, path: &str) -> Value {
    hall.who("account")
        .get(&hall.path(path))
        .await
        .expect(200)
        .json()
}

async fn labels(hall: &Hall, things: &str) -> Vec<String> {
    let page = registered(hall, &format!("/{things}?limit=100")).await;
    let items = page["items"].as_array().unwrap();
    let text = |item: &Value| {
        let body = &item["body"];
        body["label"]
            .as_str()
            .or(body["name"].as_str())
            .unwrap()
            .to_owned()
    };
    items.iter().map(text).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_line_of_text_is_looked_at_and_then_entered_once() {
    let hall = Hall::open().await;
    let mut ana = phone::lead(&hall, "Ana").await;
    let before = labels(&hall, "packs").await.len();
    ana.open(&format!("/e/{}/register/several/packs", hall.event))
        .await;
    let text = "12 packs 4S 5 Ah\r\n2 leads 13 A called <b>";
    let form = ana.form("/several/packs").with("several", text);
    let look = ana.send(&form.clone().with("step", "look")).await;
    assert_eq!(look.status, 200, "{}", look.text);
    assert!(look.text.contains("P12") && look.text.contains("&lt;b&gt; 2"));
    assert!(!look.text.contains("<b> 2"));
    assert_eq!(
        labels(&hall, "packs").await.len(),
        before,
        "a look enters nothing"
    );
    for _ in 0..2 {
        let entered = ana.send(&form.clone().with("step", "enter")).await;
        assert_eq!(entered.status, 303, "{}", entered.text);
        assert_eq!(labels(&hall, "packs").await.len(), before + 12);
    }
    // The next ones go on from there.
    ana.open(&format!("/e/{}/register/several/packs", hall.event))
        .await;
    let more = ana
        .form("/several/packs")
        .with("several", "1 pack 6S 3300 mAh lfp");
    assert_eq!(ana.send(&more.with("step", "enter")).await.status, 303);
    assert!(labels(&hall, "packs").await.contains(&"P13".to_owned()));
}

#[tokio::test(flavor = "multi_thread")]
async fn names_are_entered_all_or_none() {
    let hall = Hall::open().await;
    let mut ana = phone::lead(&hall, "Ana").await;
    ana.open(&format!("/e/{}/register/several/robots", hall.event))
        .await;
    let form = ana
        .form("/several/robots")
        .with("machine", "spinner_heavyweight")
        .with("bench", "30")
        .with("step", "enter");
    // Robot 2 is another team's.
    let refused = ana
        .send(&form.clone().with("several", "Zinc Newt\nRobot 2\nTin Rook"))
        .await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("Zinc Newt"), "what was typed is kept");
    assert!(
        !labels(&hall, "robots")
            .await
            .contains(&"Zinc Newt".to_owned())
    );
    let taken = ana.send(&form.with("several", "Zinc Newt\nTin Rook")).await;
    assert_eq!(taken.status, 303, "{}", taken.text);
    let page = registered(&hall, "/robots").await;
    let rook = page["items"].as_array().unwrap().iter();
    let rook = rook
        .clone()
        .find(|one| one["body"]["name"] == "Tin Rook")
        .unwrap();
    assert_eq!(rook["body"]["bench"], 31);
    // Teams are the organiser's.
    let path = format!("/e/{}/register/several/teams", hall.event);
    assert_eq!(ana.status(&path).await, 403);
    let mut orla = phone::organiser(&hall, "Orla").await;
    orla.open(&path).await;
    let form = orla
        .form("/several/teams")
        .with("several", "Ferry Road\nLime Kiln");
    assert_eq!(orla.send(&form.with("step", "enter")).await.status, 303);
    assert!(
        labels(&hall, "teams")
            .await
            .contains(&"Lime Kiln".to_owned())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn two_leads_lose_no_change_silently() {
    let hall = Hall::open().await;
    let robot = format!("/robots/{}", hall.own.robot);
    let page = format!("/e/{}/register{robot}", hall.event);
    let mut ana = phone::lead(&hall, "Ana").await;
    let mut ben = phone::lead(&hall, "Ben").await;
    ana.open(&page).await;
    ben.open(&page).await;
    let form = ben.form(&robot).with("bench", "9").with("links", "2");
    assert_eq!(ben.send(&form).await.status, 303);
    let mine = ana
        .form(&robot)
        .with("links", "3")
        .with("configuration", "high \"lid\"");
    let met = ana.send(&mine).await;
    assert_eq!(met.status, 412);
    assert!(met.text.contains("Ben changed it"), "{}", met.text);
    assert!(met.text.contains("Bench: 9, was 1"));
    // Where both changed the same, it says so; where only one did, that one's counts.
    assert!(met.text.contains("It is 2 now"), "{}", met.text);
    let again = ana.form_in(&met.text, &robot);
    assert_eq!(again.value("bench"), Some("9"));
    assert_eq!(again.value("links"), Some("3"));
    assert_eq!(again.value("configuration"), Some("high \"lid\""));
    assert_eq!(ana.send(&again).await.status, 303);
    let body = registered(&hall, &robot).await["body"].clone();
    assert_eq!(body["bench"], 9);
    assert_eq!(body["links"], 3);
    assert_eq!(body["configuration"], "high \"lid\"");
    // A double tap of what was saved is no change by somebody else.
    assert_eq!(ana.send(&again).await.status, 303);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_form_does_not_show_stays() {
    let hall = Hall::open().await;
    let robot = format!("/robots/{}", hall.own.robot);
    let mut ana = phone::lead(&hall, "Ana").await;
    ana.open(&format!(
        "/e/{}/register/gas-systems/{}",
        hall.event, hall.own.robot
    ))
    .await;
    let form = ana
        .form("/gas-systems/")
        .with("extend_pressure_mbar_gauge", "10")
        .with("bore_um", "63.5")
        .with("stroke_um", "250");
    let saved = ana.send(&form).await;
    assert_eq!(saved.status, 303, "{}", saved.text);
    ana.open(&format!("/e/{}/register{robot}", hall.event))
        .await;
    let form = ana
        .form(&robot)
        .with("limit_g", "110")
        .with("configurations", "low lid, 109.4 kg\r\nhigh lid");
    assert_eq!(ana.send(&form).await.status, 303);
    let body = registered(&hall, &robot).await["body"].clone();
    assert_eq!(body["gas_system"]["bore_um"], 63_500);
    assert_eq!(body["gas_system"]["extend_pressure_mbar_gauge"], 10_000);
    assert_eq!(body["limit_g"], 110_000);
    assert_eq!(body["configurations"][0]["mass_g"], 109_400);
    assert_eq!(body["bench"], 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_fault_stands_beside_its_field_and_what_was_typed_is_kept() {
    let hall = Hall::open().await;
    let mut ana = phone::lead(&hall, "Ana").await;
    ana.open(&format!(
        "/e/{}/register/people/{}",
        hall.event, hall.own.person
    ))
    .await;
    let form = ana
        .form("/people/")
        .with("name", "Bo <script>alert(1)</script>")
        .with("skills", "driver, juggler")
        .with("away", "13:00-12:00");
    let refused = ana.send(&form).await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("There is no skill “juggler”."));
    assert!(refused.text.contains("13:00-12:00"));
    assert!(!refused.text.contains("<script>alert"));
    let form = form
        .with("skills", "driver")
        .with("away", "2027-01-15 12:00-12:30");
    assert_eq!(ana.send(&form).await.status, 303);
    let body = registered(&hall, &format!("/people/{}", hall.own.person)).await["body"].clone();
    assert_eq!(body["away"][0]["from"], "2027-01-15T12:00:00Z");
    // Another team's things are unknown, a copy of one's own starts without its label.
    for (path, status) in [
        (format!("/packs/{}", hall.other.pack), 404),
        (format!("/packs/new?from={}", hall.other.pack), 404),
        ("/settings/it".to_owned(), 403),
        ("/bouts/new".to_owned(), 403),
    ] {
        assert_eq!(
            ana.status(&format!("/e/{}/register{path}", hall.event))
                .await,
            status,
            "{path}"
        );
    }
    ana.open(&format!(
        "/e/{}/register/packs/new?from={}",
        hall.event, hall.own.pack
    ))
    .await;
    let copy = ana.form("/packs/new");
    assert_eq!(copy.value("capacity_mah"), Some("5000"));
    assert_eq!(copy.value("label"), Some(""));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_rules_of_the_event_are_the_organisers() {
    let hall = Hall::open().await;
    let mut orla = phone::organiser(&hall, "Orla").await;
    let page = format!("/e/{}/register/settings/it", hall.event);
    orla.open(&page).await;
    assert!(
        orla.page()
            .contains("15 s (R4), 45 s (R5), 60 s (R5 later copy, R20)")
    );
    let form = orla
        .form("/settings/it")
        .with("observation_min", "20")
        .with("gas_limit_mbar_gauge", "68.9")
        .with("charging_at", "outside");
    assert_eq!(orla.send(&form).await.status, 303);
    let event = registered(&hall, "").await;
    let settings = &event["body"]["settings"];
    assert_eq!(settings["observation_min"], 20);
    assert_eq!(settings["gas_limit_mbar_gauge"], 68_900);
    assert_eq!(settings["charging_at"], "outside");
    assert_eq!(settings["reach_limit_s"], 45);
    // What is off stays off: a flag is sent as a word.
    assert_eq!(settings["clamp_as_restraint"], false);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_team_keeps_its_own_minutes_and_never_drops_safety() {
    use linkout::pit::library;
    use linkout::pit::logbook::register::Machine;
    let hall = Hall::open().await;
    let machine = Machine::FlipperHeavyweight;
    let tasks = &library::lists(machine).turnaround;
    let safety = tasks.iter().find(|task| task.safety).unwrap();
    let other = tasks.iter().find(|task| !task.safety).unwrap();
    let list = format!("/register/library/{}/{}", hall.own.team, machine.as_str());
    let page = format!("/e/{}{list}", hall.event);
    let mut ana = phone::lead(&hall, "Ana").await;
    ana.open(&format!("{page}/{}", other.id)).await;
    let form = ana
        .form(&list)
        .with("optimistic", "2.5")
        .with("likely", "4")
        .with("pessimistic", "9")
        .with("never", "yes");
    let saved = ana.send(&form).await;
    assert_eq!(saved.status, 303, "{}", saved.text);
    ana.open(&page).await;
    assert!(ana.page().contains("2.5, 4, 9 min"));
    assert!(ana.page().contains("Version 1: Ana"));
    // The other lead's page was open all the while.
    let stale = form
        .clone()
        .with("key", &uuid::Uuid::from_u128(7 << 64).to_string());
    let met = ana.send(&stale.with("likely", "5")).await;
    assert_eq!(met.status, 412, "{}", met.text);
    assert!(met.text.contains("Most often is 4 now."));
    ana.open(&format!("{page}/{}", safety.id)).await;
    let dropped = ana.send(&ana.form(&list).with("never", "yes")).await;
    assert_eq!(dropped.status, 422, "{}", dropped.text);
    assert!(dropped.text.contains("is never left out"));
    // Nor may it be done to another team's.
    let theirs = format!(
        "/e/{}/register/library/{}/{}",
        hall.event,
        hall.other.team,
        machine.as_str()
    );
    assert_eq!(ana.status(&theirs).await, 404);
}
