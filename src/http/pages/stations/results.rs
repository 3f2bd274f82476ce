//! The lines of a result, as a station's form has them.

use crate::app::AppError;
use crate::http::pages::form::Fields;
use crate::http::signed::Here;
use crate::pit::ids::{BottleId, RobotId, SetId, Subject};
use crate::pit::logbook::station::Station;
use crate::pit::logbook::{Draft, How, Kind};
use crate::pit::weight;
use serde_json::{Value, json};

/// What a form says: the kind of a line, did or saw, and its body.
pub type Said = (Kind, Option<How>, Value);

/// A field of the form that is missing or wrong, and what is wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wrong {
    /// Which.
    pub field: &'static str,
    /// A sentence.
    pub detail: &'static str,
}

/// What a station's form says of `robot`.
///
/// # Errors
/// The field that is wrong.
pub fn said(
    here: &Here,
    station: Station,
    robot: RobotId,
    fields: &Fields,
) -> Result<Vec<Said>, Wrong> {
    match station {
        Station::GasBay => bottle(fields),
        Station::Scale => weighed(here, robot, fields),
        Station::Inspection => inspection(fields),
        Station::ChargingTable => charge(fields),
        Station::ArenaGate => gate(here, robot, fields),
        Station::TestArea => tests(here, robot, fields),
    }
}

/// The lines of what was said.
///
/// # Errors
/// As [`Fields::line`].
pub fn lines(
    here: &Here,
    robot: RobotId,
    fields: &Fields,
    said: Vec<Said>,
) -> Result<Vec<Draft>, AppError> {
    (0..)
        .zip(said)
        .map(|(n, (kind, how, body))| fields.line(here, n, Subject::Robot(robot), kind, how, &body))
        .collect()
}

fn wrong<T>(field: &'static str, detail: &'static str) -> Result<T, Wrong> {
    Err(Wrong { field, detail })
}

fn bottle(fields: &Fields) -> Result<Vec<Said>, Wrong> {
    let Some(bottle) = fields.id::<BottleId>("bottle") else {
        return wrong("bottle", "Which bottle?");
    };
    let Some(grams) = fields.decimal("mass").map(f64::round) else {
        return wrong("mass", "Grams, such as 7420.");
    };
    let did = fields.filled("did").unwrap_or("filled");
    let (how, state) = if did == "filled" {
        (How::Did, "filled")
    } else {
        (How::Saw, "weighed")
    };
    let mut body = json!({"bottle": bottle, "state": state, "mass_g": grams});
    if let Some(shots) = fields.filled("shots") {
        let Some(shots) = shots.parse::<u16>().ok() else {
            return wrong("shots", "A whole number, such as 9, or nothing.");
        };
        body["shots"] = json!(shots);
    }
    if let Some(supply) = fields.filled("supply").filter(|_| state == "filled") {
        body["supply"] = json!(supply);
    }
    let mut said = vec![(Kind::Bottle, Some(how), body)];
    // A fill ends the visit by itself; a bottle that was only weighed goes home all the same.
    if did == "weighed" {
        said.push(step(Station::GasBay, "served"));
    }
    Ok(said)
}

fn step(station: Station, step: &str) -> Said {
    (
        Kind::Station,
        None,
        json!({"station": station.as_str(), "step": step}),
    )
}

fn weighed(here: &Here, robot: RobotId, fields: &Fields) -> Result<Vec<Said>, Wrong> {
    let Some(kilograms) = fields
        .decimal("mass")
        .filter(|kg| (0.0..=500.0).contains(kg))
    else {
        return wrong("mass", "Kilograms from 0 to 500, such as 109.4.");
    };
    let grams = (kilograms * 1000.0).round();
    let Some(file) = here.pit.robot(robot) else {
        return wrong("robot", "Which robot?");
    };
    let limit = weight::limit(&file.register.body, here.pit.settings());
    let within = grams <= f64::from(limit.get());
    let result = if within { "within" } else { "fail" };
    Ok(vec![(
        Kind::Proof,
        Some(How::Saw),
        json!({"what": "weight", "result": result, "mass_g": grams}),
    )])
}

fn inspection(fields: &Fields) -> Result<Vec<Said>, Wrong> {
    let mut body = json!({"what": "inspection", "result": "pass"});
    if fields.get("result") == Some("fail") {
        let mut failed: Vec<&str> = fields.all("failed").collect();
        failed.extend(fields.filled("note"));
        if failed.is_empty() {
            return wrong("failed", "What has to be put right?");
        }
        body["result"] = json!("fail");
        body["note"] = json!(failed.join("; "));
    }
    Ok(vec![(Kind::Proof, Some(How::Saw), body)])
}

fn charge(fields: &Fields) -> Result<Vec<Said>, Wrong> {
    let Some(set) = fields.id::<SetId>("set") else {
        return wrong("set", "Which set?");
    };
    let Some(state @ ("started" | "ended")) = fields.filled("state") else {
        return wrong("state", "On charge, or off?");
    };
    Ok(vec![(
        Kind::Charge,
        Some(How::Saw),
        json!({"set": set, "state": state}),
    )])
}

/// The link seen out, in the hand of whoever had it last.
fn link_out(here: &Here, robot: RobotId) -> Said {
    let mut body = json!({"state": "out", "links": "all"});
    let holder = here
        .pit
        .robot(robot)
        .and_then(|file| file.state.holder.as_ref())
        .map(|holder| holder.value);
    if let Some(holder) = holder {
        body["holder"] = json!(holder);
    }
    (Kind::Link, Some(How::Saw), body)
}

fn gate(here: &Here, robot: RobotId, fields: &Fields) -> Result<Vec<Said>, Wrong> {
    match fields.filled("did") {
        Some("links_out") => Ok(vec![link_out(here, robot)]),
        Some("armed") => Ok(vec![
            (Kind::Link, Some(How::Saw), json!({"state": "in"})),
            (Kind::Place, Some(How::Saw), json!({"place": "arena"})),
        ]),
        _ => wrong("did", "What was seen?"),
    }
}

fn tests(here: &Here, robot: RobotId, fields: &Fields) -> Result<Vec<Said>, Wrong> {
    if fields.filled("did") == Some("links_out") {
        return Ok(vec![
            link_out(here, robot),
            step(Station::TestArea, "served"),
        ]);
    }
    let said: Vec<Said> = ["failsafe", "leak", "weapon"]
        .into_iter()
        .filter_map(|what| {
            let result = fields.filled(what)?;
            Some((
                Kind::Proof,
                Some(How::Saw),
                json!({"what": what, "result": result}),
            ))
        })
        .collect();
    if said.is_empty() {
        return wrong("tests", "Say what was tested and how it came out.");
    }
    Ok(said)
}
