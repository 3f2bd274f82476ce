//! Rows of packs, what they are charged with, and what feeds that.

use super::word;
use crate::pit::logbook::Line;
use crate::pit::logbook::register as body;
use crate::store::schema::{channels, chargers, circuits, packs, set_packs, sets};
use diesel::prelude::*;
use uuid::Uuid;

row!(PackRow, packs, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    chemistry: String,
    cells: i32,
    capacity_mah: i32,
    retired: bool,
    parallel_cells: i32,
    max_charge_ma: Option<i32>,
    cell_resistance_uohm: Option<i32>,
    cycles_before: Option<i32>,
    code: Option<String>,
});

impl PackRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Pack) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            chemistry: word(&body.chemistry),
            cells: body.cells.get(),
            capacity_mah: body.capacity_mah.get(),
            retired: body.retired,
            parallel_cells: body.parallel_cells.get(),
            max_charge_ma: body.max_charge_ma.map(|current| current.get()),
            cell_resistance_uohm: body.cell_resistance_uohm.map(|ohm| ohm.get()),
            cycles_before: body.cycles_before.map(|cycles| cycles.get()),
            code: body.code.as_ref().map(ToString::to_string),
        }
    }
}

row!(SetRow, sets, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    robot_id: Option<Uuid>,
    retired: bool,
    strings: Option<i32>,
});

impl SetRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Set) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            robot_id: body.robot.map(|robot| robot.0),
            retired: body.retired,
            strings: body.strings.map(|strings| strings.get()),
        }
    }
}

row!(SetPackRow, set_packs, (event_id, set_id, pack_id) {
    event_id: Uuid,
    set_id: Uuid,
    pack_id: Uuid,
    place: i32,
});

impl SetPackRow {
    pub fn all(line: &Line, set: Uuid, body: &body::Set) -> Vec<Self> {
        (0..)
            .zip(&body.packs)
            .map(|(place, pack)| Self {
                event_id: line.event.0,
                set_id: set,
                pack_id: pack.0,
                place,
            })
            .collect()
    }
}

row!(ChannelRow, channels, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    max_current_ma: i32,
    max_power_w: i32,
    retired: bool,
    charger_id: Option<Uuid>,
    most_cells: Option<i32>,
});

impl ChannelRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Channel) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            max_current_ma: body.max_current_ma.get(),
            max_power_w: body.max_power_w.get(),
            retired: body.retired,
            charger_id: body.charger.map(|charger| charger.0),
            most_cells: body.most_cells.map(|cells| cells.get()),
        }
    }
}

row!(ChargerRow, chargers, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    circuit_id: Option<Uuid>,
    input_limit_w: Option<i32>,
    efficiency_percent: Option<i32>,
    power_factor_percent: Option<i32>,
    power_factor_corrected: bool,
    retired: bool,
});

impl ChargerRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Charger) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            circuit_id: body.circuit.map(|circuit| circuit.0),
            input_limit_w: body.input_limit_w.map(|limit| limit.get()),
            efficiency_percent: body.efficiency_percent.map(|share| share.get()),
            power_factor_percent: body.power_factor_percent.map(|share| share.get()),
            power_factor_corrected: body.power_factor_corrected,
            retired: body.retired,
        }
    }
}

row!(CircuitRow, circuits, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Option<Uuid>,
    label: String,
    kind: String,
    mains_mv: i32,
    rating_ma: Option<i32>,
    coiled_ma: Option<i32>,
    coiled: bool,
    rating_va: Option<i32>,
    continuous_percent: Option<i32>,
    fed_by_id: Option<Uuid>,
    other_load_w: Option<i32>,
    retired: bool,
});

impl CircuitRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Circuit) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.map(|team| team.0),
            label: body.label.to_string(),
            kind: word(&body.kind),
            mains_mv: body.mains_mv.get(),
            rating_ma: body.rating_ma.map(|rating| rating.get()),
            coiled_ma: body.coiled_ma.map(|rating| rating.get()),
            coiled: body.coiled,
            rating_va: body.rating_va.map(|rating| rating.get()),
            continuous_percent: body.continuous_percent.map(|share| share.get()),
            fed_by_id: body.fed_by.map(|circuit| circuit.0),
            other_load_w: body.other_load_w.map(|load| load.get()),
            retired: body.retired,
        }
    }
}
