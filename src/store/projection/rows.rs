//! The rows of the tables, made from the bodies of register lines.

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde::Serialize;
use serde_json::Value;
use uuid::Uuid;

use crate::pit::logbook::Line;
use crate::pit::logbook::register as body;
use crate::store::schema::{bouts, event_details, libraries, people, robots, teams};

/// The published word for a choice or value, which is also the stored one.
fn json<T: Serialize>(value: &T) -> Value {
    serde_json::to_value(value).unwrap_or(Value::Null)
}

fn word<T: Serialize>(value: &T) -> String {
    json(value).as_str().unwrap_or_default().to_owned()
}

macro_rules! row {
    ($name:ident, $table:ident, ($($key:ident),+) { $($field:ident: $type:ty,)+ }) => {
        #[derive(Insertable, AsChangeset)]
        #[diesel(table_name = $table, primary_key($($key),+), treat_none_as_null = true)]
        pub(in crate::store::projection) struct $name { $($field: $type,)+ }
    };
}

mod gas;
mod parts;
mod power;

pub(super) use gas::{BottleRow, BottleStampRow, SupplyRow};
pub(super) use parts::{PartFitRow, PartHistoryRow, PartTypeRow};
pub(super) use power::{ChannelRow, ChargerRow, CircuitRow, PackRow, SetPackRow, SetRow};

row!(EventRow, event_details, (event_id) {
    event_id: Uuid,
    revision: i64,
    name: String,
    hall: Option<String>,
    time_zone: String,
    first_day: NaiveDate,
    last_day: NaiveDate,
    settings: Value,
    emergency: Value,
    currency: Option<String>,
});

impl EventRow {
    pub fn of(line: &Line, body: &body::Event) -> Self {
        Self {
            event_id: line.event.0,
            revision: line.seq,
            name: body.name.to_string(),
            hall: body.hall.as_ref().map(ToString::to_string),
            time_zone: body.time_zone.clone(),
            first_day: body.first_day,
            last_day: body.last_day,
            settings: json(&body.settings),
            emergency: json(&body.emergency),
            currency: body
                .currency
                .as_ref()
                .map(|letters| letters.as_str().to_owned()),
        }
    }
}

row!(TeamRow, teams, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    name: String,
    retired: bool,
});

impl TeamRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Team) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            name: body.name.to_string(),
            retired: body.retired,
        }
    }
}

row!(PersonRow, people, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Option<Uuid>,
    skills: Value,
    away: Value,
    retired: bool,
});

impl PersonRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Person) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.map(|team| team.0),
            skills: json(&body.skills),
            away: json(&body.away),
            retired: body.retired,
        }
    }
}

row!(RobotRow, robots, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    name: String,
    machine: &'static str,
    bench: Option<i32>,
    configuration: Option<String>,
    driver_id: Option<Uuid>,
    links: i32,
    limit_g: Option<i32>,
    retired: bool,
    configurations: Value,
    electrics: Option<Value>,
    gas_system: Option<Value>,
    sources: Value,
});

impl RobotRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Robot) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            name: body.name.to_string(),
            machine: body.machine.as_str(),
            bench: body.bench.map(|bench| bench.get()),
            configuration: body.configuration.as_ref().map(ToString::to_string),
            driver_id: body.driver.map(|driver| driver.0),
            links: body.links.get(),
            limit_g: body.limit_g.map(|limit| limit.get()),
            retired: body.retired,
            configurations: json(&body.configurations),
            electrics: body.electrics.as_ref().map(json),
            gas_system: body.gas_system.as_ref().map(json),
            sources: serde_json::json!({
                "transmitters": body.transmitters,
                "stores_energy": body.stores_energy,
                "isolator": body.isolator,
            }),
        }
    }
}

row!(BoutRow, bouts, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    number: i32,
    first_robot_id: Option<Uuid>,
    first_winner_of: Option<Uuid>,
    first_loser_of: Option<Uuid>,
    second_robot_id: Option<Uuid>,
    second_winner_of: Option<Uuid>,
    second_loser_of: Option<Uuid>,
    call_at: DateTime<Utc>,
    retired: bool,
    fixed: bool,
    moved_from: Option<DateTime<Utc>>,
});

impl BoutRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Bout) -> Self {
        let corner = |slot: &body::Slot| match slot {
            body::Slot::Robot(robot) => (Some(robot.0), None, None),
            body::Slot::Winner(bout) => (None, Some(bout.0), None),
            body::Slot::Loser(bout) => (None, None, Some(bout.0)),
        };
        let [first, second] = &body.slots;
        let (first_robot_id, first_winner_of, first_loser_of) = corner(first);
        let (second_robot_id, second_winner_of, second_loser_of) = corner(second);
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            number: body.number.get(),
            first_robot_id,
            first_winner_of,
            first_loser_of,
            second_robot_id,
            second_winner_of,
            second_loser_of,
            call_at: body.call_at,
            retired: body.retired,
            fixed: body.fixed,
            moved_from: body.moved_from,
        }
    }
}

row!(LibraryRow, libraries, (event_id, team_id, machine) {
    event_id: Uuid,
    team_id: Uuid,
    machine: &'static str,
    revision: i64,
    changes: Value,
});

impl LibraryRow {
    pub fn of(line: &Line, team: Uuid, body: &body::Library) -> Self {
        Self {
            event_id: line.event.0,
            team_id: team,
            machine: body.machine.as_str(),
            revision: line.seq,
            changes: json(&body.changes),
        }
    }
}
