//! The organiser's pages: bouts by list, another order in one tap, words to everybody, calendars.

use super::phone::{self, Phone};
use crate::harness::hall::Hall;

async fn organiser(hall: &Hall) -> Phone {
    let code = phone::card(hall, "organiser", None).await;
    let mut wren = Phone::new(hall);
    wren.open(&format!("/join/{code}")).await;
    wren.fill(&[]).await;
    wren.press("name", "Wren").await;
    wren
}

fn calls(hall: &Hall) -> Vec<(i32, String)> {
    let event = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap();
    let pit = event.pit();
    let bouts = pit.running_order().iter();
    bouts
        .map(|bout| (bout.number, bout.call.format("%H:%M").to_string()))
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_looked_at_and_then_entered_whole_or_not_at_all() {
    let hall = Hall::open().await;
    let mut wren = organiser(&hall).await;
    let page = format!("/e/{}/bout-list", hall.event);
    wren.open(&page).await;
    let wrong = "2,12:00,Robot 1,Robot 2\n3,12:10,Robot 1,Robto 2\n";
    let answer = wren
        .send(&wren.form("/bout-list").with("list", wrong))
        .await;
    assert_eq!(answer.status, 422);
    assert!(
        answer
            .text
            .contains("Line 2, other: there is no robot ‘Robto 2’.")
    );
    assert!(
        answer.text.contains("Robto 2</textarea>"),
        "what was typed is kept"
    );
    // A bout before the one that decides who is in it.
    let early = "2,10:00,winner of 1,Robot 2\n";
    let answer = wren
        .send(&wren.form("/bout-list").with("list", early))
        .await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Bout 2 would stand before bout 1"));
    let right = "2,12:00,Robot 1,Robot 2\n3,12:10,winner of 2,loser of 1\n";
    let seen = wren
        .send(&wren.form("/bout-list").with("list", right))
        .await;
    assert_eq!(seen.status, 200);
    assert_eq!(calls(&hall).len(), 1, "looking enters nothing");
    let entered = wren
        .form("/bout-list")
        .with("list", right)
        .with("do", "enter");
    assert_eq!(wren.send(&entered).await.status, 303);
    let expected = [(1, "11:00"), (2, "12:00"), (3, "12:10")];
    assert_eq!(calls(&hall), expected.map(|(n, call)| (n, call.to_owned())));
}

#[tokio::test(flavor = "multi_thread")]
async fn another_order_is_one_tap_and_crews_see_what_changed() {
    let hall = Hall::open().await;
    let mut wren = organiser(&hall).await;
    wren.open(&format!("/e/{}/bout-list", hall.event)).await;
    let list = "2,11:10,Robot 1,Robot 2\n";
    let entered = wren
        .form("/bout-list")
        .with("list", list)
        .with("do", "enter");
    assert_eq!(wren.send(&entered).await.status, 303);
    let event = hall
        .service
        .app
        .events
        .opened(hall.event.parse().unwrap())
        .unwrap();
    let pit = event.pit();
    let bouts: Vec<String> = pit
        .running_order()
        .iter()
        .rev()
        .map(|bout| format!("{}:{}", bout.id, pit.bouts[&bout.id].revision))
        .collect();
    wren.open(&format!("/e/{}/bout-list", hall.event)).await;
    // The robots of both bouts are the same, so no order is better; any may be wanted.
    let taken = wren
        .form("/bout-list")
        .to(&format!("/e/{}/order", hall.event))
        .with("order", &bouts.join(" "));
    assert_eq!(wren.send(&taken).await.status, 303);
    let expected = [(2, "11:00"), (1, "11:10")];
    assert_eq!(calls(&hall), expected.map(|(n, call)| (n, call.to_owned())));
    let mut ana = phone::crew(&hall, "Ana").await;
    ana.open(&format!("/e/{}/robots/{}", hall.event, hall.own.robot))
        .await;
    assert!(
        ana.page().contains("New call 11:00: 10 min sooner"),
        "{}",
        ana.page()
    );
    assert!(ana.page().contains("11:10, order changed"));
    wren.open(&format!("/e/{}/bouts/{}", hall.event, hall.bout))
        .await;
    assert!(wren.page().contains("Arena unused before"));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_announcement_stands_until_it_is_seen_and_says_who_has_not() {
    let hall = Hall::open().await;
    let mut wren = organiser(&hall).await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let page = format!("/e/{}/announcements", hall.event);
    wren.open(&page).await;
    let said = wren
        .form("/announcements")
        .with("text", "Doors <shut> at six");
    let said = said.with("roles", "crew lead");
    assert_eq!(wren.send(&said).await.status, 303);
    wren.open(&page).await;
    assert!(wren.page().contains("Not yet: "));
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    ana.open(&bench).await;
    assert!(ana.page().contains("Doors &lt;shut&gt; at six"));
    assert!(!ana.page().contains("data-loud"), "it makes no sound");
    let seen = ana.form("/seen");
    assert_eq!(ana.send(&seen).await.status, 303);
    ana.open(&bench).await;
    assert!(!ana.page().contains("Doors &lt;shut&gt; at six"));
    wren.open(&page).await;
    assert!(wren.page().contains("Ana"));
    assert_eq!(ana.status(&page).await, 403);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_calendar_needs_no_cookie_and_can_be_ended() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let form = serde_json::json!({"robot": hall.own.robot});
    let made = crew.send("POST", &hall.path("/calendars"), &form).await;
    let made = made.expect(201).json();
    let path = made["path"].as_str().unwrap();
    let feed = hall.service.nobody().get(path).await.expect(200);
    assert!(feed.header("content-type").starts_with("text/calendar"));
    let calendar: icalendar::Calendar = feed.text.parse().unwrap();
    assert_eq!(calendar.components.len(), 1, "{}", feed.text);
    let elsewhere = path.replace(".ics", "0.ics");
    hall.service.nobody().get(&elsewhere).await.expect(404);
    let id = made["calendar"]["id"].as_str().unwrap();
    let address = hall.path(&format!("/calendars/{id}"));
    hall.who("other crew")
        .ask("DELETE", &address)
        .await
        .expect(404);
    crew.ask("DELETE", &address).await.expect(204);
    hall.service.nobody().get(path).await.expect(404);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_link_shaken_out_ends_the_bout_and_its_retention_is_mended() {
    let hall = Hall::open().await;
    let mut mira = organiser(&hall).await;
    // With a bout to come, or the list in hand would be the one of the day's end.
    let to_come = uuid::Uuid::now_v7();
    let body = serde_json::json!({"number": 90, "call_at": "2027-01-15T15:00:00Z",
        "slots": [{"robot": hall.own.robot}, {"robot": hall.other.robot}]});
    let line = hall.line("register_bout", &format!("bout:{to_come}"), None, &body);
    phone::hand_in(&hall, "account", &[line]).await;
    let bout = format!("/e/{}/bouts/{}", hall.event, hall.bout);
    mira.open(&bout).await;
    mira.tap_form("/started").await;
    hall.service.clock.advance(chrono::TimeDelta::minutes(2));
    mira.open(&bout).await;
    let lost = mira
        .forms()
        .into_iter()
        .find(|form| {
            form.value("ending") == Some("link_shaken_out")
                && form.value("winner") == Some(&hall.other.robot.to_string())
        })
        .unwrap();
    mira.press_form(&lost).await;
    mira.open(&format!("/e/{}/logbook", hall.event)).await;
    assert!(
        mira.page().contains("a link was shaken out"),
        "{}",
        mira.page()
    );
    let tasks = |robot| hall.path(&format!("/robots/{robot}/tasks"));
    let list = hall.who("account").get(&tasks(hall.own.robot)).await.text;
    assert!(list.contains("-retention"), "{list}");
    let list = hall.who("account").get(&tasks(hall.other.robot)).await.text;
    assert!(!list.contains("-retention"), "{list}");
}
