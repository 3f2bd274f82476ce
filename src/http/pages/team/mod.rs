//! The team page: all robots of a team, and who is doing what now.

pub mod routes;

use super::parts::{
    banner::Action,
    clock::iso,
    fields,
    frame::{self, Frame, Tag},
    robot_row::{RobotRow, by_then, tally},
    signs::Sign,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A team's page.
#[derive(Debug)]
pub struct Team {
    /// Its name.
    pub name: String,
    /// "two robots, six people".
    pub sub: String,
    /// Its robots.
    pub robots: Vec<Machine>,
    /// What two plans both need.
    pub clashes: Vec<Clash>,
    /// Who is doing what.
    pub people: Vec<Doing>,
    /// Sets, channels, bottles.
    pub things: Vec<Thing>,
    /// Its spares.
    pub spares: String,
    /// Its packs; none if it has no pack.
    pub packs: Option<String>,
    /// Its bottles and supplies; none if it has no bottle.
    pub gas: Option<String>,
    /// Where people and robots are entered; none for crew.
    pub register: Option<String>,
}

/// A robot of the team.
#[derive(Debug)]
pub struct Machine {
    /// Its row.
    pub row: RobotRow,
    /// Its call.
    pub call: Option<DateTime<Utc>>,
    /// The tasks that decide when it is ready, in order.
    pub decides: Vec<String>,
    /// What would help most, with what it gains.
    pub help: Option<(String, String)>,
}

/// Somebody needed at two places.
#[derive(Debug, Clone)]
pub struct Clash {
    /// "Ana is needed at both, 14:24".
    pub title: String,
    /// For what.
    pub detail: String,
    /// One tap each.
    pub ways: Vec<Action>,
}

/// What a person does now.
#[derive(Debug, Clone)]
pub struct Doing {
    /// Who.
    pub name: String,
    /// What.
    pub what: String,
    /// For which robot, with what duty.
    pub detail: String,
    /// Until when, by the plan.
    pub till: Option<DateTime<Utc>>,
}

/// A set, channel or bottle.
#[derive(Debug, Clone)]
pub struct Thing {
    /// Its label.
    pub label: String,
    /// Where it is and how it is.
    pub now: String,
    /// A line below.
    pub detail: String,
    /// When it is ready.
    pub ready: String,
    /// Its keypad.
    pub href: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, team: &Team) -> Markup {
    let tag = Tag {
        name: team.name.clone(),
        sub: team.sub.clone(),
        bench: None,
        href: None,
    };
    frame::phone(
        frame,
        &team.name,
        &tag,
        html! {
            @for clash in &team.clashes { (one_clash(frame, clash)) }
            div.two { @for robot in &team.robots { (machine(frame, robot)) } }
            @if team.robots.is_empty() { p.panel { "No robot entered yet." } }
            section.panel data-part="people" { h2 { "Who is doing what" }
                ul.rows.people { @for person in &team.people { li {
                    span.pn { (person.name) }
                    div { (person.what) @if !person.detail.is_empty() { br; span.meta { (person.detail) } } }
                    span.num { @if let Some(till) = person.till { "till " (frame.clock.time(till)) } }
                } } }
            }
            @if !team.things.is_empty() { section.panel data-part="things" { h2 { "Shared things" }
                table.tbl { thead { tr { th scope="col" { "Thing" } th scope="col" { "Now" } th.r scope="col" { "Ready" } } }
                    tbody { @for thing in &team.things { tr {
                        th scope="row" { @match &thing.href { Some(href) => { a.btn.small.soft href=(href) { (thing.label) } } None => { (tally(&thing.label)) } } }
                        td { (thing.now) @if !thing.detail.is_empty() { small { (thing.detail) } } }
                        td.r.num { (thing.ready) }
                    } } } }
            } }
            a.btn.soft href=(team.spares) { "Spares" }
            a.btn.soft href=(format!("{}/stations", frame.base)) { "Stations" }
            @if let Some(href) = &team.packs { a.btn.soft href=(href) { "Packs" } }
            @if let Some(href) = &team.gas { a.btn.soft href=(href) { "Gas" } }
            @if let Some(href) = &team.register { a.btn.soft href=(href) { "People and robots" } }
        },
    )
}

fn one_clash(frame: &Frame, clash: &Clash) -> Markup {
    html! {
        section.panel.clash { (Sign::Must.beside_word()) div { h2 { (clash.title) } p { (clash.detail) } }
            div.row { @for way in &clash.ways {
                (fields::post(frame, &way.action, "grow", html! {
                    @for (name, value) in &way.fields { input type="hidden" name=(name) value=(value); }
                    button.btn.solid { (way.label) }
                }))
            } }
        }
    }
}

fn machine(frame: &Frame, machine: &Machine) -> Markup {
    let (robot, call) = (&machine.row, machine.call);
    let part = format!("robot-{}", robot.name);
    html! {
        article.panel.machine data-part=(part) {
            header { h2 { @match &robot.href { Some(href) => { a href=(href) { (robot.name) } } None => { (robot.name) } } }
                @if let Some(bench) = robot.bench { span.vh { "bench" } (tally(bench)) } }
            @if let Some(verdict) = &robot.verdict {
                @let claims = verdict.sign == Sign::MadeSafe;
                div.vrow data-till=[verdict.until.filter(|_| claims).map(iso)] data-claims[claims] {
                    (verdict.sign.beside_word()) div { b data-word { (verdict.sign.word()) } span data-reason { (verdict.reason) } }
                    div.r { @if let Some(at) = call { span.t { (frame.clock.time(at)) } span { (frame.clock.left(at)) } } }
                }
            }
            p.fline { (robot.forecast.inline()) @if let Some(odds) = robot.odds_percent { span { b { (odds) " %" } } } (by_then(&frame.clock, robot)) span.meta { (robot.basis) } }
            @if !robot.hold_up.is_empty() { p.firsthold { b { "First hold-up" } " " (robot.hold_up) } }
            @if !machine.decides.is_empty() { p.firsthold { b { "Decides it" } " "
                @for (i, task) in machine.decides.iter().enumerate() { @if i > 0 { span aria-hidden="true" { " › " } } (task) } } }
            @if let Some((measure, gain)) = &machine.help { p.firsthold { b { "Would help" } " " (measure) ": " (gain) } }
        }
    }
}

/// A team with a clash.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::parts::{signs::Forecast, verdict::Verdict};
    use super::samples::{at, frame};
    let robot = |name: &str, bench, sign, forecast, odds| RobotRow {
        href: Some("/e/1/robots/1".into()),
        name: name.into(),
        bench: Some(bench),
        verdict: Some(Verdict {
            sign,
            reason: "Ben, 4 min ago".into(),
            oldest: Some(at(-4)),
            until: Some(at(26)),
            note: String::new(),
            look: None,
        }),
        forecast,
        odds_percent: Some(odds),
        eight_in_ten: Some(at(24)),
        hold_up: "gas-bay queue, two ahead, till 14:12".into(),
        basis: "reported 1 min ago".into(),
    };
    vec![(
        "team",
        page(
            &frame(),
            &Team {
                name: "Quayside <Shed>".into(),
                sub: "two robots, six people".into(),
                robots: vec![
                    Machine {
                        row: robot("Pewter Finch", 14, Sign::MadeSafe, Forecast::OnCourse, 96),
                        call: Some(at(31)),
                        decides: vec!["Gas-bay queue".into(), "Fill <bottle> 3".into()],
                        help: Some(("One more mechanic".into(), "4 min sooner".into())),
                    },
                    Machine {
                        row: robot("Brass Heron", 15, Sign::Unproved, Forecast::Tight, 74),
                        call: None,
                        decides: Vec::new(),
                        help: None,
                    },
                ],
                clashes: vec![Clash {
                    title: "Ana is needed at both, 14:24".into(),
                    detail: "Closing Brass Heron, and second person for Pewter Finch".into(),
                    ways: vec![Action {
                        label: "Dee confirms instead".into(),
                        action: "/e/1/robots/1/duty".into(),
                        fields: vec![("duty", "second_person".into())],
                    }],
                }],
                people: vec![Doing {
                    name: "Ana".into(),
                    what: "Fit set A".into(),
                    detail: "Pewter Finch".into(),
                    till: Some(at(3)),
                }],
                things: vec![Thing {
                    label: "A".into(),
                    now: "being fitted".into(),
                    detail: "Pewter Finch".into(),
                    ready: "14:12".into(),
                    href: Some("/e/1/sets/1/volts".into()),
                }],
                spares: "/e/1/spares".into(),
                packs: Some("/e/1/packs".into()),
                gas: Some("/e/1/gas".into()),
                register: Some("/e/1/register".into()),
            },
        ),
    )]
}
