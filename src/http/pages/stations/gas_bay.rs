//! The gas bay: which bottle and where to stop, what it is filled from, and the air around it.

use crate::calc::gas::GasRoomOutput;
use crate::http::pages::parts::{
    fields::{self, Chip, Text, Typed},
    frame::Frame,
};
use crate::http::pages::reader::Reader;
use crate::pit::gas::{self, BottleLimits, BottleNow, if_let_go};
use crate::pit::ids::{BottleId, Subject, TeamId};
use crate::pit::logbook::register::GasOf;
use crate::pit::logbook::{Body, Line, Role};
use crate::pit::state::RobotFile;
use maud::{Markup, html};

/// What is filled for the robot in hand.
#[derive(Debug, Clone)]
pub struct Filling {
    /// Its bottle, else those of its team.
    pub bottles: Vec<Bottle>,
    /// Cylinders to fill from, where there are several.
    pub supplies: Vec<Chip>,
}

/// A bottle as the gas bay needs it.
#[derive(Debug, Clone)]
pub struct Bottle {
    /// Its id.
    pub id: String,
    /// What is written on it.
    pub label: String,
    /// The gross mass at which filling stops; none where its data do not say.
    pub stop_at_g: Option<i32>,
    /// "empty 2950 g, tested 2024-05-01".
    pub detail: String,
    /// Why the advice is not to fill it.
    pub not_to_fill: Vec<String>,
    /// Shots since it was weighed last would teach something.
    pub shots_count: bool,
}

/// The air at the bay.
#[derive(Debug, Clone)]
pub struct Air {
    /// "700 ppm, Zeb, 14:02".
    pub last: String,
    /// What a bottle would do to the room, where bottles are filled in one.
    pub if_let_go: Option<String>,
    /// Where a reading is posted; none for those who enter nothing.
    pub action: Option<String>,
}

/// The keypad.
pub fn keypad(filling: &Filling, typed: &Typed) -> Markup {
    let bottles = &filling.bottles;
    let only = match bottles.as_slice() {
        [one] => one.id.as_str(),
        _ => "",
    };
    let chips: Vec<Chip> = bottles
        .iter()
        .map(|bottle| Chip::new(&bottle.id, &bottle.label))
        .collect();
    html! {
        @if bottles.is_empty() { p { "Its team has registered no bottle." } }
        @for bottle in bottles {
            p.stopmark { span { "Bottle " (bottle.label) } @match bottle.stop_at_g {
                Some(stop) => { b.num { "stop at " (stop) " g" } }
                None => { b { "stamp not known: do not fill" } }
            } span.meta { (bottle.detail) } }
            @if !bottle.not_to_fill.is_empty() { div.notfill { b { "Advice: do not fill" } ul { @for reason in &bottle.not_to_fill { li { (reason) } } } } }
        }
        @if bottles.len() > 1 { (fields::chips("bottle", "Which bottle", only, &chips, typed)) }
        @else { input type="hidden" name="bottle" value=(only); }
        (Text { kind: "number", unit: "g", required: true, hint: "With valve, hose off, on the bay’s scale.", ..Text::new("mass", "Gross mass") }.show(typed))
        (fields::chips("did", "What was done", "filled", &[Chip::new("filled", "Filled"), Chip::new("first", "Weighed, filled next"), Chip::new("weighed", "Only weighed")], typed))
        @if bottles.iter().any(|bottle| bottle.shots_count) {
            (Text { kind: "number", hint: SHOTS_HINT, ..Text::new("shots", SHOTS) }.show(typed))
        }
        @if !filling.supplies.is_empty() { (fields::chips("supply", "Filled from", "", &filling.supplies, typed)) }
        button.btn.big.solid { "Enter it" }
    }
}

/// The label of shots counted between two weighings.
pub const SHOTS: &str = "Shots since it was weighed last";
/// What they are for.
pub const SHOTS_HINT: &str =
    "Weigh it before it is filled: that is how its gas for a shot is learned.";

/// What stands below everything the bay does.
pub fn panel(frame: &Frame, air: &Air, typed: &Typed) -> Markup {
    html! {
        section.panel data-part="air" { h2 { "The air here " span.meta { (air.last) } }
            @if let Some(words) = &air.if_let_go { p { (words) } }
            p { "Gas lies low and is not smelt. Who feels dizzy or short of breath goes out first and says so." }
            @if let Some(action) = &air.action {
                (fields::post(frame, action, "row wraprow", html! {
                    (Text { kind: "number", unit: "ppm", required: true, ..Text::new("co2_ppm", "Monitor at knee height") }.show(typed))
                    button.btn { "Read" }
                }))
            }
        }
        (caution())
    }
}

/// Stands below everything about gas.
pub fn caution() -> Markup {
    html! {
        p.meta { "Filling is for trained fillers at the gas bay: cylinder secured, room ventilated, stop by the scale. The bay’s steward and local law decide; shots and pressures here are forecasts." }
    }
}

/// What is filled for a robot: the bottle that came out of it, else all of its team's.
pub fn filling(reader: &Reader, file: &RobotFile) -> Filling {
    let team = file.register.body.team;
    let bottles: Vec<BottleId> = match file.state.fitted_bottle {
        Some(fitted) => vec![fitted],
        None => reader
            .pit
            .bottles
            .iter()
            .filter(|(_, known)| known.body.team == team && !known.body.retired)
            .map(|(id, _)| *id)
            .collect(),
    };
    let kind = bottles.first().and_then(|id| reader.pit.bottles.get(id));
    Filling {
        supplies: kind.map_or_else(Vec::new, |known| supplies(reader, team, known.body.gas)),
        bottles: bottles
            .into_iter()
            .filter_map(|id| bottle(reader, id))
            .collect(),
    }
}

/// The cylinders to choose from; none where there is no choice.
pub fn supplies(reader: &Reader, team: TeamId, gas: GasOf) -> Vec<Chip> {
    let chips: Vec<Chip> = gas::supplies_of_gas(&reader.pit, team, gas)
        .map(|(id, supply)| Chip::new(id.to_string(), supply.label.to_string()))
        .collect();
    if chips.len() > 1 { chips } else { Vec::new() }
}

fn bottle(reader: &Reader, id: BottleId) -> Option<Bottle> {
    let body = &reader.pit.bottles.get(&id)?.body;
    let now = gas::bottle_as_weighed(&reader.pit, id, reader.today())?;
    let tested = body
        .tested_on
        .map_or_else(|| "no test date".to_owned(), |day| format!("tested {day}"));
    let last = now.weighed.map_or_else(String::new, |last| {
        format!(", {} g at {}", last.gross_g, reader.clock.hm(last.at))
    });
    let known = BottleLimits::permitted(body, reader.today()).is_some();
    Some(Bottle {
        id: id.to_string(),
        label: body.label.to_string(),
        stop_at_g: now.limits.stop_at_gross_g.filter(|_| known),
        detail: format!("empty {} g, {tested}{last}", body.tare_g.get()),
        shots_count: shots_count(&now),
        not_to_fill: now.limits.reasons,
    })
}

/// Whether shots counted now would teach what a shot takes.
pub fn shots_count(now: &BottleNow) -> bool {
    now.weighed.is_some() && now.gas_g.is_some_and(|gas| gas > 0)
}

/// What a filled bottle holds beyond its stop mark, in words.
pub fn over(reader: &Reader, line: &Line) -> String {
    let Body::Bottle(report) = &line.body else {
        return String::new();
    };
    let (Some(bottle), Some(mass)) = (report.bottle, report.mass_g) else {
        return String::new();
    };
    let stop = reader.pit.bottles.get(&bottle).and_then(|known| {
        let body = &known.body;
        let hung = body.fittings_g.map_or(0, |mass| mass.get());
        let most = BottleLimits::permitted(body, reader.today())?;
        Some(body.tare_g.get() + hung + most)
    });
    match stop {
        Some(stop) if mass.get() > stop => format!(
            ", {} g over its stop mark: not to be carried, warmed or fitted",
            mass.get() - stop
        ),
        _ => String::new(),
    }
}

/// The air at the bay as it was last measured, and what a bottle would do to it.
pub fn air(reader: &Reader, address: &str) -> Air {
    let facts = reader.pit.facts(Subject::Event);
    let last = facts.iter().rev().find_map(|line| match &line.body {
        Body::Air(air) => Some((air, line)),
        _ => None,
    });
    let last = last.map_or_else(
        || "nobody has measured it".to_owned(),
        |(air, line)| {
            let what = match (air.symptoms, air.co2_ppm) {
                (true, _) => "somebody feels it".to_owned(),
                (false, Some(ppm)) => format!("{} ppm", ppm.get()),
                (false, None) => "looked at".to_owned(),
            };
            let who = reader.name(line.seen_by);
            format!("{what}, {who}, {}", reader.clock.hm(line.at))
        },
    );
    let largest = reader
        .pit
        .bottles
        .values()
        .filter(|known| !known.body.retired)
        .filter_map(|known| BottleLimits::permitted(&known.body, reader.today()))
        .max();
    Air {
        last,
        if_let_go: largest.and_then(|grams| {
            let out = if_let_go(&reader.pit, grams)?;
            Some(let_go(reader, grams, &out))
        }),
        action: (reader.signed.role != Role::Wall).then(|| format!("{address}/air")),
    }
}

fn let_go(reader: &Reader, grams: i32, out: &GasRoomOutput) -> String {
    let room = reader
        .pit
        .settings()
        .gas_room_m3
        .map_or(0, |room| room.get());
    let limit = if out.above_short_limit {
        ", above the limit of 15 000 ppm for a quarter of an hour"
    } else {
        ""
    };
    format!(
        "If the largest bottle here let go of its {:.1} kg at once, the {room} m³ of this room would hold {:.0} ppm of it{limit}; more near the floor.",
        f64::from(grams) / 1000.0,
        out.peak_co2_ppm
    )
}
