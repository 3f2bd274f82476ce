//! The board and the order of the bouts, over the API.

use crate::harness::hall::Hall;
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
