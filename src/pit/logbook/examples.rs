//! An example of each kind of line, for the published document and for the tests that post it.
//!
//! All of them belong to one invented event: what one mentions, another registers.

use super::kinds::{Family, Kind};
use serde_json::{Value, json};
use uuid::Uuid;

const TEAM: Uuid = id(1);
const PERSON: Uuid = id(2);
const PACK: Uuid = id(3);
const SET: Uuid = id(4);
const ROBOT: Uuid = id(5);
const OTHER_ROBOT: Uuid = id(6);
const CHANNEL: Uuid = id(7);
const BOTTLE: Uuid = id(8);
const BOUT: Uuid = id(9);
const CHARGER: Uuid = id(10);
const CIRCUIT: Uuid = id(11);
const SUPPLY: Uuid = id(12);
const PART_TYPE: Uuid = id(13);

const fn id(n: u128) -> Uuid {
    Uuid::from_u128(0x0197_a3c2_0000_7000_8000_0000_0000_0000 + n)
}

/// The id that the examples give to the thing of a `noun`: the one below, or another that no
/// example mentions yet.
pub fn id_of(noun: &str) -> Uuid {
    match noun {
        "team" => TEAM,
        "person" => PERSON,
        "pack" => PACK,
        "set" => SET,
        "channel" => CHANNEL,
        "bottle" => BOTTLE,
        "bout" => BOUT,
        "charger" => CHARGER,
        "circuit" => CIRCUIT,
        "supply" => SUPPLY,
        "part" | "part_type" => PART_TYPE,
        "robot" | "any" => ROBOT,
        _ => id(0x0100),
    }
}

/// A line of a kind as somebody hands it in, new and without a fault.
pub fn line(kind: Kind) -> Value {
    let subject = match kind.subject() {
        "event" => "event".to_owned(),
        "any" => format!("robot:{ROBOT}"),
        noun => format!("{noun}:{}", id_of(noun)),
    };
    let mut line = json!({
        "id": line_id(kind), "kind": kind.name(), "at": "2027-01-15T14:20:05Z",
        "subject": subject, "body": body(kind),
    });
    if kind.about_a_state() {
        line["how"] = json!("did");
    }
    if kind == Kind::Void {
        line["corrects"] = json!(line_id(Kind::Damage));
    }
    // Every event is registered as it is created: this is a change to it.
    if kind == Kind::RegisterEvent {
        line["if_revision"] = json!(1);
    }
    line
}

fn line_id(kind: Kind) -> Uuid {
    let nth = Kind::ALL.iter().position(|other| *other == kind);
    Uuid::from_u128(0x0197_a3c2_7d1e_7c3a_9b1f_3f0a_5b1c_0000 + nth.map_or(0, |nth| nth as u128))
}

/// What a line of a kind says, for example.
pub fn body(kind: Kind) -> Value {
    match kind.family() {
        Family::Register => register(kind),
        Family::Fact | Family::Plan => fact(kind),
    }
}

fn register(kind: Kind) -> Value {
    match kind {
        Kind::RegisterEvent => json!({
            "name": "Autumn Meet", "hall": "Corn Exchange", "time_zone": "Europe/London",
            "first_day": "2027-01-15", "last_day": "2027-01-17",
            "settings": {"reach_limit_s": 60}, "emergency": ["First aid: by the arena gate"],
        }),
        Kind::RegisterTeam => json!({"name": "Copper Kettle"}),
        Kind::RegisterPerson => json!({"team": TEAM, "skills": ["electrics", "driver"]}),
        Kind::RegisterRobot => json!({
            "team": TEAM, "name": "Pewter Finch", "machine": "flipper_heavyweight", "bench": 14,
            "links": 2, "limit_g": 110_000,
        }),
        Kind::RegisterPack => json!({
            "team": TEAM, "label": "A1", "chemistry": "lipo", "cells": 6, "capacity_mah": 5000,
        }),
        Kind::RegisterSet => json!({"team": TEAM, "label": "A", "packs": [PACK]}),
        Kind::RegisterChannel => json!({
            "team": TEAM, "label": "left", "max_current_ma": 20_000, "max_power_w": 400,
        }),
        Kind::RegisterBottle => json!({
            "team": TEAM, "label": "B1", "gas": "co2", "volume_ml": 1340, "tare_g": 2950,
            "permitted_fill_g": 890,
        }),
        Kind::RegisterCharger => json!({
            "team": TEAM, "label": "green one", "input_limit_w": 800,
            "power_factor_corrected": true,
        }),
        Kind::RegisterCircuit => json!({
            "label": "bay A", "kind": "circuit", "rating_ma": 16_000, "continuous_percent": 80,
        }),
        Kind::RegisterSupply => json!({
            "label": "cylinder 1", "gas": "co2", "volume_ml": 50_000, "tare_g": 55_000,
            "contents_g": 34_000, "dip_tube": true, "heel_g": 500, "place": "gas bay",
        }),
        Kind::RegisterPartType => json!({
            "team": TEAM, "label": "wheel", "mass_g": 420, "price_minor": 3_450,
            "place": "box 2, top left", "spares": 3, "repairable_percent": 30, "repair_min": 25,
            "elsewhere": {"failures": 3, "unit_bouts": 40, "weight_percent": 50},
            "fits": [{"robot": ROBOT, "units": 4}],
            "prior": {"mean_per_1000_unit_bouts": 50, "worst_per_1000_unit_bouts": 120},
        }),
        Kind::RegisterBout => json!({
            "number": 1, "slots": [{"robot": ROBOT}, {"robot": OTHER_ROBOT}],
            "call_at": "2027-01-15T16:00:00Z",
        }),
        Kind::RegisterLibrary => json!({
            "machine": "flipper_heavyweight",
            "changes": {"fl-weigh": {
                "minutes": {"optimistic": 1.5, "likely": 2.0, "pessimistic": 4.0},
            }},
        }),
        _ => Value::Null,
    }
}

fn fact(kind: Kind) -> Value {
    match kind {
        Kind::Link => json!({"state": "out", "links": "all", "holder": "box", "light": "dark"}),
        Kind::Gas => json!({"valve": "shut", "system": "zero"}),
        Kind::WeaponBar => json!({"state": "on", "strapped": true}),
        Kind::Transmitter => json!({"state": "off", "with": PERSON, "boxed": true}),
        Kind::PowerLight => json!({"state": "dark"}),
        Kind::Stored => json!({"what": "spring", "state": "blocked"}),
        Kind::Trouble => json!({"what": "gauge", "bad": true}),
        Kind::Inside => json!({"people": 2, "watched": true}),
        Kind::Air => json!({"co2_ppm": 900}),
        Kind::Stand => json!({"clear": true, "place": "pit_bench"}),
        Kind::Looked => json!({
            "link": "out", "valve": "shut", "system": "zero", "weapon_bar": "on",
            "transmitter": "off", "power_light": "dark",
        }),
        Kind::Place => json!({"place": "pit_bench"}),
        Kind::Pack => json!({"set": SET, "place": "bench", "looks": "fine"}),
        Kind::Charge => json!({
            "set": SET, "channels": [CHANNEL], "state": "started", "watcher": PERSON,
            "expected_min": 35,
        }),
        Kind::Bottle => json!({"bottle": BOTTLE, "state": "weighed", "mass_g": 3620}),
        Kind::Part => json!({"part": "wheel", "where": "wheel_fl", "old": "mend"}),
        Kind::Station => json!({"station": "scale", "step": "asked"}),
        Kind::SupplyWeighed => json!({"mass_g": 78_400}),
        Kind::Stock => json!({"came": {"units": 2, "as": "new", "because": "bought at the stall"}}),
        Kind::Loan => json!({"open": 1}),
        Kind::Count => json!({"what": "links", "missing": 0, "holder": "box"}),
        Kind::Damage => json!({"area": "wheel_fl", "kind": "wheel_cut", "note": "two teeth gone"}),
        Kind::Check => json!({"what": "wiring", "found": "nothing loose"}),
        Kind::Task => json!({"task": "fla-weigh", "state": "started"}),
        Kind::Proof => json!({"what": "weight", "result": "within", "mass_g": 109_400}),
        Kind::Changed => json!({"change": "drive_part", "note": "new front left wheel"}),
        Kind::Duty => json!({"duty": "driver", "who": PERSON}),
        Kind::LinkPlan => json!({"saved": {
            "place": "left flank, behind the hatch", "links": 2, "holder": PERSON,
            "making_safe": ["Dump the gas", "Pull both links"], "reach_upright_s": 20,
        }}),
        Kind::Called => json!({"robot": ROBOT}),
        Kind::Answered => json!({"bout": BOUT, "answer": {"need": 10}}),
        Kind::Postponement => json!({
            "bout": BOUT, "said": "asked", "by_min": 10, "because": "a link is stuck",
        }),
        Kind::BoutStarted => json!({}),
        Kind::BoutEnded => json!({"winner": ROBOT, "ending": "decided"}),
        Kind::CallsMoved => {
            json!({"from_bout": BOUT, "by_min": 10, "because": "the floor is mended"})
        }
        Kind::AllowedHere => json!({"place": "test_area", "for_min": 10, "because": "drive test"}),
        Kind::Clearance => json!({"place": "arena", "said": "asked"}),
        Kind::Danger => json!({"what": "help", "note": "bench 14"}),
        Kind::EveryoneStop => json!({"stop": true}),
        Kind::Announced => json!({"text": "Drivers meet at the arena gate at nine"}),
        Kind::Photo => json!({"shows": "damage", "note": "front armour, left of the hinge"}),
        Kind::AnnouncementSeen => json!({"announcement": line_id(Kind::Announced)}),
        Kind::Hazard => json!({"rule": "H02", "said": "seen"}),
        Kind::Planned => json!({
            "after_seq": 41,
            "robots": [{"robot": ROBOT, "turnaround": 1, "likely": "2027-01-15T15:10:00Z"}],
            "tasks": [{
                "robot": ROBOT, "task": "fl-weigh", "start": "2027-01-15T15:00:00Z",
                "end": "2027-01-15T15:04:00Z", "people": [PERSON],
            }],
            "proven": true,
        }),
        Kind::Void => json!({"because": "entered for the wrong robot"}),
        _ => Value::Null,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::logbook::Draft;

    #[test]
    fn every_kind_has_an_example_without_a_fault() {
        for kind in Kind::ALL {
            assert!(
                !body(*kind).is_null(),
                "'{}' has no example: add one to src/pit/logbook/examples.rs",
                kind.name()
            );
            let read = Draft::read(&line(*kind), "");
            assert!(read.is_ok(), "'{}': {:?}", kind.name(), read.unwrap_err());
        }
    }
}
