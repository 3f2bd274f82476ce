//! Rows of bottles and supply cylinders.

use super::word;
use crate::pit::logbook::Line;
use crate::pit::logbook::register as body;
use crate::store::schema::{bottle_stamps, bottles, supplies};
use chrono::NaiveDate;
use diesel::prelude::*;
use uuid::Uuid;

row!(BottleRow, bottles, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    gas: String,
    volume_ml: i32,
    tare_g: i32,
    permitted_fill_g: Option<i32>,
    tested_on: Option<NaiveDate>,
    test_pressure_mbar_gauge: Option<i32>,
    retired: bool,
});

impl BottleRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Bottle) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            gas: word(&body.gas),
            volume_ml: body.volume_ml.get(),
            tare_g: body.tare_g.get(),
            permitted_fill_g: body.permitted_fill_g.map(|fill| fill.get()),
            tested_on: body.tested_on,
            test_pressure_mbar_gauge: body.test_pressure_mbar_gauge.map(|p| p.get()),
            retired: body.retired,
        }
    }
}

row!(BottleStampRow, bottle_stamps, (event_id, bottle_id) {
    event_id: Uuid,
    bottle_id: Uuid,
    filling_ratio_g_per_l: Option<i32>,
    test_due: Option<NaiveDate>,
    service_pressure_mbar_gauge: Option<i32>,
    disc_pressure_mbar_gauge: Option<i32>,
    dip_tube: bool,
    wall: Option<String>,
    fittings_g: Option<i32>,
});

impl BottleStampRow {
    pub fn of(line: &Line, bottle: Uuid, body: &body::Bottle) -> Self {
        Self {
            event_id: line.event.0,
            bottle_id: bottle,
            filling_ratio_g_per_l: body.filling_ratio_g_per_l.map(|ratio| ratio.get()),
            test_due: body.test_due,
            service_pressure_mbar_gauge: body.service_pressure_mbar_gauge.map(|p| p.get()),
            disc_pressure_mbar_gauge: body.disc_pressure_mbar_gauge.map(|p| p.get()),
            dip_tube: body.dip_tube,
            wall: body.wall.as_ref().map(word),
            fittings_g: body.fittings_g.map(|mass| mass.get()),
        }
    }
}

row!(SupplyRow, supplies, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Option<Uuid>,
    label: String,
    gas: String,
    volume_ml: i32,
    tare_g: Option<i32>,
    contents_g: Option<i32>,
    pressure_mbar_gauge: Option<i32>,
    dip_tube: bool,
    heel_g: Option<i32>,
    tested_on: Option<NaiveDate>,
    place: Option<String>,
    retired: bool,
});

impl SupplyRow {
    pub fn of(line: &Line, id: Uuid, body: &body::Supply) -> Self {
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.map(|team| team.0),
            label: body.label.to_string(),
            gas: word(&body.gas),
            volume_ml: body.volume_ml.get(),
            tare_g: body.tare_g.map(|mass| mass.get()),
            contents_g: body.contents_g.map(|mass| mass.get()),
            pressure_mbar_gauge: body.pressure_mbar_gauge.map(|p| p.get()),
            dip_tube: body.dip_tube,
            heel_g: body.heel_g.map(|mass| mass.get()),
            tested_on: body.tested_on,
            place: body.place.as_ref().map(ToString::to_string),
            retired: body.retired,
        }
    }
}
