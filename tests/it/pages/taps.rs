//! How many taps a turnaround costs, counted on the pages themselves.

use super::phone::{self, Phone, attribute};
use crate::harness::hall::Hall;
use chrono::TimeDelta;
use serde_json::json;

/// A bench page of the own robot.
fn bench(hall: &Hall) -> String {
    format!("/e/{}/robots/{}", hall.event, hall.own.robot)
}

/// Plays what comes before: a link plan read back, a bout that is over, a next one to get ready for.
async fn fought(hall: &Hall) {
    let one = hall.who("crew").get("/api/v1/session").await.json()["person"].clone();
    let other = hall.who("lead").get("/api/v1/session").await.json()["person"].clone();
    let robot = format!("robot:{}", hall.own.robot);
    let plan = json!({"saved": {"place": "5 o'clock", "retention": "sprung clip", "links": 2,
        "holder": one, "inserter": one, "remover": one, "verifier": other, "dead_when": "light dark, then 10 s",
        "arming": ["transmitter on", "link in", "bar off"], "making_safe": ["bar on", "link out"], "reach_upright_s": 11}});
    let saved = hall.line("link_plan", &robot, Some("did"), &plan);
    phone::hand_in(hall, "crew", &[saved]).await;
    for (who, person) in [("crew", &one), ("lead", &other)] {
        let read = json!({"read_back": {"version": 1, "read_by": [person]}});
        let read = hall.line("link_plan", &robot, Some("did"), &read);
        phone::hand_in(hall, who, &[read]).await;
    }
    let slots = json!([{"robot": hall.own.robot}, {"robot": hall.other.robot}]);
    let next = hall.line(
        "register_bout",
        "bout:0197a3c2-0000-7000-8000-000000000101",
        None,
        &json!({"number": 2, "call_at": "2027-01-15T13:00:00Z", "slots": slots}),
    );
    let bout = format!("bout:{}", hall.bout);
    let started = hall.line("bout_started", &bout, None, &json!({}));
    phone::hand_in(hall, "account", &[next, started]).await;
    hall.service.clock.advance(TimeDelta::minutes(4));
    let ended = hall.line(
        "bout_ended",
        &bout,
        None,
        &json!({"winner": hall.own.robot}),
    );
    phone::hand_in(hall, "account", &[ended]).await;
}

/// Does the next thing the bench asks of this person, as the large button has it. None if it asks
/// nothing.
async fn step(hall: &Hall, phone: &mut Phone) -> Option<String> {
    phone.open(&bench(hall)).await;
    let page = phone.page().to_owned();
    let next = page
        .split("data-part=\"next\"")
        .nth(1)?
        .split("</section>")
        .next()?;
    let title = next
        .split("id=\"nh\">")
        .nth(1)?
        .split('<')
        .next()?
        .to_owned();
    if title.starts_with("None for you") {
        return None;
    }
    let form = phone
        .forms()
        .into_iter()
        .find(|form| next.contains(&form.inside));
    match form {
        Some(form) => {
            let form = if form.inside.contains("name=\"all\"") {
                form.with("all", "1")
            } else {
                form
            };
            phone.press_form(&form).await;
        }
        None if official(hall, next).await => {}
        None => {
            let link = next
                .split("<a class=\"btn big solid\"")
                .nth(1)?
                .split('>')
                .next()?;
            sheet(phone, &attribute(link, "href")?).await;
        }
    }
    hall.service.clock.advance(TimeDelta::seconds(90));
    Some(title)
}

/// What the people of the stations enter: the fill, the weight, the inspector's yes.
async fn official(hall: &Hall, next: &str) -> bool {
    let robot = format!("robot:{}", hall.own.robot);
    let (kind, how, body) = if next.contains("/report/filled") {
        let fill = json!({"bottle": hall.own.bottle, "state": "filled", "mass_g": 4100});
        ("bottle", "did", fill)
    } else if next.contains("/report/weighed") {
        (
            "proof",
            "saw",
            json!({"what": "weight", "result": "within", "mass_g": 109_000}),
        )
    } else if next.contains("/report/inspected") {
        (
            "proof",
            "saw",
            json!({"what": "inspection", "result": "pass"}),
        )
    } else {
        return false;
    };
    let line = hall.line(kind, &robot, Some(how), &body);
    phone::hand_in(hall, "official", &[line]).await;
    true
}

/// Opens a sheet, says who has the link where it asks, and sees all of it.
async fn sheet(phone: &mut Phone, href: &str) {
    phone.tap_link(href).await;
    let mut form = phone.form("/report/").with("all", "1");
    if let Some(chip) = form.inside.split("name=\"holder\" value=\"").nth(1) {
        phone.taps += 1;
        let first = chip.split('"').next().unwrap().to_owned();
        form = form.with("holder", &first);
    }
    phone.press_form(&form).await;
}

/// Two phones do what their benches ask, in turn, until the robot is in the arena queue.
async fn to_the_queue(hall: &Hall, phones: &mut [Phone; 2]) -> Vec<String> {
    let mut done = Vec::new();
    for _ in 0..40 {
        for phone in phones.iter_mut() {
            if in_queue(hall) {
                return done;
            }
            if let Some(title) = step(hall, phone).await {
                done.push(format!("{title} ({})", phone.taps));
            }
        }
    }
    let says = phones[0].page().split("data-part=\"banners\"").nth(1);
    let says = says.and_then(|rest| rest.split("</section>").next());
    panic!("not in the queue after: {done:#?}; the bench says {says:?}");
}

fn in_queue(hall: &Hall) -> bool {
    use linkout::pit::logbook::machine::Place;
    let event = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap();
    let pit = event.pit();
    let robot = linkout::pit::ids::RobotId(hall.own.robot);
    let place = pit.robot(robot).unwrap().state.place;
    place.is_some_and(|sight| sight.value == Place::Queue)
}

fn taps(phones: &[Phone; 2]) -> u32 {
    phones.iter().map(|phone| phone.taps).sum()
}

/// **Source** the goal of the day: at most 12 taps for a clean turnaround, without typing.
#[tokio::test(flavor = "multi_thread")]
async fn a_clean_turnaround_takes_twelve_taps() {
    let hall = Hall::open().await;
    fought(&hall).await;
    let mut phones = [
        phone::crew(&hall, "Ana").await,
        phone::crew(&hall, "Ben").await,
    ];
    let done = to_the_queue(&hall, &mut phones).await;
    assert!(taps(&phones) <= 12, "{} taps: {done:#?}", taps(&phones));
}

/// **Source** the goal of the day: at most 25 taps with damage, here a wheel corner and a hose.
#[tokio::test(flavor = "multi_thread")]
async fn a_damaged_turnaround_takes_twenty_five_taps() {
    let hall = Hall::open().await;
    fought(&hall).await;
    let mut phones = [
        phone::crew(&hall, "Ana").await,
        phone::crew(&hall, "Ben").await,
    ];
    for _ in 0..2 {
        for phone in &mut phones {
            step(&hall, phone).await;
        }
    }
    let ana = &mut phones[0];
    ana.open(&bench(&hall)).await;
    let damage = format!("{}/damage", bench(&hall));
    ana.tap_link(&damage).await;
    for (area, kind) in [("wheel_fl", "wheel_cut"), ("ram", "leak")] {
        ana.tap_link(&format!("{damage}?area={area}")).await;
        let form = ana.form("/damage").with("kind", kind);
        ana.press_form(&form).await;
    }
    let done = to_the_queue(&hall, &mut phones).await;
    let pit = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap()
        .pit();
    let robot = pit
        .robot(linkout::pit::ids::RobotId(hall.own.robot))
        .unwrap();
    assert_eq!(
        robot
            .lines
            .iter()
            .filter(|line| line.kind().name() == "damage")
            .count(),
        2
    );
    assert!(taps(&phones) <= 25, "{} taps: {done:#?}", taps(&phones));
}

/// **Source** the goal for packs: out of the machine and on charge in at most three taps.
#[tokio::test(flavor = "multi_thread")]
async fn packs_out_and_on_charge_take_three_taps() {
    let hall = Hall::open().await;
    fought(&hall).await;
    let mut phones = [
        phone::crew(&hall, "Ana").await,
        phone::crew(&hall, "Ben").await,
    ];
    let takes_out = |page: &str| {
        let next = page.split("data-part=\"next\"").nth(1)?;
        let next = next.split("</section>").next()?;
        ["/report/stripped", "/report/packs_out"]
            .into_iter()
            .map(|report| format!("{}{report}", bench(&hall)))
            .find(|href| next.contains(&format!("href=\"{href}\"")))
    };
    let mut found = None;
    for turn in 0..12 {
        let phone = &mut phones[turn % 2];
        phone.open(&bench(&hall)).await;
        found = takes_out(phone.page()).map(|href| (turn % 2, href));
        if found.is_some() {
            break;
        }
        step(&hall, phone).await;
    }
    let (who, href) = found.expect("the bench asks for the packs");
    let phone = &mut phones[who];
    phone.taps = 0;
    phone.tap_link(&href).await;
    assert!(phone.page().contains("on left"), "names the channel");
    let form = phone.form("/report/").with("all", "1");
    assert!(form.value("also").is_none(), "never ticked for anybody");
    let form = form.with("also", "on_charge");
    phone.taps += 1;
    phone.press_form(&form).await;
    assert!(phone.taps <= 3, "{} taps", phone.taps);
    phone.open(&format!("/e/{}/charging", hall.event)).await;
    assert!(phone.page().contains("left, since"), "{}", phone.page());
}
