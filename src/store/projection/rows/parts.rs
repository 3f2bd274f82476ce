//! Rows of types of part and the robots they fit.

use crate::pit::logbook::Line;
use crate::pit::logbook::register as body;
use crate::store::schema::{part_fits, part_histories, part_types};
use diesel::prelude::*;
use uuid::Uuid;

row!(PartTypeRow, part_types, (event_id, id) {
    event_id: Uuid,
    id: Uuid,
    revision: i64,
    team_id: Uuid,
    label: String,
    mass_g: Option<i32>,
    volume_ml: Option<i32>,
    price_minor: Option<i32>,
    place: Option<String>,
    spares: Option<i32>,
    repairable_percent: Option<i32>,
    repair_min: Option<i32>,
    prior_mean: Option<i32>,
    prior_worst: Option<i32>,
    retired: bool,
    repair: Option<String>,
});

impl PartTypeRow {
    pub fn of(line: &Line, id: Uuid, body: &body::PartType) -> Self {
        let prior = body.prior.as_ref();
        Self {
            event_id: line.event.0,
            id,
            revision: line.seq,
            team_id: body.team.0,
            label: body.label.to_string(),
            mass_g: body.mass_g.map(|mass| mass.get()),
            volume_ml: body.volume_ml.map(|volume| volume.get()),
            price_minor: body.price_minor.map(|price| price.get()),
            repair: body.repair.as_ref().map(ToString::to_string),
            place: body.place.as_ref().map(ToString::to_string),
            spares: body.spares.map(|spares| spares.get()),
            repairable_percent: body.repairable_percent.map(|share| share.get()),
            repair_min: body.repair_min.map(|minutes| minutes.get()),
            prior_mean: prior.map(|prior| prior.mean_per_1000_unit_bouts.get()),
            prior_worst: prior.map(|prior| prior.worst_per_1000_unit_bouts.get()),
            retired: body.retired,
        }
    }
}

row!(PartHistoryRow, part_histories, (event_id, part_type_id) {
    event_id: Uuid,
    part_type_id: Uuid,
    failures: i32,
    unit_bouts: i32,
    weight_percent: Option<i32>,
});

impl PartHistoryRow {
    pub fn all(line: &Line, part_type: Uuid, body: &body::PartType) -> Vec<Self> {
        body.elsewhere
            .iter()
            .map(|seen| Self {
                event_id: line.event.0,
                part_type_id: part_type,
                failures: seen.failures.get(),
                unit_bouts: seen.unit_bouts.get(),
                weight_percent: seen.weight_percent.map(|share| share.get()),
            })
            .collect()
    }
}

row!(PartFitRow, part_fits, (event_id, part_type_id, robot_id) {
    event_id: Uuid,
    part_type_id: Uuid,
    robot_id: Uuid,
    units: i32,
});

impl PartFitRow {
    pub fn all(line: &Line, part_type: Uuid, body: &body::PartType) -> Vec<Self> {
        body.fits
            .iter()
            .map(|fit| Self {
                event_id: line.event.0,
                part_type_id: part_type,
                robot_id: fit.robot.0,
                units: fit.units.get(),
            })
            .collect()
    }
}
