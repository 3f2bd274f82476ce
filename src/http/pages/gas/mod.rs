//! Gas: a team's bottles and supplies, and one bottle with its history and its curve.

pub mod at_bench;
mod curve;
pub mod leak;
pub mod regulator;
pub mod routes;
mod view;

pub use curve::{Curve, Limit};

use super::bench::{self, LogLine};
use super::parts::{
    frame::{self, Frame, Tag},
    robot_row::tally,
};
use super::stations::gas_bay;
use maud::{Markup, html};

/// A team's gas.
#[derive(Debug)]
pub struct GasPage {
    /// The team, or "which team?".
    pub sub: String,
    /// Where to go back to.
    pub back: Option<String>,
    /// Its bottles.
    pub bottles: Vec<BottleCard>,
    /// Its robots that run on gas.
    pub robots: Vec<RobotCard>,
    /// Supplies it may fill from.
    pub supplies: Vec<SupplyCard>,
    /// Teams to choose from, for those who see several: name and address.
    pub teams: Vec<(String, String)>,
}

/// A robot that runs on gas.
#[derive(Debug, Clone)]
pub struct RobotCard {
    /// Its name.
    pub name: String,
    /// What its regulator showed last.
    pub regulator: String,
    /// Its leak test, the last one.
    pub leak: String,
    /// The page of its regulator.
    pub regulator_href: String,
    /// The page of its leak test.
    pub leak_href: String,
}

/// A bottle on a page.
#[derive(Debug, Clone)]
pub struct BottleCard {
    /// What is written on it.
    pub label: String,
    /// Where it is, who says so.
    pub place: String,
    /// The range of shots and what it rests on.
    pub shots: Option<(String, String)>,
    /// Whether that is enough for the bout.
    pub enough: Option<String>,
    /// What weighing taught about a shot.
    pub learned: Option<Learned>,
    /// Why the shots are not known.
    pub unknown: Vec<String>,
    /// Mass, pressures, dates.
    pub facts: Vec<(&'static str, String, String)>,
    /// Why the advice is not to fill.
    pub not_to_fill: Vec<String>,
    /// What else should be known.
    pub cautions: Vec<String>,
    /// Its own page; none on that page.
    pub href: Option<String>,
    /// Photographs of its stamp; on its own page.
    pub photos: Option<String>,
    /// Its keypad; none for those who enter nothing about it.
    pub keypad: Option<String>,
}

/// What weighing taught about a shot.
#[derive(Debug, Clone)]
pub struct Learned {
    /// In a few words.
    pub title: String,
    /// What that rests on.
    pub basis: String,
    /// Why it is not used.
    pub cautions: Vec<String>,
}

/// A supply cylinder on a page.
#[derive(Debug, Clone)]
pub struct SupplyCard {
    /// What is written on it, where it stands.
    pub label: String,
    /// "8 fillings", or that they are not known.
    pub fills: String,
    /// What that rests on.
    pub detail: String,
    /// Its keypad; none for those who may not weigh it.
    pub keypad: Option<String>,
}

/// One bottle.
#[derive(Debug)]
pub struct BottlePage {
    /// The bottle.
    pub card: BottleCard,
    /// Back to all of them.
    pub back: String,
    /// What the pressures are for.
    pub pressures_for: String,
    /// Temperature, pressure, and what it does there.
    pub warm: Vec<(String, String, String)>,
    /// The curve.
    pub curve: Option<Curve>,
    /// What was reported of it, newest first.
    pub log: Vec<LogLine>,
}

/// The page of a team.
pub fn page(frame: &Frame, view: &GasPage) -> Markup {
    let tag = Tag {
        name: "Gas".into(),
        sub: view.sub.clone(),
        bench: None,
        href: view.back.clone(),
    };
    frame::phone(
        frame,
        "Gas",
        &tag,
        html! {
            @if !view.teams.is_empty() { section.panel data-part="teams" { h2 { "Teams" }
                ul.rows { @for (name, href) in &view.teams { li { a.btn.soft href=(href) { (name) } } } } } }
            @else if view.bottles.is_empty() { p.panel { "No bottle entered yet." } }
            div.two { @for bottle in &view.bottles { (card(bottle)) } }
            @if !view.robots.is_empty() { section.panel data-part="robots" { h2 { "Regulators and leaks" }
                ul.rows { @for robot in &view.robots { li {
                    div { b { (robot.name) } br; span.meta { (robot.regulator) } br; span.meta { (robot.leak) } }
                    div.row { a.btn.small.soft href=(robot.regulator_href) aria-label=(format!("Gauge: {}", robot.name)) { "Gauge" }
                        a.btn.small.soft href=(robot.leak_href) aria-label=(format!("Leak test: {}", robot.name)) { "Leak test" } }
                } } } } }
            @if !view.supplies.is_empty() { section.panel data-part="supplies" { h2 { "Supply cylinders" }
                ul.rows { @for supply in &view.supplies { li {
                    div { b { (supply.label) } br; span.meta { (supply.detail) } }
                    div.acts { span.gain { span.num { (supply.fills) } }
                        @if let Some(keypad) = &supply.keypad { a.btn.small.soft href=(keypad) aria-label=(format!("Weigh: {}", supply.label)) { "Weigh" } } }
                } } } } }
            (gas_bay::caution())
        },
    )
}

/// The page of a bottle.
pub fn bottle_page(frame: &Frame, view: &BottlePage) -> Markup {
    let tag = Tag {
        name: format!("Bottle {}", view.card.label),
        sub: view.card.place.clone(),
        bench: None,
        href: Some(view.back.clone()),
    };
    frame::phone(
        frame,
        &tag.name.clone(),
        &tag,
        html! {
            (card(&view.card))
            @if let Some(learned) = &view.card.learned { section.panel data-part="learned" { h2 { "Gas for a shot" }
                p { b { (learned.title) } br; span.meta { (learned.basis) } }
                @for caution in &learned.cautions { p.meta { (caution) } }
            } }
            section.panel data-part="warm" { h2 { "When it warms" span.meta { (view.pressures_for) } }
                @match &view.curve { Some(curve) => { (curve.show()) } None => { p.intro { "Its pressure is not known: its data or its mass are missing." } } }
                @if !view.warm.is_empty() { table.tbl { thead { tr { th scope="col" { "At" } th scope="col" { "Pressure" } th scope="col" { "Then" } } }
                    tbody { @for (at, pressure, then) in &view.warm { tr { th scope="row" { (at) } td.num { (pressure) } td { (then) } } } } } }
            }
            section.panel data-part="log" { h2 { "History" }
                @if view.log.is_empty() { p.intro { "Nothing entered yet." } }
                ul.rows.log { @for line in &view.log { (bench::log_line(&frame.clock, line)) } }
            }
            (gas_bay::caution())
        },
    )
}

fn card(bottle: &BottleCard) -> Markup {
    html! {
        article.panel.bottle data-part=(format!("bottle-{}", bottle.label)) {
            h2 { (tally(&bottle.label)) span.meta { (bottle.place) } }
            @match &bottle.shots {
                Some((range, basis)) => p.shots { b { (range) } span { @if let Some(enough) = &bottle.enough { b { (enough) } br; } span.meta { (basis) } } },
                None => p.shots { b { "Shots unknown" } span.meta { @for why in &bottle.unknown { (why) " " } } },
            }
            dl.facts { @for (name, value, detail) in &bottle.facts { dt { (name) } dd { (value) @if !detail.is_empty() { small { (detail) } } } } }
            @if !bottle.not_to_fill.is_empty() { div.notfill { b { "Advice: do not fill" } ul { @for reason in &bottle.not_to_fill { li { (reason) } } } } }
            @for caution in &bottle.cautions { p.meta { (caution) } }
            div.row.wraprow {
                @if let Some(keypad) = &bottle.keypad { a.btn.grow href=(keypad) { "Weigh or fill" } }
                @if let Some(href) = &bottle.href { a.btn.soft.grow href=(href) { "Curve and history" } }
                @if let Some(photos) = &bottle.photos { a.btn.soft.grow href=(photos) { "The stamp" } }
            }
        }
    }
}

/// A team's gas, an empty one, and a bottle.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::frame;
    let card = |href: Option<String>| BottleCard {
        label: "B<1>".into(),
        place: "in the machine, Ben, 14:02".into(),
        shots: Some((
            "14 to 22 shots".into(),
            "72 to 97 g each; a bout takes up to 12".into(),
        )),
        enough: Some("Enough for the bout".into()),
        learned: Some(Learned {
            title: "A shot takes 1.2 <times> a warm stroke".into(),
            basis: "2 pairs of weighings, 17 shots".into(),
            cautions: vec!["The scale is <coarse>.".into()],
        }),
        unknown: vec![],
        facts: vec![
            (
                "Gas in it",
                "2200 g".into(),
                "7300 g gross, Ana <A>, 13:51".into(),
            ),
            (
                "Pressure now",
                "56 bar".into(),
                "if as warm as the hall, 20 °C".into(),
            ),
        ],
        not_to_fill: vec!["The periodic <test> was due on 2026-03-14.".into()],
        cautions: vec!["The filling ratio is not known.".into()],
        href,
        photos: Some("/e/1/photos/bottle:1".into()),
        keypad: Some("/e/1/bottles/1/mass".into()),
    };
    let supplies = vec![SupplyCard {
        label: "Cylinder 1, Gas bay".into(),
        fills: "8 fillings".into(),
        detail: "34 kg when it was weighed".into(),
        keypad: Some("/e/1/supplies/1/mass".into()),
    }];
    let team = |bottles, teams| GasPage {
        sub: "Quayside <Shed>".into(),
        back: Some("/e/1/team".into()),
        bottles,
        robots: vec![RobotCard {
            name: "Pewter <Finch>".into(),
            regulator: "11.0 bar, set 10.0: it drifts".into(),
            leak: "no leak test yet".into(),
            regulator_href: "/e/1/robots/1/regulator".into(),
            leak_href: "/e/1/robots/1/leak".into(),
        }],
        supplies: supplies.clone(),
        teams,
    };
    let unknown = BottleCard {
        shots: None,
        enough: None,
        unknown: vec!["Nobody weighed it since it was filled.".into()],
        ..card(None)
    };
    let bottle = BottlePage {
        card: card(None),
        back: "/e/1/gas".into(),
        pressures_for: "for 2200 g".into(),
        warm: vec![("31 °C".into(), "74 bar".into(), "below every limit".into())],
        curve: Some(Curve {
            points: vec![(-10.0, 25.0), (20.0, 56.0), (40.0, 106.0), (70.0, 200.0)],
            limits: vec![Limit {
                name: "test <pressure>".into(),
                bar: 250.0,
            }],
            hall: Some((20.0, 56.0)),
            words: "Pressure of bottle B<1> from -10 to 70 °C.".into(),
        }),
        log: vec![],
    };
    let mut samples = vec![
        (
            "gas",
            page(
                &frame(),
                &team(vec![card(Some("/e/1/gas/1".into())), unknown], vec![]),
            ),
        ),
        ("gas-empty", page(&frame(), &team(vec![], vec![]))),
        (
            "gas-teams",
            page(
                &frame(),
                &team(
                    vec![],
                    vec![("Tin <Shed>".into(), "/e/1/gas?team=1".into())],
                ),
            ),
        ),
        ("gas-bottle", bottle_page(&frame(), &bottle)),
    ];
    samples.extend(leak::samples());
    samples.extend(regulator::samples());
    samples
}
