//! The box as a table: written for a spreadsheet, read back all or nothing.

use super::{BoxDay, parts_of};
use crate::calc::fault::Fault;
use crate::pit::csv::{self, Cell};
use crate::pit::ids::{PartTypeId, RobotId, TeamId};
use crate::pit::logbook::register::PartType;
use crate::pit::logbook::{Body, Kind};
use crate::pit::state::Pit;
use serde_json::{Map, Value, json};

/// Columns that are read; those after them are only written.
const READ: [&str; 15] = [
    "label",
    "spares",
    "mass_g",
    "volume_ml",
    "price_minor",
    "place",
    "repair",
    "repairable_percent",
    "repair_min",
    "mean_per_1000_unit_bouts",
    "worst_per_1000_unit_bouts",
    "elsewhere_failures",
    "elsewhere_unit_bouts",
    "elsewhere_weight_percent",
    "fits",
];
const WRITTEN: [&str; 5] = [
    "ready",
    "wanted_now",
    "enough_probability",
    "failures_here",
    "unit_bouts_here",
];

/// A part type as a row has it, and the one of this label that exists.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// The part type it changes; none for a new one.
    pub known: Option<PartTypeId>,
    /// The part type.
    pub part: PartType,
}

/// The box as comma-separated values.
pub fn write(pit: &Pit, day: &BoxDay) -> String {
    let head: Vec<&str> = READ.into_iter().chain(WRITTEN).collect();
    let mut rows: Vec<Vec<Cell>> = day
        .parts
        .iter()
        .map(|one| {
            let part = &one.part;
            let prior = part.prior.as_ref();
            let text = |text: Option<String>| text.map_or(Cell::Empty, Cell::Text);
            let fits: Vec<String> = part
                .fits
                .iter()
                .filter_map(|fit| {
                    let robot = pit.robot(fit.robot)?;
                    Some(format!("{} {}", robot.register.body.name, fit.units.get()))
                })
                .collect();
            vec![
                Cell::text(part.label.to_string()),
                Cell::value(part.spares.map(|n| n.get())),
                Cell::value(part.mass_g.map(|n| n.get())),
                Cell::value(part.volume_ml.map(|n| n.get())),
                Cell::value(part.price_minor.map(|n| n.get())),
                text(part.place.as_ref().map(ToString::to_string)),
                text(part.repair.as_ref().map(ToString::to_string)),
                Cell::value(part.repairable_percent.map(|n| n.get())),
                Cell::value(part.repair_min.map(|n| n.get())),
                Cell::value(prior.map(|prior| prior.mean_per_1000_unit_bouts.get())),
                Cell::value(prior.map(|prior| prior.worst_per_1000_unit_bouts.get())),
                Cell::value(part.elsewhere.map(|seen| seen.failures.get())),
                Cell::value(part.elsewhere.map(|seen| seen.unit_bouts.get())),
                Cell::value(
                    part.elsewhere
                        .and_then(|seen| seen.weight_percent)
                        .map(|share| share.get()),
                ),
                Cell::text(fits.join(" / ")),
                Cell::value(Some(one.shelf.ready())),
                Cell::value(Some(one.pending)),
                Cell::value(day.enough(one).map(|chance| format!("{chance:.4}"))),
                Cell::value(Some(one.shelf.failed())),
                Cell::value(Some(format!("{:.0}", one.unit_bouts))),
            ]
        })
        .collect();
    rows.sort_by_key(|row| match row.first() {
        Some(Cell::Text(label)) => label.to_lowercase(),
        _ => String::new(),
    });
    csv::write(&head, &rows)
}

/// Reads a table of part types: the first row names the columns, `label` is needed, a row whose
/// label exists changes that type, and what a column does not say stays as it was.
///
/// # Errors
/// Every fault, each naming its line.
pub fn read(pit: &Pit, team: TeamId, text: &str) -> Result<Vec<Read>, Vec<Fault>> {
    let rows = csv::read(text).map_err(|fault| vec![fault])?;
    let Some((head, rows)) = rows.split_first() else {
        return Err(vec![Fault::new("", "There is no table.")]);
    };
    let mut faults: Vec<Fault> = head
        .cells
        .iter()
        .filter(|name| !READ.contains(&name.as_str()) && !WRITTEN.contains(&name.as_str()))
        .map(|name| {
            let nearest = READ
                .into_iter()
                .max_by(|a, b| {
                    strsim::jaro_winkler(a, name).total_cmp(&strsim::jaro_winkler(b, name))
                })
                .unwrap_or_default();
            let name: String = name.chars().take(40).collect();
            Fault::new(
                "",
                format!("There is no column '{name}'; the nearest is '{nearest}'."),
            )
        })
        .collect();
    if !head.cells.iter().any(|name| name == "label") {
        faults.push(Fault::new(
            "",
            "The first row has to name a column 'label'.",
        ));
    }
    if rows.is_empty() {
        faults.push(Fault::new("", "There is no row below the names."));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut parts: Vec<Read> = Vec::new();
    for row in rows {
        match part(pit, team, &head.cells, &row.cells) {
            Ok(read) => {
                let again = |other: &Read| {
                    other.part.label.as_str().to_lowercase()
                        == read.part.label.as_str().to_lowercase()
                };
                if parts.iter().any(again) {
                    faults.push(Fault::new(
                        "",
                        format!(
                            "Line {}: '{}' stands there twice.",
                            row.line, read.part.label
                        ),
                    ));
                }
                parts.push(read);
            }
            Err(found) => faults.extend(found.into_iter().map(|fault| {
                let column = fault.pointer.rsplit('/').next().unwrap_or_default();
                Fault::new("", format!("Line {}, {column}: {}", row.line, fault.detail))
            })),
        }
    }
    if faults.is_empty() {
        Ok(parts)
    } else {
        Err(faults)
    }
}

fn part(pit: &Pit, team: TeamId, head: &[String], cells: &[String]) -> Result<Read, Vec<Fault>> {
    let cell = |column: &str| {
        let place = head.iter().position(|name| name == column)?;
        Some(cells.get(place).map_or("", String::as_str))
    };
    let label = cell("label").unwrap_or_default();
    let known = parts_of(pit, team)
        .find(|(_, part)| part.label.as_str().to_lowercase() == label.to_lowercase())
        .map(|(id, part)| (id, Body::RegisterPartType(part.clone()).to_value()));
    let (known, before) = known.map_or((None, None), |(id, body)| (Some(id), Some(body)));
    let mut body = match before {
        Some(Value::Object(body)) => body,
        _ => Map::new(),
    };
    let mut faults = Vec::new();
    body.insert("team".into(), json!(team));
    for column in READ {
        let Some(text) = cell(column) else { continue };
        let (into, name) = match column {
            "mean_per_1000_unit_bouts" | "worst_per_1000_unit_bouts" => {
                let Some(prior) = within(&mut body, "prior") else {
                    continue;
                };
                (prior, column)
            }
            "elsewhere_failures" | "elsewhere_unit_bouts" | "elsewhere_weight_percent" => {
                let Some(seen) = within(&mut body, "elsewhere") else {
                    continue;
                };
                (seen, column.trim_start_matches("elsewhere_"))
            }
            _ => (&mut body, column),
        };
        if text.is_empty() {
            into.remove(name);
            continue;
        }
        let value = match column {
            "label" | "place" | "repair" => json!(text),
            "fits" => match fits(pit, team, text) {
                Ok(fits) => fits,
                Err(detail) => {
                    faults.push(Fault::new("/fits", detail));
                    continue;
                }
            },
            _ => match text.parse::<i64>() {
                Ok(number) => json!(number),
                Err(_) => {
                    faults.push(Fault::new(format!("/{column}"), "A whole number."));
                    continue;
                }
            },
        };
        into.insert(name.to_owned(), value);
    }
    for name in ["prior", "elsewhere"] {
        let empty = body.get(name).and_then(Value::as_object);
        if empty.is_some_and(Map::is_empty) {
            body.remove(name);
        }
    }
    match Body::read(Kind::RegisterPartType, &Value::Object(body), "") {
        Ok(Body::RegisterPartType(part)) if faults.is_empty() => Ok(Read { known, part }),
        Ok(_) => Err(faults),
        Err(more) => Err(faults.into_iter().chain(more).collect()),
    }
}

/// The object `name` of a body, made where there is none.
fn within<'a>(body: &'a mut Map<String, Value>, name: &str) -> Option<&'a mut Map<String, Value>> {
    body.entry(name)
        .or_insert_with(|| json!({}))
        .as_object_mut()
}

/// "Pewter Finch 4 / Brass Heron 2".
fn fits(pit: &Pit, team: TeamId, text: &str) -> Result<Value, String> {
    let robot = |name: &str| -> Option<RobotId> {
        pit.robots_of(team)
            .find(|(_, file)| {
                file.register.body.name.as_str().to_lowercase() == name.to_lowercase()
            })
            .map(|(id, _)| id)
    };
    text.split('/')
        .map(|fit| {
            let fit = fit.trim();
            let (name, units) = fit
                .rsplit_once(' ')
                .and_then(|(name, units)| Some((name.trim(), units.parse::<u32>().ok()?)))
                .ok_or_else(|| format!("'{fit}' is not a robot and a number."))?;
            let robot = robot(name).ok_or_else(|| format!("The team has no robot '{name}'."))?;
            Ok(json!({"robot": robot, "units": units}))
        })
        .collect()
}
