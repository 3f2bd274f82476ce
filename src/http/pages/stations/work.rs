//! The keypads of the stations.

use super::InHand;
use super::gas_bay::{self, Filling};
use crate::http::pages::parts::{
    fields::{self, Chip, Text, Typed},
    frame::Frame,
    verdict::{self, Verdict},
};
use maud::{Markup, html};

/// What an inspector found wanting. **Source** common practice, no source: the parts that event
/// rules ask to be shown.
pub const FAILINGS: [&str; 8] = [
    "link, retention or reach",
    "power light",
    "weapon restraint",
    "failsafe",
    "bottle date, relief or hoses",
    "packs and their mounts",
    "sharp edges or covers",
    "structure or fasteners",
];

/// What is entered for the robot in hand.
#[derive(Debug, Clone)]
pub enum Work {
    /// A bottle is filled or weighed.
    Bottle(Filling),
    /// A machine is weighed.
    Scale(Scale),
    /// A machine is inspected.
    Inspection,
    /// Sets go on charge and come off.
    Charging(Vec<Chip>),
    /// A machine goes in to the arena, or comes out.
    Gate(Box<Gate>),
    /// A machine is tested.
    Test,
}

/// A machine on the scale.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// The most it may weigh.
    pub limit_g: i32,
    /// What counts there, in words.
    pub counts: &'static str,
}

/// A machine at the gate.
#[derive(Debug, Clone)]
pub struct Gate {
    /// Its verdict.
    pub verdict: Verdict,
    /// Who has the link.
    pub holder: String,
    /// It is in the arena, its door shut.
    pub armed: bool,
}

/// The keypad for the robot in hand.
pub fn keypad(frame: &Frame, address: &str, hand: &InHand, typed: &Typed) -> Markup {
    let action = format!("{address}/results");
    let form = |inside: Markup| {
        fields::post(
            frame,
            &action,
            "stacked",
            html! { input type="hidden" name="robot" value=(hand.robot); (inside) },
        )
    };
    match &hand.work {
        Work::Bottle(filling) => form(gas_bay::keypad(filling, typed)),
        Work::Scale(scale) => form(weighing(*scale, typed)),
        Work::Inspection => inspecting(&form, typed),
        Work::Charging(sets) => form(charging(sets, typed)),
        Work::Gate(gate) => html! {
            div.vline { (verdict::in_row(&gate.verdict)) span.meta { (gate.verdict.reason) @if !gate.holder.is_empty() { ", link " (gate.holder) } } }
            (form(at_gate(gate)))
        },
        Work::Test => form(testing(typed)),
    }
}

fn weighing(scale: Scale, typed: &Typed) -> Markup {
    html! {
        p { (scale.counts) }
        (Text { kind: "number", unit: "kg", required: true, ..Text::new("mass", "Mass as it fights") }.show(typed))
        p.meta { "Limit " (kilograms(scale.limit_g)) " kg: the page works out the result." }
        button.btn.big.solid { "Enter it" }
    }
}

fn inspecting(form: &dyn Fn(Markup) -> Markup, typed: &Typed) -> Markup {
    let faulty = typed.fault("failed").is_some();
    html! {
        (form(html! { input type="hidden" name="result" value="pass"; button.btn.big.solid { "Passed" } }))
        details.act open[faulty] { summary.btn { "Not passed" }
            (form(html! {
                input type="hidden" name="result" value="fail";
                fieldset { legend.lab-h { "What has to be put right" }
                    ul.ticks { @for failing in FAILINGS { li { label.tick {
                        input type="checkbox" name="failed" value=(failing);
                        span.box { svg aria-hidden="true" { use href="#s-tick" {} } }
                        span.what { (failing) }
                    } } } }
                    @if let Some(fault) = typed.fault("failed") { p.fault { (fault) } }
                }
                (Text::new("note", "In other words").show(typed))
                button.btn.big { "Enter: not passed" }
            }))
        }
    }
}

fn charging(sets: &[Chip], typed: &Typed) -> Markup {
    let only = match sets {
        [one] => one.value.as_str(),
        _ => "",
    };
    html! {
        @if sets.is_empty() { p { "Its team has registered no set." } }
        @else {
            (fields::chips("set", "Which set", only, sets, typed))
            div.row { button.btn.solid.grow name="state" value="started" { "On charge" }
                button.btn.grow name="state" value="ended" { "Off charge" } }
        }
    }
}

fn at_gate(gate: &Gate) -> Markup {
    html! {
        @if gate.armed {
            button.btn.big.solid name="did" value="links_out" { "Links seen out" }
        } @else {
            div.row { button.btn.solid.grow name="did" value="links_out" { "Links seen out" }
                button.btn.grow name="did" value="armed" { "Armed, all out, door shut" } }
        }
    }
}

fn testing(typed: &Typed) -> Markup {
    let pass = |name: &'static str, label: &'static str| {
        fields::chips(
            name,
            label,
            "",
            &[Chip::new("pass", "Passed"), Chip::new("fail", "Failed")],
            typed,
        )
    };
    html! {
        (pass("failsafe", "Failsafe"))
        (pass("leak", "Leak test"))
        (pass("weapon", "Weapon test"))
        @if let Some(fault) = typed.fault("tests") { p.fault { (fault) } }
        button.btn.big.solid name="did" value="results" { "Enter what was tested" }
        button.btn name="did" value="links_out" { "Link seen out, area free" }
    }
}

/// A mass as a scale for machines shows it.
pub fn kilograms(grams: i32) -> String {
    format!("{:.2}", f64::from(grams) / 1000.0)
}
