//! Readings of a regulator: set, read, and whether it drifts.

use super::leak::with_gas;
use crate::app::App;
use crate::http::Problem;
use crate::http::pages::bench::routes::Of;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{self, Text, Typed},
    frame::{self, Frame, Tag},
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::stations::gas_bay;
use crate::http::signed::Here;
use crate::pit::gas::{RegulatorReading, regulator_readings};
use crate::pit::ids::Subject;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde_json::json;

/// Readings shown.
const SHOWN: usize = 8;

/// The page of a robot's regulator.
#[derive(Debug)]
pub struct RegulatorPage {
    /// The robot.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// What it was set to last, or is registered with.
    pub set: String,
    /// The most the event allows behind a regulator.
    pub limit: Option<String>,
    /// When and who, what was read, what that says; newest first.
    pub readings: Vec<(String, String, String)>,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &RegulatorPage) -> Markup {
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            (fields::post(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    section.panel { h2 { "Behind the regulator" span.meta { "at rest" } }
                        div.numbers {
                            (Text { kind: "number", unit: "bar", value: &view.set, required: true, ..Text::new("set", "Set to") }.show(&view.typed))
                            (Text { kind: "number", unit: "bar", required: true, ..Text::new("read", "Gauge shows") }.show(&view.typed))
                        }
                        @if let Some(limit) = &view.limit { p.meta { (limit) } }
                    }
                    @if !view.readings.is_empty() { section.panel data-part="readings" { h2 { "Before" }
                        ul.rows { @for (when, read, says) in &view.readings { li {
                            div { b { (read) } br; span.meta { (when) } }
                            span.gain { span.meta { (says) } }
                        } } }
                    } }
                    p.meta { "Read it at rest with the bottle open, in bar above the air. A gauge that shows pressure is gas in the machine: this enters the system as live." }
                    (gas_bay::caution())
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid { "Enter it" } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

/// What a reading says.
pub fn says(reading: &RegulatorReading) -> String {
    let off = if reading.off_bar.abs() < 0.05 {
        "as set".to_owned()
    } else {
        let side = if reading.off_bar > 0.0 {
            "above"
        } else {
            "below"
        };
        format!("{:.1} bar {side} what is set", reading.off_bar.abs())
    };
    match (reading.above_limit, reading.drifts) {
        (Some(true), _) => format!("{off}, above the event’s limit"),
        (_, true) => format!("{off}: it drifts"),
        (_, false) => off,
    }
}

fn view(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> RegulatorPage {
    let readings = regulator_readings(&reader.pit, now.id);
    let registered = now
        .file
        .register
        .body
        .gas_system
        .as_ref()
        .and_then(|system| system.extend_pressure_mbar_gauge)
        .map(|set| f64::from(set.get()) / 1000.0);
    let set = readings
        .first()
        .map(|reading| reading.set_bar_gauge)
        .or(registered);
    RegulatorPage {
        tag: Tag {
            name: now.file.register.body.name.to_string(),
            sub: "regulated pressure".to_owned(),
            bench: now.file.register.body.bench.map(|bench| bench.get()),
            href: None,
        },
        back: reader.bench(now.id),
        action: format!("{}/regulator", reader.bench(now.id)),
        set: set.map_or_else(String::new, |bar| format!("{bar:.1}")),
        limit: reader.pit.settings().gas_limit_mbar_gauge.map(|most| {
            format!(
                "At most {:.1} bar at this event.",
                f64::from(most.get()) / 1000.0
            )
        }),
        readings: readings
            .iter()
            .take(SHOWN)
            .map(|reading| {
                (
                    format!(
                        "{}, {}",
                        reader.clock.hm(reading.at),
                        reader.name(reading.seen_by)
                    ),
                    format!(
                        "{:.1} bar, set {:.1}",
                        reading.read_bar_gauge, reading.set_bar_gauge
                    ),
                    says(reading),
                )
            })
            .collect(),
        typed,
    }
}

/// `GET .../robots/{robot}/regulator`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = with_gas(&reader, &of)?;
    let view = view(&reader, &now, Typed::default());
    Ok(form::page(page(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `POST .../robots/{robot}/regulator`.
pub async fn read(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = with_gas(&reader, &of)?;
    let mut typed = fields.typed();
    let mut mbar = |name: &str| {
        let bar = fields
            .decimal(name)
            .filter(|bar| (0.0..=1000.0).contains(bar));
        if bar.is_none() {
            let fault = "Bar above the air, from 0 to 1000, such as 10.2.".to_owned();
            typed.faults.insert(name.to_owned(), fault);
        }
        bar.map(|bar| (bar * 1000.0).round())
    };
    let regulated = json!({"set_mbar_gauge": mbar("set"), "read_mbar_gauge": mbar("read")});
    let again = |typed| {
        refused(page(
            &reader.frame(Place::Bench(of.robot)),
            &view(&reader, &now, typed),
        ))
    };
    if !typed.is_sound() {
        return Ok(again(typed));
    }
    let body = json!({"regulated": regulated});
    let subject = Subject::Robot(of.robot);
    match record_line(&here, &fields, subject, Kind::Gas, Some(How::Saw), &body).await {
        Ok(()) => Ok(see(reader.bench(of.robot))),
        Err(error) => Ok(again(refusal(&fields, error)?)),
    }
}

/// With readings, one of them drifting, and a field that is wrong.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    let mut typed = Typed::default();
    typed.values.insert("read".into(), "<ten>".into());
    typed
        .faults
        .insert("read".into(), "Bar above the air, from 0 to 1000.".into());
    let view = RegulatorPage {
        tag: Tag {
            name: "Pewter <Finch>".into(),
            sub: "regulated pressure".into(),
            bench: Some(14),
            href: None,
        },
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/regulator".into(),
        set: "10.0".into(),
        limit: Some("At most 69.0 bar at this event.".into()),
        readings: vec![(
            "14:02, Ana <A>".into(),
            "11.0 bar, set 10.0".into(),
            "1.0 bar above what is set: it drifts".into(),
        )],
        typed,
    };
    vec![(
        "regulator",
        page(&crate::http::pages::samples::frame(), &view),
    )]
}
