//! The logbook over HTTP: reports, outboxes, reading, and being told.

use crate::harness::client::answer;
use crate::harness::hall::Hall;
use chrono::TimeDelta;
use futures_util::StreamExt as _;
use serde_json::json;

#[tokio::test(flavor = "multi_thread")]
async fn a_report_sent_twice_is_recorded_once() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let report = json!({"lines": [hall.link_out(), hall.link_out()]});
    let path = hall.path("/lines");
    let first = crew.send("POST", &path, &report).await.expect(201).json();
    let again = crew.send("POST", &path, &report).await.expect(200).json();
    assert_eq!(first["receipts"][1]["seq"], again["receipts"][1]["seq"]);
    assert_eq!(first["receipts"][1]["is_new"], true);
    assert_eq!(again["receipts"][1]["is_new"], false);
    // Another content under a used id.
    let mut other = report;
    other["lines"][0]["body"]["state"] = json!("in");
    crew.send("POST", &path, &other)
        .await
        .expect(409)
        .problem("conflict");
    let lines = crew.get(&hall.path("/lines?kind=link")).await.json();
    assert_eq!(lines["items"].as_array().unwrap().len(), 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_report_is_taken_whole_or_not_at_all_and_an_outbox_one_by_one() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let unknown = || {
        hall.line(
            "link",
            "robot:0197a3c2-0000-7000-8000-00000000dead",
            Some("did"),
            &json!({"state": "out"}),
        )
    };
    let report = json!({"lines": [hall.link_out(), unknown()]});
    crew.send("POST", &hall.path("/lines"), &report)
        .await
        .expect(422);
    assert_eq!(
        crew.get(&hall.path("/lines?kind=link")).await.json()["items"],
        json!([])
    );

    let outbox = json!({"reports": [
        {"lines": [hall.link_out()]}, {"lines": [unknown()]}, {"lines": [hall.link_out()]},
    ]});
    let answers = crew
        .send("POST", &hall.path("/outbox"), &outbox)
        .await
        .expect(200)
        .json();
    assert_eq!(
        answers["answers"][0]["receipts"][0]["is_new"], true,
        "{answers:#}"
    );
    assert_eq!(
        answers["answers"][1]["problem"]["type"],
        "/problems/refused"
    );
    assert_eq!(
        answers["answers"][1]["problem"]["errors"][0]["pointer"],
        "/lines/0/subject"
    );
    assert_eq!(answers["answers"][2]["receipts"][0]["is_new"], true);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_verdict_follows_what_is_seen_and_goes_stale_by_itself() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let energy = hall.path(&format!("/robots/{}/energy", hall.own.robot));
    // Nobody said anything: treated as live.
    assert_eq!(crew.get(&energy).await.json()["verdict"], "unproved");
    let subject = format!("robot:{}", hall.own.robot);
    let lines = [
        hall.line(
            "place",
            &subject,
            Some("saw"),
            &json!({"place": "pit_bench"}),
        ),
        hall.line(
            "looked",
            &subject,
            Some("saw"),
            &json!({"link": "out", "holder": "box",
            "valve": "shut", "system": "zero", "weapon_bar": "on", "transmitter": "off",
            "power_light": "dark"}),
        ),
    ];
    crew.send("POST", &hall.path("/lines"), &json!({"lines": lines}))
        .await
        .expect(201);
    let safe = crew.get(&energy).await.json();
    assert_eq!(safe["verdict"], "made_safe", "{safe:#}");
    assert_eq!(safe["sources"].as_array().unwrap().len(), 4);
    // Another team sees the verdict and nothing behind it.
    let other = hall.who("other crew").get(&energy).await.json();
    assert_eq!(other["verdict"], "made_safe");
    assert_eq!(other["sources"], json!([]));
    // `day.md` of the design: a sight on the bench is good for 30 minutes.
    hall.service.clock.advance(TimeDelta::minutes(31));
    assert_eq!(crew.get(&energy).await.json()["verdict"], "unproved");
    // Unsafe news is always taken.
    let live = hall.line("link", &subject, Some("saw"), &json!({"state": "in"}));
    crew.send("POST", &hall.path("/lines"), &json!({"lines": [live]}))
        .await
        .expect(201);
    assert_eq!(crew.get(&energy).await.json()["verdict"], "live");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stream_tells_of_changes_and_goes_on_where_it_broke_off() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let path = hall.path("/stream");
    let mut stream = crew
        .request("GET", &path)
        .send()
        .await
        .unwrap()
        .bytes_stream();
    let mut heard = String::new();
    macro_rules! hear {
        ($stream:ident, $what:expr) => {{
            heard.clear();
            while !heard.contains($what) {
                let part = $stream.next().await.expect("the stream goes on").unwrap();
                heard.push_str(std::str::from_utf8(&part).unwrap());
            }
        }};
    }
    hear!(stream, "id: ");
    let before: i64 = heard
        .lines()
        .find_map(|line| line.strip_prefix("id: "))
        .unwrap()
        .parse()
        .unwrap();
    let receipts = crew
        .send(
            "POST",
            &hall.path("/lines"),
            &json!({"lines": [hall.link_out()]}),
        )
        .await
        .json();
    let seq = receipts["receipts"][0]["seq"].as_i64().unwrap();
    assert_eq!(seq, before + 1);
    hear!(stream, "event: change");
    let robot = hall.own.robot.to_string();
    assert!(
        heard.contains(&format!("id: {seq}")) && heard.contains(&robot),
        "{heard}"
    );
    drop(stream);

    let again = crew
        .request("GET", &path)
        .header("last-event-id", before.to_string());
    let mut stream = again.send().await.unwrap().bytes_stream();
    hear!(stream, "event: change");
    assert!(heard.contains(&format!("id: {seq}")), "{heard}");
    let wrong = crew.request("GET", &path).header("last-event-id", "x");
    answer(wrong).await.expect(400).problem("malformed");

    hall.service.end_streams();
    while let Some(part) = stream.next().await {
        part.unwrap();
    }
}
