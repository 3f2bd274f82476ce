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
    assert_eq!(stale.problem("stale")["current_revision"], current);
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
