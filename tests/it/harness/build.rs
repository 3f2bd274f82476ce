//! Lines for tests, with ids and times that depend on nothing but a number.

use chrono::{DateTime, Utc};
use linkout::app::{Entry, Report};
use linkout::pit::ids::{EventId, LineId, PersonId, Subject};
use linkout::pit::logbook::{Author, Body, Draft, Kind, Role};
use serde_json::{Value, json};
use uuid::Uuid;

/// An event.
pub const EVENT: EventId = EventId(Uuid::from_u128(0xe));
/// A team.
pub const TEAM: Uuid = Uuid::from_u128(0x7);
/// A robot.
pub const ROBOT: Uuid = Uuid::from_u128(0x9);
/// Somebody of the team.
pub const ANA: PersonId = PersonId(Uuid::from_u128(0xa));

/// A moment on the day of the event.
pub fn moment(second: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_000_000 + second, 0).expect("a moment in this century")
}

/// The `n`th line anybody entered: of a kind, about a subject, saying `body`.
pub fn entry(n: u64, kind: &str, subject: &str, body: &Value) -> Entry {
    let kind = Kind::named(kind).expect("a kind of line");
    let at = moment(i64::try_from(n).expect("a small number"));
    Entry {
        draft: Draft {
            id: LineId(Uuid::from_u128(0x1_0000 + u128::from(n))),
            at,
            seen_by: None,
            subject: subject.parse().expect("a subject"),
            how: kind
                .about_a_state()
                .then_some(linkout::pit::logbook::How::Saw),
            corrects: None,
            if_revision: None,
            body: Body::read(kind, body, "").expect("a body of its kind"),
        },
        at,
        clock_doubtful: false,
        recorded_at: at,
        entered_by: Author {
            person: Some(ANA),
            role: Role::Crew,
        },
    }
}

/// The same line, based on a revision.
pub fn based_on(revision: i64, mut entry: Entry) -> Entry {
    entry.draft.if_revision = Some(revision);
    entry
}

/// A fact that needs nothing to be registered.
pub fn danger(n: u64) -> Entry {
    entry(n, "everyone_stop", "event", &json!({"stop": n % 2 == 1}))
}

/// A team.
pub fn team(n: u64, id: Uuid, name: &str) -> Entry {
    entry(
        n,
        "register_team",
        &format!("team:{id}"),
        &json!({"name": name}),
    )
}

/// A robot of [`TEAM`].
pub fn robot(n: u64, id: Uuid, name: &str) -> Entry {
    let body = json!({
        "team": TEAM, "name": name, "machine": "flipper_heavyweight", "links": 2, "bench": 14,
    });
    entry(n, "register_robot", &format!("robot:{id}"), &body)
}

/// The first lines of every event: itself.
pub fn founding() -> Report {
    let body = json!({
        "name": "Autumn Meet", "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-16",
    });
    vec![entry(0, "register_event", "event", &body)]
}

/// One of everything that can be registered, in one report.
pub fn one_of_everything(from: u64) -> Report {
    let id = |n: u128| Uuid::from_u128(0x100 + n);
    let person = |n| format!("person:{n}");
    let things: Vec<(&str, String, Value)> = vec![
        (
            "register_team",
            format!("team:{TEAM}"),
            json!({"name": "Copper Kettle"}),
        ),
        (
            "register_person",
            person(ANA.0),
            json!({"team": TEAM, "skills": ["driver"], "away": [
                {"from": "2027-01-15T12:00:00Z", "to": "2027-01-15T12:30:00Z"}]}),
        ),
        ("register_person", person(id(1)), json!({})),
        (
            "register_robot",
            format!("robot:{ROBOT}"),
            json!({"team": TEAM, "name": "Pewter Finch", "machine": "flipper_heavyweight",
                "bench": 14, "configuration": "low lid", "driver": ANA, "links": 2,
                "limit_g": 110_000,
                "configurations": [{"name": "low lid", "mass_g": 109_400}, {"name": "high lid"}],
                "electrics": {"parts": [{"name": "drive controller", "limit_mv": 60_000}],
                    "bout_charge_mah": 2_400, "peak_current_ma": 180_000},
                "gas_system": {"gas": "co2", "feed": "regulated",
                    "extend_pressure_mbar_gauge": 10_000, "need_pressure_mbar_gauge": 15_000,
                    "bore_um": 100_000, "stroke_um": 250_000, "rod_um": 25_000,
                    "dead_extend_ml": 200, "buffer_ml": 2_000, "shots_a_bout": 12}}),
        ),
        (
            "register_robot",
            format!("robot:{}", id(2)),
            json!({"team": TEAM, "name": "Slate Otter", "machine": "spinner_heavyweight", "links": 1}),
        ),
        (
            "register_pack",
            format!("pack:{}", id(3)),
            json!({"team": TEAM, "label": "A1", "chemistry": "lipo", "cells": 6, "capacity_mah": 5000,
                "parallel_cells": 2, "max_charge_ma": 10_000, "cell_resistance_uohm": 2_900,
                "cycles_before": 31, "code": "CK-A1"}),
        ),
        (
            "register_pack",
            format!("pack:{}", id(4)),
            json!({"team": TEAM, "label": "A2", "chemistry": "lfp", "cells": 8, "capacity_mah": 3300}),
        ),
        (
            "register_set",
            format!("set:{}", id(5)),
            json!({"team": TEAM, "label": "A", "packs": [id(4), id(3)], "robot": ROBOT,
                "strings": 1}),
        ),
        (
            "register_channel",
            format!("channel:{}", id(6)),
            json!({"team": TEAM, "label": "left", "max_current_ma": 20_000, "max_power_w": 400}),
        ),
        (
            "register_bottle",
            format!("bottle:{}", id(7)),
            json!({"team": TEAM, "label": "B1", "gas": "co2", "volume_ml": 1340, "tare_g": 2950,
                "permitted_fill_g": 900, "tested_on": "2025-04-01",
                "test_pressure_mbar_gauge": 250_000, "filling_ratio_g_per_l": 670,
                "test_due": "2035-04-01", "service_pressure_mbar_gauge": 124_000,
                "disc_pressure_mbar_gauge": 186_000, "dip_tube": true, "wall": "aluminium",
                "fittings_g": 120}),
        ),
        (
            "register_bout",
            format!("bout:{}", id(8)),
            json!({"number": 1, "slots": [{"robot": ROBOT}, {"robot": id(2)}],
                "call_at": "2027-01-15T10:00:00Z"}),
        ),
        (
            "register_bout",
            format!("bout:{}", id(9)),
            json!({"number": 2, "slots": [{"winner": id(8)}, {"loser": id(8)}],
                "call_at": "2027-01-15T11:00:00Z"}),
        ),
        (
            "register_library",
            format!("team:{TEAM}"),
            json!({"machine": "flipper_heavyweight", "changes": {"weigh": {"never": false,
                "minutes": {"optimistic": 1.5, "likely": 2.0, "pessimistic": 4.0}}}}),
        ),
        (
            "register_circuit",
            format!("circuit:{}", id(10)),
            json!({"label": "bay A", "kind": "circuit", "rating_ma": 16_000}),
        ),
        (
            "register_circuit",
            format!("circuit:{}", id(11)),
            json!({"team": TEAM, "label": "drum", "kind": "lead", "rating_ma": 13_000,
                "coiled_ma": 5_000, "coiled": true, "fed_by": id(10), "continuous_percent": 80,
                "other_load_w": 60}),
        ),
        (
            "register_charger",
            format!("charger:{}", id(12)),
            json!({"team": TEAM, "label": "green one", "circuit": id(11), "input_limit_w": 800,
                "efficiency_percent": 88, "power_factor_percent": 95,
                "power_factor_corrected": true}),
        ),
        (
            "register_channel",
            format!("channel:{}", id(13)),
            json!({"team": TEAM, "label": "green, left", "max_current_ma": 20_000,
                "max_power_w": 400, "charger": id(12), "most_cells": 8}),
        ),
        (
            "register_supply",
            format!("supply:{}", id(14)),
            json!({"label": "cylinder 1", "gas": "co2", "volume_ml": 50_000, "tare_g": 55_000,
                "contents_g": 34_000, "pressure_mbar_gauge": 57_000, "dip_tube": true,
                "heel_g": 500, "tested_on": "2024-05-01", "place": "gas bay"}),
        ),
        (
            "register_part_type",
            format!("part:{}", id(15)),
            json!({"team": TEAM, "label": "wheel", "mass_g": 420, "volume_ml": 900,
                "price_minor": 3_450, "place": "box 2", "spares": 3, "repairable_percent": 30,
                "repair_min": 25, "fits": [{"robot": ROBOT, "units": 4}],
                "prior": {"mean_per_1000_unit_bouts": 50, "worst_per_1000_unit_bouts": 120},
                "elsewhere": {"failures": 3, "unit_bouts": 40, "weight_percent": 30}}),
        ),
    ];
    (from..)
        .zip(things)
        .map(|(n, (kind, subject, body))| entry(n, kind, &subject, &body))
        .collect()
}

/// What a line is about, as a filter takes it.
pub fn subject(text: &str) -> Subject {
    text.parse().expect("a subject")
}
