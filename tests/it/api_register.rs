//! Things of the register: read with an ETag, changed with it.

use crate::harness::client::answer;
use crate::harness::hall::Hall;
use serde_json::json;
use uuid::Uuid;

#[tokio::test(flavor = "multi_thread")]
async fn a_change_names_the_revision_it_is_based_on() {
    let hall = Hall::open().await;
    let lead = hall.who("lead");
    let path = hall.path(&format!("/bottles/{}", hall.own.bottle));
    let first = lead.get(&path).await.expect(200);
    let tag = first.header("etag").to_owned();
    let mut body = first.json()["body"].clone();
    assert_eq!(tag, format!("\"{}\"", first.json()["revision"]));
    body["permitted_fill_g"] = json!(890);

    lead.send("PUT", &path, &body)
        .await
        .expect(428)
        .problem("revision-needed");
    lead.send_if("PUT", &path, ("if-match", "*"), &body)
        .await
        .expect(428);
    lead.send_if("PUT", &path, ("if-none-match", "\"1\""), &body)
        .await
        .expect(428);
    lead.send_if("PUT", &path, ("if-match", "nonsense"), &body)
        .await
        .expect(412);
    // RFC 9110 section 8.8.3.2: a weak tag never matches strongly.
    let weak = format!("W/{tag}");
    lead.send_if("PUT", &path, ("if-match", &weak), &body)
        .await
        .expect(412);
    let changed = lead
        .send_if("PUT", &path, ("if-match", &tag), &body)
        .await
        .expect(200);
    assert_eq!(changed.json()["body"]["permitted_fill_g"], 890);
    assert_ne!(changed.header("etag"), tag);
    let stale = lead
        .send_if("PUT", &path, ("if-match", &tag), &body)
        .await
        .expect(412);
    let current = changed.json()["revision"].clone();
    let problem = stale.problem("stale");
    assert_eq!(problem["current_revision"], current);
    // What changed since the revision that was sent, not what was sent now.
    assert_eq!(
        problem["changes"],
        json!([{"pointer": "/permitted_fill_g", "now": 890}])
    );
    lead.send_if("PUT", &path, ("if-none-match", "*"), &body)
        .await
        .expect(412);

    let known = lead
        .request("GET", &path)
        .header("if-none-match", changed.header("etag"));
    assert_eq!(answer(known).await.expect(304).text, "");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_new_thing_is_added_under_an_id_of_its_own() {
    let hall = Hall::open().await;
    let lead = hall.who("lead");
    let path = hall.path(&format!(
        "/packs/{}",
        Uuid::from_u128(0x0197_a3c2_0002 << 80 | 7 << 76 | 2 << 62)
    ));
    let body = json!({"team": hall.own.team, "label": "B1", "chemistry": "nmc", "cells": 6,
        "capacity_mah": 4200});
    lead.send_if("PUT", &path, ("if-match", "\"1\""), &body)
        .await
        .expect(412);
    lead.send_if("PUT", &path, ("if-none-match", "*"), &body)
        .await
        .expect(201);
    lead.get(&path).await.expect(200);
    // A label is a team's once; the database says so last of all.
    let other = hall.path(&format!(
        "/packs/{}",
        Uuid::from_u128(0x0197_a3c2_0003 << 80 | 7 << 76 | 2 << 62)
    ));
    lead.send_if("PUT", &other, ("if-none-match", "*"), &body)
        .await
        .expect(409)
        .problem("conflict");
    let mut wrong = body.clone();
    wrong["cells"] = json!(-1);
    wrong["colour"] = json!("red");
    let problem = lead
        .send_if("PUT", &other, ("if-none-match", "*"), &wrong)
        .await
        .expect(422)
        .problem("refused");
    assert_eq!(
        problem["errors"].as_array().unwrap().len(),
        2,
        "{problem:#}"
    );
    let mut taken = body;
    taken["team"] = json!(hall.other.team);
    lead.send_if("PUT", &other, ("if-none-match", "*"), &taken)
        .await
        .expect(404);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_list_is_read_page_by_page_to_its_end() {
    let hall = Hall::open().await;
    let organiser = hall.who("organiser");
    let mut seen = Vec::new();
    let mut cursor = String::new();
    loop {
        let path = hall.path(&format!("/people?limit=3{cursor}"));
        let page = organiser.get(&path).await.expect(200).json();
        let items = page["items"].as_array().unwrap().clone();
        assert!((1..=3).contains(&items.len()));
        seen.extend(
            items
                .iter()
                .map(|item| item["id"].as_str().unwrap().to_owned()),
        );
        match page["next_cursor"].as_str() {
            Some(next) => cursor = format!("&cursor={next}"),
            None => break,
        }
    }
    let whole = organiser.get(&hall.path("/people?limit=100")).await.json();
    let whole: Vec<&str> = whole["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|item| item["id"].as_str().unwrap())
        .collect();
    assert_eq!(seen, whole);
    assert!(whole.len() >= 9, "{whole:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_holds_what_is_ones_own_to_see() {
    let hall = Hall::open().await;
    for things in ["packs", "sets", "channels", "bottles", "people"] {
        for (who, sees_own, sees_other) in [
            ("crew", true, false),
            ("other crew", false, true),
            ("official", true, true),
            ("organiser", true, true),
            ("wall", false, false),
        ] {
            let page = hall
                .who(who)
                .get(&hall.path(&format!("/{things}?limit=100")))
                .await
                .expect(200)
                .json();
            let of = |team: uuid::Uuid| {
                page["items"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|item| item["body"]["team"] == team.to_string())
            };
            assert_eq!(of(hall.own.team), sees_own, "{things} by {who}");
            assert_eq!(of(hall.other.team), sees_other, "{things} by {who}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn two_leads_who_change_one_robot_lose_nothing_without_a_word() {
    let hall = Hall::open().await;
    let lead = hall.who("lead");
    let path = hall.path(&format!("/robots/{}", hall.own.robot));
    let read = lead.get(&path).await.expect(200);
    let tag = read.header("etag").to_owned();
    let changed = |name: &str, value: serde_json::Value| {
        let mut body = read.json()["body"].clone();
        body[name] = value;
        body
    };
    let (bench, links) = (changed("bench", json!(31)), changed("links", json!(3)));
    let (one, other) = tokio::join!(
        lead.send_if("PUT", &path, ("if-match", &tag), &bench),
        hall.who("organiser")
            .send_if("PUT", &path, ("if-match", &tag), &links),
    );
    let (taken, refused) = if one.status == 200 {
        (one, other)
    } else {
        (other, one)
    };
    let problem = refused.expect(412).problem("stale");
    let stands = taken.expect(200).json();
    assert_eq!(problem["current_revision"], stands["revision"]);
    let change = &problem["changes"][0];
    let field = change["pointer"].as_str().unwrap().trim_start_matches('/');
    assert_eq!(change["now"], stands["body"][field], "{problem:#}");
    assert_eq!(change["was"], read.json()["body"][field], "{problem:#}");
    assert_eq!(lead.get(&path).await.json()["body"], stands["body"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bulk_add_is_all_or_nothing() {
    let hall = Hall::open().await;
    let lead = hall.who("lead");
    let list = hall.path("/packs?limit=100");
    let before = lead.get(&list).await.json();
    let pack = |n: u128, label: &str| {
        let id = Uuid::from_u128(0x0197_a3c2_0004 << 80 | 7 << 76 | 2 << 62 | n);
        let body = json!({"team": hall.own.team, "label": label, "chemistry": "lipo",
            "cells": 4, "capacity_mah": 5000});
        hall.line("register_pack", &format!("pack:{id}"), None, &body)
    };
    let labels = [
        "P1", "P2", "P3", "P4", "P5", "P6", "P7", "P8", "P9", "P10", "P11",
    ];
    let mut lines: Vec<_> = (0..).zip(labels).map(|(n, label)| pack(n, label)).collect();
    // The twelfth has the label of the first, which only the database can say no to.
    lines.push(pack(11, "p1"));
    let report = json!({"lines": lines});
    lead.send("POST", &hall.path("/lines"), &report)
        .await
        .expect(409)
        .problem("conflict");
    assert_eq!(lead.get(&list).await.json(), before);
    lines.pop();
    lines.push(pack(11, "P12"));
    lead.send("POST", &hall.path("/lines"), &json!({"lines": lines}))
        .await
        .expect(201);
    let after = lead.get(&list).await.json();
    let count = |page: &serde_json::Value| page["items"].as_array().unwrap().len();
    assert_eq!(count(&after), count(&before) + 12);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_narrowed_by_team_and_by_what_is_retired() {
    let hall = Hall::open().await;
    let account = hall.who("account");
    let path = hall.path(&format!("/packs/{}", hall.own.pack));
    let read = account.get(&path).await.expect(200);
    let mut body = read.json()["body"].clone();
    body["retired"] = json!(true);
    account
        .send_if("PUT", &path, ("if-match", read.header("etag")), &body)
        .await
        .expect(200);
    for (query, own, other) in [
        ("", true, true),
        ("?retired=true", true, false),
        ("?retired=false", false, true),
        (&format!("?team={}", hall.own.team), true, false),
        (
            &format!("?team={}&retired=false", hall.own.team),
            false,
            false,
        ),
    ] {
        let page = account
            .get(&hall.path(&format!("/packs{query}")))
            .await
            .expect(200)
            .json();
        let has = |pack: Uuid| {
            let mut items = page["items"].as_array().unwrap().iter();
            items.any(|item| item["id"] == pack.to_string())
        };
        assert_eq!(
            (has(hall.own.pack), has(hall.other.pack)),
            (own, other),
            "{query}"
        );
    }
    for query in ["?team=x", "?retired=perhaps", "?teem=1"] {
        let refused = account.get(&hall.path(&format!("/packs{query}"))).await;
        refused.expect(400).problem("malformed");
    }
}
