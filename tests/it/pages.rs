//! The pages as people use them: without script, by two phones, and in a browser.

mod access;
mod arming;
pub mod browser;
mod charging;
mod gas;
mod organiser;
mod packs;
mod phone;
mod photos;
mod register;
mod spares;
mod stations;
mod taps;
mod team;

use crate::harness::hall::Hall;
use phone::Phone;

#[tokio::test(flavor = "multi_thread")]
async fn a_card_a_name_and_the_bench() {
    let hall = Hall::open().await;
    let mut phone = Phone::new(&hall);
    // Somebody who is not signed in is shown the way in, not an error.
    phone.open(&format!("/e/{}/team", hall.event)).await;
    assert!(phone.path().starts_with("/join"), "{}", phone.path());
    let code = phone::card(&hall, "crew", Some(hall.own.team)).await;
    phone.open(&format!("/join/{code}")).await;
    phone.fill(&[]).await;
    assert_eq!(phone.path(), format!("/e/{}/me", hall.event));
    phone.press("name", "Ana").await;
    // A team of one robot is led straight to its bench.
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    assert_eq!(phone.path(), bench);
    assert!(phone.page().contains("Robot 1"));
    assert!(phone.page().contains("Unproved"), "nobody has looked yet");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_form_sent_twice_is_one_line() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    ana.open(&format!("{bench}/look")).await;
    let form = ana.form("/look").with("link", "out").with("ago", "0");
    let first = ana.send(&form).await;
    assert_eq!(first.status, 303, "{}", first.text);
    let recorded = phone::lines(&hall, "looked");
    // A double tap: the same form again, later, is the same line.
    hall.service.clock.advance(chrono::TimeDelta::seconds(3));
    let again = ana.send(&form).await;
    assert_eq!(again.status, 303, "{}", again.text);
    assert_eq!(phone::lines(&hall, "looked"), recorded);
    assert_eq!(recorded, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_form_that_cannot_be_taken_keeps_what_was_typed() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let plan = format!("/e/{}/robots/{}/plan/edit", hall.event, hall.own.robot);
    ana.open(&plan).await;
    let form = ana
        .form("/plan/edit")
        .with("place", "5 o'clock, <behind> the hatch")
        .with("reach_upright_s", "soon");
    let answer = ana.send(&form).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("id=\"reach_upright_s-fault\""));
    assert!(answer.text.contains("value=\"soon\""));
    assert!(answer.text.contains("5 o'clock, &lt;behind&gt; the hatch"));
    assert_eq!(phone::lines(&hall, "link_plan"), 0, "nothing was recorded");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_report_with_the_link_in_it_asks_who_has_it() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let sheet = format!(
        "/e/{}/robots/{}/report/back_made_safe",
        hall.event, hall.own.robot
    );
    ana.open(&sheet).await;
    // Nothing is ticked for anybody, and nobody is named for them.
    assert!(
        !ana.page()
            .contains("name=\"saw\" value=\"link_out\" checked")
    );
    let form = ana.form("/report/").with("all", "1");
    assert!(form.value("holder").is_none());
    let answer = ana.send(&form).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("Say who has the link."));
    assert_eq!(phone::lines(&hall, "link"), 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn another_teams_bench_is_not_there() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    for rest in ["", "/report", "/plan", "/damage", "/look"] {
        let page = format!("/e/{}/robots/{}{rest}", hall.event, hall.other.robot);
        assert_eq!(ana.status(&page).await, 404, "{page}");
    }
    for page in ["board", "marshal", "register"] {
        let page = format!("/e/{}/{page}", hall.event);
        assert_eq!(ana.status(&page).await, 403, "{page}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn help_is_told_by_one_tap_and_never_promised() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut ruth = phone::marshal(&hall, "Ruth").await;
    let bench = format!("/e/{}/robots/{}", hall.event, hall.own.robot);
    ana.open(&bench).await;
    ana.tap_form("/danger").await;
    assert_eq!(ana.path(), format!("{bench}/danger"));
    assert!(ana.page().contains("Nobody has answered yet."));
    assert!(!ana.page().contains("is coming"));
    ruth.open(&format!("/e/{}/marshal", hall.event)).await;
    assert!(ruth.page().contains("Robot 1, bench 1, from Ana"));
    let going = ruth.form("/danger").with("what", "coming");
    assert_eq!(ruth.send(&going).await.status, 303);
    ana.open(&format!("{bench}/danger")).await;
    assert!(ana.page().contains("Ruth is coming"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_plan_is_read_back_on_one_phone_by_each_under_their_own_name() {
    let hall = Hall::open().await;
    let mut ana = phone::crew(&hall, "Ana").await;
    let mut ben = phone::crew(&hall, "Ben").await;
    let me = format!("/e/{}/me", hall.event);
    ben.open(&me).await;
    let too_short = ben.form("/me/pin").with("pin", "12");
    let answer = ben.send(&too_short).await;
    assert_eq!(answer.status, 422);
    assert!(
        answer.text.contains("id=\"own-pin-fault\""),
        "{}",
        answer.text
    );
    ben.press_form(&ben.form("/me/pin").with("pin", "4711"))
        .await;
    let who = |page: &str, name: &str| {
        let at = page.find(&format!("<b>{name}</b>")).unwrap();
        let button = &page[page[..at].rfind("<button").unwrap()..at];
        phone::attribute(button, "value").unwrap()
    };
    ana.open(&me).await;
    assert!(ana.page().contains("asks for a PIN"));
    let ben_id = who(ana.page(), "Ben");
    let plan = format!("/e/{}/robots/{}/plan", hall.event, hall.own.robot);
    ana.open(&format!("{plan}/edit")).await;
    let form = ana.form("/plan/edit").with("inserter", &ben_id);
    ana.press_form(&form).await;
    let read = ana.form("/read-back").with("who", &ben_id);
    // Only named: it is said, and does not count.
    ana.press_form(&read).await;
    assert!(ana.page().contains("only named by Ana"));
    assert!(ana.page().contains("Ben has not read it back"));
    let wrong = ana
        .form("/read-back")
        .with("who", &ben_id)
        .with("pin", "1234");
    let answer = ana.send(&wrong).await;
    assert_eq!(answer.status, 422);
    assert!(answer.text.contains("id=\"reader-pin-fault\""));
    assert!(!answer.text.contains("1234"), "a PIN is never shown again");
    let right = ana
        .form("/read-back")
        .with("who", &ben_id)
        .with("pin", "4711");
    ana.press_form(&right).await;
    assert!(!ana.page().contains("Ben has not read it back"));
    // Ana's phone speaks for Ben only once it has his PIN.
    ana.open(&me).await;
    let become_ben = ana.form("/me").with("person", &ben_id);
    let asked = ana.send(&become_ben).await;
    assert_eq!(asked.status, 422);
    assert!(asked.text.contains("PIN of Ben"));
    let answer = ana.send(&become_ben.with("pin", "4711")).await;
    assert_eq!(answer.status, 303);
}
