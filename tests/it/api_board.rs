//! The board and the order of the bouts, over the API.

use crate::harness::client::{Client, answer};
use crate::harness::hall::Hall;
use crate::harness::wait_until;
use chrono::TimeDelta;
use linkout::app::{Clock as _, tail};
use serde_json::{Value, json};
use uuid::Uuid;

fn bout(n: u128) -> Uuid {
    Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0200 + n)
}

/// Enters bouts numbered from 2 by their corners, ten minutes apart.
async fn enter(hall: &Hall, corners: &[[Value; 2]]) -> u16 {
    let lines: Vec<Value> = (2..)
        .zip(corners)
        .map(|(n, slots)| {
            let body = json!({"number": n, "slots": slots,
                "call_at": format!("2027-01-15T12:{}0:00Z", n - 1)});
            hall.line("register_bout", &format!("bout:{}", bout(n)), None, &body)
        })
        .collect();
    let sent = hall.who("organiser");
    let answer = sent
        .send("POST", &hall.path("/lines"), &json!({"lines": lines}))
        .await;
    answer.status.as_u16()
}

fn robots(hall: &Hall) -> [Value; 2] {
    [
        json!({"robot": hall.own.robot}),
        json!({"robot": hall.other.robot}),
    ]
}

async fn calls(hall: &Hall) -> Vec<(i64, String)> {
    let board = hall.who("organiser").get(&hall.path("/board")).await;
    let board = board.expect(200).json();
    let bouts = board["bouts"].as_array().unwrap().iter();
    bouts
        .map(|bout| {
            let number = bout["number"].as_i64().unwrap();
            (number, bout["call"].as_str().unwrap()[11..16].to_owned())
        })
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_is_taken_once_and_only_as_it_was_seen() {
    let hall = Hall::open().await;
    let both = robots(&hall);
    assert_eq!(enter(&hall, &[both.clone(), both]).await, 201);
    let path = hall.path("/order");
    let seen = hall.who("organiser").get(&path).await.expect(200).json();
    let known: Vec<Value> = seen["bouts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|bout| json!({"bout": bout["bout"], "revision": bout["revision"]}))
        .collect();
    assert_eq!(known.len(), 3);
    assert!(seen["published"]["bouts"][0]["start"].is_string());
    let wanted = json!({"bouts": [known[1], known[0]]});
    let lost = json!({"bouts": [known[2], known[0]]});
    let refused = hall.who("organiser").send("POST", &path, &lost).await;
    let refused = refused.expect(422).problem("refused");
    assert_eq!(refused["errors"][0]["detail"], "The order lost bout 2.");

    let taken = hall.who("organiser").send("POST", &path, &wanted).await;
    assert_eq!(
        taken.expect(200).json()["seqs"].as_array().unwrap().len(),
        2
    );
    let expected = [(2, "11:00"), (1, "12:10"), (3, "12:20")];
    assert_eq!(
        calls(&hall).await,
        expected.map(|(number, call)| (number, call.to_owned()))
    );
    let again = hall.who("organiser").send("POST", &path, &wanted).await;
    let none: [i64; 0] = [];
    assert_eq!(
        again.expect(200).json()["seqs"],
        json!(none),
        "it is the order already"
    );
    let back = json!({"bouts": [known[0], known[1]]});
    let stale = hall.who("organiser").send("POST", &path, &back).await;
    stale.expect(412).problem("stale");
}

#[tokio::test(flavor = "multi_thread")]
async fn bouts_that_make_no_sense_are_refused_with_names() {
    let hall = Hall::open().await;
    let [own, other] = robots(&hall);
    let refused = async |lines: Vec<Value>| {
        let sent = hall.who("organiser");
        let answer = sent
            .send("POST", &hall.path("/lines"), &json!({"lines": lines}))
            .await;
        answer.expect(422).problem("refused")["errors"][0].clone()
    };
    let line = |n: u128, slots: Value, call: &str| {
        let body = json!({"number": n, "slots": slots, "call_at": call});
        hall.line("register_bout", &format!("bout:{}", bout(n)), None, &body)
    };
    let early = json!([{"winner": hall.bout}, {"loser": hall.bout}]);
    let fault = refused(vec![line(2, early, "2027-01-15T10:00:00Z")]).await;
    assert_eq!(fault["pointer"], "/lines/0/body/call_at");
    assert_eq!(
        fault["detail"],
        "Bout 2 would stand before bout 1, which decides who is in it."
    );
    let twice = json!([own, {"winner": hall.bout}]);
    let fault = refused(vec![line(2, twice, "2027-01-15T12:00:00Z")]).await;
    assert_eq!(
        fault["detail"],
        "Robot 1 is, or may come to be, in both corners of bout 2."
    );
    let same = json!([other, other]);
    let fault = refused(vec![line(2, same, "2027-01-15T12:00:00Z")]).await;
    assert_eq!(fault["pointer"], "/lines/0/body/slots/1");
    // Two bouts of one report are looked at together.
    let later = json!([{"winner": bout(3)}, {"loser": hall.bout}]);
    let feeder = line(3, json!([own, other]), "2027-01-15T13:00:00Z");
    let fault = refused(vec![feeder, line(4, later, "2027-01-15T12:30:00Z")]).await;
    assert_eq!(fault["pointer"], "/lines/1/body/call_at");
    assert_eq!(calls(&hall).await.len(), 1, "nothing of it was entered");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_board_is_a_table_that_no_spreadsheet_runs() {
    let hall = Hall::open().await;
    let team = hall.own.team;
    let body = json!({"team": team, "name": "=1+1,\"A\"", "machine": "small_machine", "links": 1});
    let path = hall.path(&format!("/robots/{}", hall.own.robot));
    let known = hall.who("organiser").get(&path).await.expect(200);
    let tag = known.header("etag").to_owned();
    let put = hall.who("organiser");
    put.send_if("PUT", &path, ("if-match", &tag), &body)
        .await
        .expect(200);
    let table = hall.who("program").get(&hall.path("/board.csv")).await;
    let table = table.expect(200);
    assert!(table.header("content-type").starts_with("text/csv"));
    assert!(table.header("content-disposition").contains("board.csv"));
    let rows: Vec<&str> = table.text.split("\r\n").collect();
    assert_eq!(rows.len(), 3, "{}", table.text);
    assert!(rows[0].starts_with("bout,call,"));
    assert!(
        rows[1].starts_with("1,2027-01-15T11:00:00Z,,waiting,"),
        "{}",
        rows[1]
    );
    assert!(
        rows[1].contains(",\"'=1+1,\"\"A\"\"\",,unproved,"),
        "{}",
        rows[1]
    );
}

/// What the board says that a table made on the spot has to say too, by robot.
fn states(board: &Value) -> Vec<String> {
    let bouts = board["bouts"].as_array().unwrap().iter();
    let corners = bouts.flat_map(|bout| bout["corners"].as_array().unwrap());
    let words = |value: &Value| match value {
        Value::String(word) => word.replace('_', " "),
        _ => String::new(),
    };
    corners
        .map(|corner| {
            let hazards = corner["hazards"].as_array().unwrap().len();
            ["name", "verdict", "place", "forecast"]
                .map(|member| words(&corner[member]))
                .join(",")
                + &format!(",{hazards}")
        })
        .collect()
}

/// The same of the table.
fn states_of_table(table: &str) -> Vec<String> {
    let mut rows = table.lines().map(|row| row.split(',').collect::<Vec<_>>());
    let head = rows.next().unwrap();
    let column = |name: &str| head.iter().position(|known| *known == name).unwrap();
    let mut found = Vec::new();
    for row in rows {
        for n in [1, 2] {
            let cell = |name: &str| row[column(&format!("robot_{n}_{name}"))];
            let hazards = cell("hazards")
                .split("; ")
                .filter(|title| !title.is_empty())
                .count();
            let words = ["name", "verdict", "place", "forecast"].map(cell).join(",");
            found.push(format!("{words},{hazards}"));
        }
    }
    found
}

#[tokio::test(flavor = "multi_thread")]
async fn a_board_is_kept_only_while_it_is_what_would_be_said_now() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let about = format!("robot:{}", hall.own.robot);
    let place = json!({"place": "pit_bench"});
    let seen = json!({"link": "out", "holder": "box", "valve": "shut", "system": "zero",
        "weapon_bar": "on", "transmitter": "off", "power_light": "dark"});
    let lines = [
        hall.line("place", &about, Some("saw"), &place),
        hall.line("looked", &about, Some("saw"), &seen),
    ];
    let lines = json!({"lines": lines});
    crew.send("POST", &hall.path("/lines"), &lines)
        .await
        .expect(201);
    let who = hall.who("organiser");
    let (path, table) = (hall.path("/board"), hall.path("/board.csv"));
    let mut verdicts = std::collections::BTreeSet::new();
    let mut kept = 0;
    let mut last = String::new();
    for _ in 0..240 {
        let board = who.get(&path).await.expect(200);
        let made = board.json();
        let told = who.get(&table).await.expect(200);
        assert_eq!(states(&made), states_of_table(&told.text));
        let changes_at: chrono::DateTime<chrono::Utc> =
            made["changes_at"].as_str().unwrap().parse().unwrap();
        assert!(hall.service.clock.now() < changes_at);
        kept += usize::from(board.header("etag") == last);
        last = board.header("etag").to_owned();
        verdicts.insert(made["bouts"][0]["corners"][0]["verdict"].to_string());
        hall.service.clock.advance(TimeDelta::seconds(20));
    }
    // By time alone, within the 80 minutes: a sight on the bench is good for 30 of them by default.
    assert_eq!(verdicts.len(), 2, "{verdicts:?}");
    assert!(kept >= 120, "{kept}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_board_that_is_known_is_not_sent_again_and_never_stays_behind() {
    let hall = Hall::open().await;
    let organiser = hall.who("organiser");
    let path = hall.path("/board");
    let asking = async |who: &str, tag: &str| {
        let request = hall.who(who).request("GET", &path);
        answer(request.header("if-none-match", tag)).await
    };
    let first = organiser.get(&path).await.expect(200);
    let tag = first.header("etag").to_owned();
    assert!(tag.starts_with('"'), "strong: {tag}");
    let again = hall.who("program").get(&path).await.expect(200);
    assert_eq!((again.header("etag"), &again.text), (&*tag, &first.text));
    // RFC 9110 section 13.1.2: the weak comparison, any of a list, and whatever there is.
    for known in [
        tag.clone(),
        format!("W/{tag}"),
        format!("\"x\", {tag}"),
        "*".to_owned(),
    ] {
        let unchanged = asking("organiser", &known).await.expect(304);
        assert_eq!((unchanged.header("etag"), &*unchanged.text), (&*tag, ""));
        for name in ["cache-control", "etag"] {
            assert_eq!(unchanged.header(name), first.header(name));
        }
    }
    asking("organiser", "\"x\"").await.expect(200);
    asking("organiser", "no tag").await.expect(200);
    // Whoever may not see it learns nothing of it.
    asking("crew", &tag).await.expect(403);
    asking("nobody", &tag).await.expect(401);
    asking("next door", &tag).await.expect(404);

    let send = async |who: &Client| {
        let lines = json!({"lines": [hall.link_out()]});
        let sent = who.send("POST", &hall.path("/lines"), &lines).await;
        let place = sent.expect(201).json()["receipts"][0]["seq"].as_i64();
        place.unwrap()
    };
    let seq = send(hall.who("crew")).await;
    let second = asking("organiser", &tag).await.expect(200);
    assert_eq!(second.json()["last_seq"], seq);

    // Another process writes; what this one knows is in its very next answer.
    let there = hall.service.another().await;
    let writer = there.with_token(hall.who("crew").token().unwrap());
    let following = tokio::spawn(tail::follow(hall.service.app.clone()));
    let seq = send(&writer).await;
    let event = hall.service.app.events.opened(hall.event.parse().unwrap());
    let event = event.unwrap();
    wait_until("the line is known here", || event.pit().last_seq >= seq).await;
    let third = asking("organiser", second.header("etag")).await.expect(200);
    assert_eq!(third.json()["last_seq"], seq);
    following.abort();

    // Time alone.
    let changes_at = third.json()["changes_at"].clone();
    let changes_at: chrono::DateTime<chrono::Utc> = changes_at.as_str().unwrap().parse().unwrap();
    let tag = third.header("etag");
    let ahead = changes_at - hall.service.clock.now();
    hall.service
        .clock
        .advance(ahead - TimeDelta::milliseconds(1));
    asking("organiser", tag).await.expect(304);
    hall.service.clock.advance(TimeDelta::milliseconds(1));
    let fourth = asking("organiser", tag).await.expect(200).json();
    assert_eq!(fourth["now"], third.json()["changes_at"]);
}
