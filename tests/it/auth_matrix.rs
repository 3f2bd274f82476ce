//! Who may do what: every operation and every kind of line, for everybody there is. The tables here
//! are the rights as they were decided; an operation or kind that is missing in them fails.

use crate::harness::client::answer;
use crate::harness::hall::{EVERYBODY, Hall};
use linkout::pit::logbook::Kind;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What an operation answers, in the order of [`EVERYBODY`]:
/// nobody, crew, other crew, lead, other lead, official, marshal, organiser, wall, program, account,
/// next door.
type Row = (&'static str, [u16; 12]);

const PUBLIC: [u16; 12] = [0; 12];
const HALL: [u16; 12] = [401, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 404];
const STATIONS: [u16; 12] = [401, 200, 404, 200, 404, 200, 200, 200, 404, 200, 200, 404];
const SAFETY: [u16; 12] = [401, 200, 404, 200, 404, 200, 200, 200, 404, 404, 200, 404];
const TEAM: [u16; 12] = [401, 200, 404, 200, 404, 404, 404, 200, 404, 404, 200, 404];
/// There is no plan to see: the same as not being allowed to.
const TEAM_EMPTY: [u16; 12] = [401, 404, 404, 404, 404, 404, 404, 404, 404, 404, 404, 404];
const FORECAST: [u16; 12] = [401, 200, 404, 200, 404, 404, 200, 200, 404, 200, 200, 404];
const OWN_SESSION: [u16; 12] = [401, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200, 200];
/// Stale on purpose: whoever gets this far may write.
const EVENT_CHANGE: [u16; 12] = [401, 403, 403, 403, 403, 403, 403, 412, 403, 403, 412, 404];

const OPERATIONS: &[Row] = &[
    ("get_health", PUBLIC),
    ("sign_in", PUBLIC),
    ("look_at_join_code", PUBLIC),
    ("join_event", PUBLIC),
    ("get_session", OWN_SESSION),
    (
        "become_person",
        [401, 422, 422, 422, 422, 422, 422, 422, 422, 422, 422, 422],
    ),
    (
        "sign_out",
        [401, 204, 204, 204, 204, 204, 204, 204, 204, 204, 204, 204],
    ),
    ("list_events", OWN_SESSION),
    (
        "create_event",
        [401, 403, 403, 403, 403, 403, 403, 403, 403, 403, 201, 403],
    ),
    ("get_event", HALL),
    ("put_event", EVENT_CHANGE),
    ("list_lines", HALL),
    (
        "hand_in_lines",
        [401, 422, 422, 422, 422, 422, 422, 422, 422, 422, 422, 404],
    ),
    (
        "empty_outbox",
        [401, 422, 422, 422, 422, 422, 422, 422, 422, 422, 422, 404],
    ),
    ("stream_changes", HALL),
    (
        "get_board",
        [401, 403, 403, 403, 403, 403, 200, 200, 403, 200, 200, 404],
    ),
    (
        "get_board_csv",
        [401, 403, 403, 403, 403, 403, 200, 200, 403, 200, 200, 404],
    ),
    (
        "make_calendar",
        [401, 201, 201, 201, 201, 201, 201, 201, 201, 201, 201, 404],
    ),
    ("list_calendars", HALL),
    ("end_calendar", TEAM_EMPTY),
    // There is no photograph yet; who sees which is tested with the pages.
    ("send_photo", TEAM_EMPTY),
    ("get_photo", TEAM_EMPTY),
    (
        "get_order",
        [401, 403, 403, 403, 403, 403, 200, 200, 403, 200, 200, 404],
    ),
    (
        "change_order",
        [401, 403, 403, 403, 403, 403, 403, 422, 403, 422, 422, 404],
    ),
    ("list_names", HALL),
    (
        "put_person_name",
        [401, 403, 404, 204, 404, 403, 403, 204, 404, 404, 204, 404],
    ),
    (
        "erase_person",
        [401, 403, 404, 204, 404, 403, 403, 204, 404, 404, 204, 404],
    ),
    // A PIN is its person's own; the lead and the organiser only take it away.
    (
        "put_person_pin",
        [401, 403, 404, 403, 404, 403, 403, 403, 404, 404, 403, 404],
    ),
    (
        "delete_person_pin",
        [401, 403, 404, 204, 404, 403, 403, 204, 404, 404, 204, 404],
    ),
    (
        "end_sessions",
        [401, 403, 404, 204, 404, 403, 403, 204, 404, 404, 204, 404],
    ),
    (
        "make_join_code",
        [401, 403, 403, 201, 403, 403, 403, 201, 403, 403, 201, 404],
    ),
    (
        "withdraw_join_code",
        [401, 403, 403, 403, 403, 403, 403, 404, 403, 403, 404, 404],
    ),
    ("get_energy", HALL),
    ("list_hazards", HALL),
    ("list_rules", HALL),
    ("list_tasks", TEAM),
    ("get_plan", TEAM_EMPTY),
    ("get_link_plan", SAFETY),
    ("get_clearance", SAFETY),
    ("get_forecast", FORECAST),
    ("get_advice", TEAM),
    ("list_durations", TEAM),
    ("get_spares", TEAM),
    ("get_spares_csv", TEAM),
    ("list_stations", HALL),
    ("get_station", HALL),
    ("list_proofs", STATIONS),
    ("get_team_gas", STATIONS),
    ("get_bottle_gas", STATIONS),
    ("get_team_packs", STATIONS),
    ("get_pack_state", STATIONS),
    ("get_set_state", STATIONS),
    ("get_charging_table", STATIONS),
    ("list_teams", HALL),
    ("list_people", HALL),
    ("list_robots", HALL),
    ("list_packs", HALL),
    ("list_sets", HALL),
    ("list_channels", HALL),
    ("list_chargers", HALL),
    ("list_circuits", HALL),
    ("list_bottles", HALL),
    ("list_supplies", HALL),
    ("list_part_types", HALL),
    ("list_bouts", HALL),
    ("get_team", HALL),
    ("get_person", SAFETY),
    ("get_robot", HALL),
    ("get_pack", STATIONS),
    ("get_set", STATIONS),
    ("get_channel", STATIONS),
    ("get_charger", STATIONS),
    ("get_circuit", HALL),
    ("get_bottle", STATIONS),
    ("get_supply", HALL),
    ("get_part_type", TEAM),
    ("get_bout", HALL),
    (
        "put_team",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_person",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_robot",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_pack",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_set",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_channel",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_charger",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_circuit",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_bottle",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_supply",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_part_type",
        [401, 403, 403, 200, 404, 403, 403, 200, 403, 403, 200, 404],
    ),
    (
        "put_bout",
        [401, 403, 403, 403, 403, 403, 403, 200, 403, 200, 200, 404],
    ),
];

/// A body that gets past nothing but the rights, where one is needed.
async fn body_of(hall: &Hall, operation: &str, path: &str) -> Option<(Option<String>, Value)> {
    Some((
        None,
        match operation {
            "become_person" => json!({"name": ""}),
            "create_event" => {
                json!({"name": "Winter Meet", "time_zone": "Europe/London", "first_day": "2027-12-04", "last_day": "2027-12-05"})
            }
            "put_event" => {
                let known = hall.who("account").get(path).await.json();
                return Some((Some("\"0\"".to_owned()), known["body"].clone()));
            }
            "hand_in_lines" => json!({"lines": []}),
            "make_calendar" => json!({}),
            "change_order" => {
                let twice = json!({"bout": hall.bout, "revision": 0});
                json!({"bouts": [twice, twice]})
            }
            "empty_outbox" => json!({"reports": []}),
            "put_person_name" => json!({"name": "Ana"}),
            "put_person_pin" => json!({"pin": "4711"}),
            "make_join_code" => json!({"role": "crew", "team": hall.own.team}),
            "withdraw_join_code" => json!({"code": "00000-00000"}),
            _ if operation.starts_with("put_") => {
                let known = hall.who("account").get(path).await.expect(200);
                return Some((
                    Some(known.header("etag").to_owned()),
                    known.json()["body"].clone(),
                ));
            }
            _ => return None,
        },
    ))
}

fn operations() -> Vec<(String, String, String)> {
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    let mut all = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            if let Some(id) = operation["operationId"].as_str() {
                all.push((id.to_owned(), method.to_uppercase(), path.clone()));
            }
        }
    }
    all
}

fn filled(hall: &Hall, path: &str) -> String {
    let own = hall.own;
    [
        ("{event}", hall.event.clone()),
        ("{team}", own.team.to_string()),
        ("{person}", own.person.to_string()),
        ("{robot}", own.robot.to_string()),
        ("{pack}", own.pack.to_string()),
        ("{set}", own.set.to_string()),
        ("{channel}", own.channel.to_string()),
        ("{bottle}", own.bottle.to_string()),
        ("{charger}", own.charger.to_string()),
        ("{circuit}", own.circuit.to_string()),
        ("{supply}", own.supply.to_string()),
        ("{part_type}", own.part_type.to_string()),
        ("{bout}", hall.bout.to_string()),
        // There is no calendar and no photograph yet.
        ("{line}", hall.bout.to_string()),
        ("{calendar}", hall.bout.to_string()),
        ("{station}", "gas_bay".to_owned()),
    ]
    .into_iter()
    .fold(path.to_owned(), |path, (name, id)| path.replace(name, &id))
}

#[tokio::test(flavor = "multi_thread")]
async fn every_operation_is_for_whom_it_is() {
    let hall = Hall::open().await;
    let rows: BTreeMap<&str, [u16; 12]> = OPERATIONS.iter().copied().collect();
    assert_eq!(rows.len(), OPERATIONS.len());
    let mut wrong = Vec::new();
    let mut seen = 0;
    // Signing out comes last: afterwards nobody is left.
    let mut operations = operations();
    operations.sort_by_key(|(id, ..)| (id == "sign_out", id.starts_with("end_"), id.clone()));
    for (id, method, path) in operations {
        if id.starts_with("calculate_") {
            let form = hall
                .service
                .nobody()
                .send(&method, &path, &json!({"no_such_field": true}))
                .await;
            form.expect(422).problem("refused");
            continue;
        }
        let Some(row) = rows.get(id.as_str()) else {
            panic!("{id} has no row: who may do it?");
        };
        seen += 1;
        if *row == PUBLIC {
            continue;
        }
        let path = filled(&hall, &path);
        for (who, expected) in EVERYBODY.into_iter().zip(row) {
            let mut request = hall.who(who).request(&method, &path);
            if let Some((tag, body)) = body_of(&hall, &id, &path).await {
                request = request.json(&body);
                if let Some(tag) = tag {
                    request = request.header("if-match", tag);
                }
            }
            // A stream goes on for ever: its status is all that is wanted of it.
            let status = if id == "stream_changes" {
                request.send().await.unwrap().status().as_u16()
            } else {
                answer(request).await.status.as_u16()
            };
            if status != *expected {
                wrong.push(format!("{id} by {who}: {status}, not {expected}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(
        seen,
        rows.len(),
        "a row is for an operation that is not there"
    );
}

/// For each kind: an example of its body, who may write it about their own team's, and who about
/// any team's. Lines about the event or a bout have no team.
#[rustfmt::skip]
fn kinds(hall: &Hall) -> Vec<(&'static str, Value, &'static str, &'static str)> {
    let own = hall.own;
    vec![
        ("register_event", json!({"name": "X", "time_zone": "Europe/London", "first_day": "2027-01-15", "last_day": "2027-01-16"}), "", "organiser account"),
        ("register_team", json!({"name": "Renamed"}), "lead", "organiser account"),
        ("register_person", json!({"team": own.team}), "lead", "organiser account"),
        ("register_robot", json!({"team": own.team, "name": "R", "machine": "flipper_heavyweight", "links": 1}), "lead", "organiser account"),
        ("register_pack", json!({"team": own.team, "label": "P", "chemistry": "lipo", "cells": 6, "capacity_mah": 5000}), "lead", "organiser account"),
        ("register_set", json!({"team": own.team, "label": "S", "packs": [own.pack]}), "lead", "organiser account"),
        ("register_channel", json!({"team": own.team, "label": "C", "max_current_ma": 1000, "max_power_w": 10}), "lead", "organiser account"),
        ("register_bottle", json!({"team": own.team, "label": "B", "gas": "co2", "volume_ml": 1340, "tare_g": 2950}), "lead", "organiser account"),
        ("register_charger", json!({"team": own.team, "label": "G"}), "lead", "organiser account"),
        ("register_circuit", json!({"team": own.team, "label": "L", "kind": "lead"}), "lead", "organiser account"),
        ("register_supply", json!({"team": own.team, "label": "S", "gas": "co2", "volume_ml": 50_000}), "lead", "organiser account"),
        ("register_part_type", json!({"team": own.team, "label": "W"}), "lead", "organiser account"),
        ("register_bout", json!({"number": 1, "slots": [{"robot": own.robot}, {"robot": hall.other.robot}], "call_at": "2027-01-15T11:00:00Z"}), "", "organiser account program"),
        ("register_library", json!({"machine": "flipper_heavyweight", "changes": {}}), "lead", "organiser account"),
        ("link", json!({"state": "out"}), "crew lead", "official marshal"),
        ("gas", json!({"valve": "shut"}), "crew lead", "official marshal"),
        ("weapon_bar", json!({"state": "on"}), "crew lead", "official marshal"),
        ("transmitter", json!({"state": "off"}), "crew lead", "official marshal"),
        ("power_light", json!({"state": "dark"}), "crew lead", "official marshal"),
        ("stand", json!({"clear": true}), "crew lead", "official marshal"),
        ("stored", json!({"what": "spring", "state": "released"}), "crew lead", "official marshal"),
        ("trouble", json!({"what": "gauge", "bad": true}), "crew lead", "official marshal"),
        ("inside", json!({"people": 0}), "crew lead", "official marshal"),
        ("air", json!({"co2_ppm": 900}), "", "crew lead official marshal organiser account program"),
        ("looked", json!({"link": "out"}), "crew lead", "official marshal"),
        ("place", json!({"place": "pit_bench"}), "crew lead", "official marshal organiser account program"),
        ("pack", json!({"place": "bench"}), "crew lead", "official marshal program"),
        ("charge", json!({"running": 0}), "crew lead", "official marshal program"),
        ("bottle", json!({"place": "bench"}), "crew lead", "official marshal program"),
        ("supply_weighed", json!({"mass_g": 78_400}), "crew lead", "official marshal organiser account program"),
        ("part", json!({"part": "wheel"}), "crew lead", "marshal"),
        ("stock", json!({"came": {"units": 1, "as": "new"}}), "crew lead", ""),
        ("loan", json!({"open": 0}), "crew lead", "marshal"),
        ("count", json!({"what": "links", "missing": 0}), "crew lead", "marshal"),
        ("damage", json!({"area": "DAMAGE_AREA", "kind": "DAMAGE_KIND"}), "crew lead", "official marshal"),
        ("check", json!({"what": "wiring", "found": "fine"}), "crew lead", "official marshal"),
        ("task", json!({"task": "TASK", "state": "started"}), "crew lead", "official marshal"),
        ("photo", json!({"shows": "damage"}), "crew lead", "official marshal"),
        ("proof", json!({"what": "weight", "result": "within"}), "crew lead", "official marshal program"),
        ("changed", json!({"change": "CHANGE"}), "crew lead", "official marshal"),
        ("station", json!({"station": "scale", "step": "asked"}), "crew lead", "official marshal organiser account"),
        ("duty", json!({"duty": "driver", "who": null}), "crew lead", ""),
        ("link_plan", json!({"saved": {}}), "crew lead", ""),
        ("called", json!({}), "", "official marshal organiser account program"),
        ("answered", json!({"answer": "coming"}), "crew lead", "official marshal organiser account"),
        ("postponement", json!({"bout": hall.bout, "said": "asked", "by_min": 10}), "crew lead", "official marshal organiser account"),
        ("bout_started", json!({}), "", "official marshal organiser account program"),
        ("bout_ended", json!({}), "", "official marshal organiser account program"),
        ("calls_moved", json!({"by_min": 5}), "", "organiser account program"),
        ("allowed_here", json!({"place": "test_area", "for_min": 5}), "", "marshal"),
        ("clearance", json!({"place": "arena", "said": "asked"}), "crew lead", "marshal organiser account"),
        ("danger", json!({"what": "fire"}), "", "crew lead official marshal organiser account program"),
        ("everyone_stop", json!({"stop": true}), "", "crew lead official marshal organiser account"),
        ("announced", json!({"text": "Doors open at nine"}), "", "organiser account"),
        ("announcement_seen", json!({"announcement": "ANNOUNCEMENT"}), "crew lead", "official marshal organiser account"),
        ("hazard", json!({"rule": "H02", "said": "seen"}), "crew lead", "official marshal organiser account"),
        ("planned", json!({"after_seq": 1, "robots": [], "tasks": [], "proven": true}), "", ""),
        ("void", json!({}), "", "-"),
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn every_kind_of_line_is_for_whom_it_is() {
    let hall = Hall::open().await;
    let table = kinds(&hall);
    let known: Vec<&str> = table.iter().map(|(kind, ..)| *kind).collect();
    for kind in Kind::ALL {
        assert!(
            known.contains(&kind.name()),
            "who may write '{}'?",
            kind.name()
        );
    }
    let announced = hall.line("announced", "event", None, &json!({"text": "Doors open"}));
    let announcement = announced["id"].as_str().unwrap().to_owned();
    hall.who("account")
        .send("POST", &hall.path("/lines"), &json!({"lines": [announced]}))
        .await
        .expect(201);
    let mut wrong = Vec::new();
    for (name, body, own, any) in table {
        let kind = Kind::named(name).unwrap();
        if any == "-" {
            // What it takes back decides; the tests of the door have that.
            continue;
        }
        let body = with_words(&body, &announcement);
        let subject = match kind.subject() {
            "event" => "event".to_owned(),
            "bout" => format!("bout:{}", hall.bout),
            "any" => format!("robot:{}", hall.own.robot),
            noun => {
                let id = match noun {
                    "team" => hall.own.team,
                    "person" => hall.own.person,
                    "robot" => hall.own.robot,
                    "pack" => hall.own.pack,
                    "set" => hall.own.set,
                    "channel" => hall.own.channel,
                    "charger" => hall.own.charger,
                    "circuit" => hall.own.circuit,
                    "supply" => hall.own.supply,
                    "part" => hall.own.part_type,
                    _ => hall.own.bottle,
                };
                format!("{noun}:{id}")
            }
        };
        let how = kind.about_a_state().then_some("saw");
        for who in EVERYBODY {
            let mut line = hall.line(name, &subject, how, &body);
            if name.starts_with("register_") {
                // No revision has this number: whoever gets this far may write.
                line["if_revision"] = json!(99_999);
            }
            let taken = hall
                .who(who)
                .send("POST", &hall.path("/lines"), &json!({"lines": [line]}))
                .await;
            let mine = own.split(' ').any(|one| one == who);
            // "other crew" is crew, of another team.
            let anywhere = any
                .split(' ')
                .any(|one| one == who.trim_start_matches("other "));
            let allowed = mine || anywhere;
            let status = taken.status.as_u16();
            let as_decided = match (who, allowed) {
                ("nobody", _) => status == 401,
                ("next door", _) => status == 404,
                (_, true) => matches!(status, 201 | 412),
                (_, false) => matches!(status, 403 | 404),
            };
            if !as_decided {
                wrong.push(format!("{name} by {who}: {status} {}", taken.text));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Words of the product's task data, which lines name and which have to exist.
fn with_words(body: &Value, announcement: &str) -> Value {
    use linkout::pit::library;
    use linkout::pit::logbook::register::Machine;
    let machine = Machine::FlipperHeavyweight;
    let area = &library::damage(machine).areas[0];
    let text = body
        .to_string()
        .replace("DAMAGE_AREA", &area.id)
        .replace("DAMAGE_KIND", &area.kinds[0])
        .replace("ANNOUNCEMENT", announcement)
        .replace("TASK", &library::lists(machine).turnaround[0].id)
        .replace("CHANGE", &library::data().changes.kinds[0].id);
    serde_json::from_str(&text).unwrap()
}
