//! A leak test: two readings of gauge and thermometer, and what they show.

use crate::app::{App, AppError};
use crate::calc::gas::{GasLeakInput, GasLeakOutput, GasLeakVerdict, gas_leak};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, to_look_at};
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{self, Text, Typed},
    frame::{self, Frame, Tag},
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::stations::gas_bay;
use crate::http::signed::Here;
use crate::pit::gas::system_volume_l;
use crate::pit::ids::Subject;
use crate::pit::logbook::register::GasOf;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use maud::{Markup, html};
use serde_json::json;

/// The page of a leak test.
#[derive(Debug)]
pub struct LeakPage {
    /// The robot.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Name, label, unit, value before anybody types.
    pub numbers: Vec<(&'static str, &'static str, &'static str, String)>,
    /// What the readings show, once they were worked out.
    pub shown: Option<Shown>,
    /// What came back.
    pub typed: Typed,
}

/// What the readings show.
#[derive(Debug)]
pub struct Shown {
    /// In a few words.
    pub verdict: &'static str,
    /// With numbers.
    pub basis: Vec<(&'static str, String)>,
}

/// The page.
pub fn page(frame: &Frame, view: &LeakPage) -> Markup {
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            (fields::post_now(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    @if let Some(shown) = &view.shown { section.panel data-part="shown" role="status" { h2 { (shown.verdict) }
                        dl.facts { @for (name, value) in &shown.basis { dt { (name) } dd { (value) } } }
                    } }
                    section.panel { h2 { "Two readings" span.meta { "bottle shut, nothing fired" } }
                        div.numbers { @for (name, label, unit, value) in &view.numbers {
                            (Text { kind: "number", unit, value, required: true, ..Text::new(name, label) }.show(&view.typed))
                        } }
                        p.meta { "Gauges in bar above the air. The volume is what stands under pressure behind the bottle: buffer, hoses, valves. The degrees are the gas’s own, to a tenth if you can; a gauge is off by half of its smallest mark." }
                    }
                    p.meta { "Hands stay out while there is pressure: read gauge and thermometer from outside, soap on a brush. A hose that hisses needs no numbers." }
                    (gas_bay::caution())
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid name="result" value="" { "Work it out" }
                    @if view.shown.is_some() { div.row { button.btn.grow name="result" value="pass" { "Enter: passed" } button.btn.grow name="result" value="fail" { "Enter: failed" } } }
                    div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

/// Name of the calculator's field, label, unit, value before anybody types.
const READINGS: [(&str, &str, &str, &str); 8] = [
    ("volume_l", "Volume", "l", ""),
    ("minutes", "Time between", "min", "10"),
    ("first_pressure_bar_gauge", "First gauge", "bar", ""),
    ("first_temperature_degc", "First gas", "°C", ""),
    ("second_pressure_bar_gauge", "Second gauge", "bar", ""),
    ("second_temperature_degc", "Second gas", "°C", ""),
    ("gauge_uncertainty_bar", "Gauge off by", "bar", "0.05"),
    ("temperature_uncertainty_k", "Degrees off by", "K", "0.5"),
];

fn view(reader: &Reader, now: &RobotNow<'_>, shown: Option<Shown>, typed: Typed) -> LeakPage {
    let system = now.file.register.body.gas_system.as_ref();
    let hall = reader.pit.settings().hall_c.get().to_string();
    let set = system
        .and_then(|system| system.extend_pressure_mbar_gauge)
        .map_or_else(String::new, |set| {
            format!("{:.1}", f64::from(set.get()) / 1000.0)
        });
    let volume = system
        .and_then(system_volume_l)
        .map_or_else(String::new, |litres| format!("{litres:.2}"));
    LeakPage {
        tag: Tag {
            name: now.file.register.body.name.to_string(),
            sub: "leak test".to_owned(),
            bench: now.file.register.body.bench.map(|bench| bench.get()),
            href: None,
        },
        back: reader.bench(now.id),
        action: format!("{}/leak", reader.bench(now.id)),
        numbers: READINGS
            .iter()
            .map(|(name, label, unit, value)| {
                let value = match *name {
                    "volume_l" => volume.clone(),
                    "first_pressure_bar_gauge" => set.clone(),
                    "first_temperature_degc" | "second_temperature_degc" => hall.clone(),
                    _ => (*value).to_owned(),
                };
                (*name, *label, *unit, value)
            })
            .collect(),
        shown,
        typed,
    }
}

/// `GET .../robots/{robot}/leak`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = with_gas(&reader, &of)?;
    let view = view(&reader, &now, None, Typed::default());
    Ok(form::page(page(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

pub(super) fn with_gas<'a>(reader: &'a Reader, of: &Of) -> Result<RobotNow<'a>, AppError> {
    let now = to_look_at(reader, of.robot)?;
    if now.file.register.body.machine.has_gas() {
        Ok(now)
    } else {
        Err(AppError::Unknown)
    }
}

/// `POST .../robots/{robot}/leak`: worked out, and entered if a result was said.
pub async fn tested(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = with_gas(&reader, &of)?;
    let again = |shown, typed| {
        page(
            &reader.frame(Place::Bench(of.robot)),
            &view(&reader, &now, shown, typed),
        )
    };
    let gas = now
        .file
        .register
        .body
        .gas_system
        .as_ref()
        .map_or(GasOf::Co2, |system| system.gas);
    let (input, out) = match worked_out(&fields, gas) {
        Ok(both) => both,
        Err(typed) => return Ok(refused(again(None, typed))),
    };
    let Some(result) = fields.filled("result") else {
        return Ok(form::page(again(Some(shown(&out)), fields.typed())));
    };
    let body = json!({"what": "leak", "result": result, "note": note(&input, &out)});
    let subject = Subject::Robot(of.robot);
    match record_line(&here, &fields, subject, Kind::Proof, Some(How::Saw), &body).await {
        Ok(()) => Ok(see(reader.bench(of.robot))),
        Err(error) => Ok(refused(again(Some(shown(&out)), refusal(&fields, error)?))),
    }
}

fn worked_out(fields: &Fields, gas: GasOf) -> Result<(GasLeakInput, GasLeakOutput), Typed> {
    let mut typed = fields.typed();
    let mut number = |name: &str| {
        fields.decimal(name).unwrap_or_else(|| {
            typed
                .faults
                .insert(name.to_owned(), "A number, such as 9.6.".to_owned());
            f64::NAN
        })
    };
    let input = GasLeakInput {
        gas: crate::pit::gas::gas_of(gas),
        volume_l: number("volume_l"),
        first_pressure_bar_gauge: number("first_pressure_bar_gauge"),
        first_temperature_degc: number("first_temperature_degc"),
        second_pressure_bar_gauge: number("second_pressure_bar_gauge"),
        second_temperature_degc: number("second_temperature_degc"),
        minutes: number("minutes"),
        gauge_uncertainty_bar: number("gauge_uncertainty_bar"),
        temperature_uncertainty_k: number("temperature_uncertainty_k"),
    };
    if !typed.is_sound() {
        return Err(typed);
    }
    gas_leak(&input).map(|out| (input, out)).map_err(|faults| {
        for fault in faults {
            let name = fault.pointer.trim_start_matches('/').to_owned();
            typed.faults.entry(name).or_insert(fault.detail);
        }
        typed
    })
}

/// The verdict in words.
fn verdict(verdict: GasLeakVerdict) -> &'static str {
    match verdict {
        GasLeakVerdict::Leaks => "It leaks",
        GasLeakVerdict::InsideUncertainty => "Inside uncertainty: no leak shown, none ruled out",
        GasLeakVerdict::Gained => "More gas than before: read again, is the bottle shut?",
    }
}

fn shown(out: &GasLeakOutput) -> Shown {
    let mut basis = vec![
        (
            "Lost",
            format!(
                "{:.2} g, give or take {:.2} g",
                out.lost_g, out.uncertainty_g
            ),
        ),
        (
            "Leak at most",
            format!("{:.3} g a minute", out.at_most_g_per_min),
        ),
        (
            "Second reading as warm as the first",
            format!("{:.2} bar gauge", out.second_corrected_bar_gauge),
        ),
    ];
    if out.verdict == GasLeakVerdict::InsideUncertainty
        && let Some(minutes) = out.conclusive_after_min
    {
        basis.push((
            "Would show after",
            format!("{minutes:.0} min, if it goes on like this"),
        ));
    }
    Shown {
        verdict: verdict(out.verdict),
        basis,
    }
}

fn note(input: &GasLeakInput, out: &GasLeakOutput) -> String {
    format!(
        "{}: {:.2} g lost, give or take {:.2} g; {} bar at {} °C, {} min later {} bar at {} °C",
        verdict(out.verdict),
        out.lost_g,
        out.uncertainty_g,
        input.first_pressure_bar_gauge,
        input.first_temperature_degc,
        input.minutes,
        input.second_pressure_bar_gauge,
        input.second_temperature_degc,
    )
}

/// Worked out, and with a field that is wrong.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use crate::http::pages::samples::frame;
    let view = |shown, typed| LeakPage {
        tag: Tag {
            name: "Pewter <Finch>".into(),
            sub: "leak test".into(),
            bench: Some(14),
            href: None,
        },
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/leak".into(),
        numbers: READINGS
            .iter()
            .map(|(name, label, unit, value)| (*name, *label, *unit, (*value).to_owned()))
            .collect(),
        shown,
        typed,
    };
    let mut wrong = Typed::default();
    wrong.values.insert("minutes".into(), "<ten>".into());
    wrong
        .faults
        .insert("minutes".into(), "A number, such as 9.6.".into());
    let out = gas_leak(&GasLeakInput::example()).expect("the published example");
    vec![
        (
            "leak",
            page(&frame(), &view(Some(shown(&out)), Typed::default())),
        ),
        ("leak-wrong", page(&frame(), &view(None, wrong))),
    ]
}
