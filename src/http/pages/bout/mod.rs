//! A bout: when it is likely to start, what holds each robot up, and what an organiser does about it.

pub mod routes;

use super::parts::{
    call::percent_by_call,
    fields,
    frame::{self, Frame, Tag},
    robot_row::{self, RobotRow},
    verdict,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The page of a bout.
#[derive(Debug)]
pub struct BoutPage {
    /// "Bout 17" and its state.
    pub tag: Tag,
    /// Its address, which its forms post under.
    pub href: String,
    /// Its call.
    pub call: DateTime<Utc>,
    /// Facts about its time: name and words.
    pub facts: Vec<(&'static str, String)>,
    /// It has begun, or is over: nothing more is called.
    pub begun: bool,
    /// It is over.
    pub over: bool,
    /// The corners.
    pub corners: Vec<Corner>,
    /// Where an organiser changes it; none for others.
    pub edit: Option<String>,
}

/// A robot in a bout.
#[derive(Debug)]
pub struct Corner {
    /// Verdict, name, forecast.
    pub row: RobotRow,
    /// Its id; none where the corner is open.
    pub robot: Option<String>,
    /// Why, fact by fact.
    pub facts: Vec<(&'static str, String)>,
    /// Its hazards.
    pub hazards: Vec<String>,
    /// Where words for it are posted.
    pub word: String,
    /// A postponement was asked for: by how many minutes, and why.
    pub asked: Option<(Option<i32>, String)>,
    /// The other robot, which wins if this one does not come: id and name.
    pub other: Option<(String, String)>,
}

/// A way a bout ends for a corner, beside being beaten.
struct Way {
    ending: &'static str,
    label: &'static str,
    words: &'static str,
    button: &'static str,
}

const NOT_COME: Way = Way {
    ending: "forfeit",
    label: "Did not come",
    words: "It did not come: the bout ends by forfeit.",
    button: "Record the forfeit",
};

const LINK_OUT: Way = Way {
    ending: "link_shaken_out",
    label: "Its link came out",
    words: "The bout ends. Where its link is held goes on its list.",
    button: "Record the link shaken out",
};

/// The page.
pub fn page(frame: &Frame, bout: &BoutPage) -> Markup {
    frame::phone(
        frame,
        &bout.tag.name,
        &bout.tag,
        html! {
            section.panel data-part="bout" { h2 { "Call " (frame.clock.time(bout.call)) " " span.meta { (frame.clock.left(bout.call)) } }
                dl.facts { @for (name, words) in &bout.facts { dt { (name) } dd { (words) } } }
                @if !bout.over { div.row.wraprow { (acts(frame, bout)) } }
            }
            @for corner in &bout.corners { (corner_panel(frame, bout, corner)) }
            @if let Some(edit) = &bout.edit { a.btn.soft href=(edit) { "Change the bout" } }
        },
    )
}

fn acts(frame: &Frame, bout: &BoutPage) -> Markup {
    html! {
        @if !bout.begun {
            (fields::post(frame, &format!("{}/called", bout.href), "", html! { button.btn { "Call both" } }))
            (fields::post(frame, &format!("{}/started", bout.href), "", html! { button.btn.soft { "It begins" } }))
        }
        details.act { summary.btn.soft { "It ended" }
            (fields::post(frame, &format!("{}/ended", bout.href), "panel stacked", html! {
                p.lab-h { "Who won?" }
                @for corner in &bout.corners { @if let Some(robot) = &corner.robot { button.btn name="winner" value=(robot) { (corner.row.name) } } }
                button.btn.soft name="winner" value="" { "Nobody" }
            })) }
    }
}

fn corner_panel(frame: &Frame, bout: &BoutPage, corner: &Corner) -> Markup {
    let name = &corner.row.name;
    html! {
        section.panel data-part=(format!("corner-{}", corner.row.bench.unwrap_or(0))) {
            h2 { (robot_row::name(&corner.row)) }
            p.fline { @if let Some(claim) = &corner.row.verdict { (verdict::in_row(claim)) } (corner.row.forecast.inline())
                @if let Some(odds) = corner.row.odds_percent { span.meta { (percent_by_call(odds)) } } }
            @if !corner.row.hold_up.is_empty() { p.firsthold { (corner.row.hold_up) } }
            dl.facts { @for (name, words) in &corner.facts { dt { (name) } dd { (words) } } }
            @if !corner.hazards.is_empty() { ul.rows { @for hazard in &corner.hazards { li { div { (hazard) } } } } }
            @if let (Some(_), false) = (&corner.robot, bout.begun) {
                (answer(frame, corner))
                @if bout.edit.is_some() { (postponement(frame, bout, corner)) (ends_by(frame, bout, corner, &NOT_COME)) }
            }
            @if corner.robot.is_some() && bout.begun && !bout.over { (ends_by(frame, bout, corner, &LINK_OUT)) }
            @if corner.robot.is_none() { p.meta { "Open: nobody known yet in " (name) "." } }
        }
    }
}

/// An official's word for a team that enters nothing.
fn answer(frame: &Frame, corner: &Corner) -> Markup {
    let name = &corner.row.name;
    fields::post(
        frame,
        &corner.word,
        "",
        html! {
            p.meta { "Its word, entered for it:" }
            div.chips {
                button.btn.small.soft.grow name="answer" value="ready" aria-label=(format!("{name} is ready")) { "Ready" }
                @for minutes in [10, 20] { button.btn.small.soft.grow name="answer" value=(minutes) aria-label=(format!("{name} needs {minutes} min")) { (minutes) " min" } }
                button.btn.small.soft.grow name="answer" value="not" aria-label=(format!("{name} will not be there")) { "Not" }
            }
        },
    )
}

fn postponement(frame: &Frame, bout: &BoutPage, corner: &Corner) -> Markup {
    let name = &corner.row.name;
    html! {
        details.act open[corner.asked.is_some()] { summary.btn.small.soft { "Postponement" }
            (fields::post_now(frame, &format!("{}/postponed", bout.href), "stacked", html! {
                @if let Some((by, why)) = &corner.asked { p { b { "Asked for" @if let Some(by) = by { ", " (by) " min" } } " " (why) } }
                input type="hidden" name="robot" value=[corner.robot.as_ref()];
                div.chips {
                    @for by in [5, 10, 20] { button.btn.small.soft.grow name="by_min" value=(by) aria-label=(format!("Put the bout off {by} min for {name}")) { "Grant " (by) " min" } }
                    @if corner.asked.is_some() { button.btn.small.soft.grow name="by_min" value="" { "Refuse" } }
                }
            }))
        }
    }
}

/// The bout ends for a corner in another way than by being beaten: the other one wins.
fn ends_by(frame: &Frame, bout: &BoutPage, corner: &Corner, way: &Way) -> Markup {
    html! {
        details.act { summary.btn.small.soft { (way.label) }
            (fields::post(frame, &format!("{}/ended", bout.href), "stacked", html! {
                p { (way.words) @if let Some((_, name)) = &corner.other { " " (name) " wins." } }
                input type="hidden" name="ending" value=(way.ending);
                input type="hidden" name="winner" value=(corner.other.as_ref().map_or("", |(id, _)| id));
                button.btn.small { (way.button) }
            }))
        }
    }
}

/// A bout that waits, with a postponement asked for, and one that is over.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::parts::signs::Forecast;
    use super::samples::{at, frame};
    let corner = |name: &str, robot: Option<&str>| Corner {
        row: RobotRow {
            href: None,
            name: name.into(),
            bench: Some(14),
            verdict: None,
            forecast: Forecast::Tight,
            odds_percent: Some(74),
            eight_in_ten: None,
            hold_up: "weapon belt, 9 of 14 min".into(),
            basis: String::new(),
        },
        robot: robot.map(str::to_owned),
        facts: vec![
            ("Likely", "14:31".into()),
            ("Basis", "Reported <4> min ago".into()),
        ],
        hazards: vec!["Warn: Off its stand".into()],
        word: "/e/1/robots/1/word".into(),
        asked: robot.map(|_| (Some(10), "the <belt> has to be glued".into())),
        other: Some(("2".into(), "Copper Newt".into())),
    };
    let bout = |begun| BoutPage {
        tag: Tag {
            name: "Bout 17".into(),
            sub: "waits".into(),
            bench: None,
            href: None,
        },
        href: "/e/1/bouts/17".into(),
        call: at(31),
        facts: vec![("Likely to start", "14:43".into())],
        begun,
        over: begun,
        corners: vec![
            corner("Pewter <Finch>", Some("1")),
            corner("winner of 15", None),
        ],
        edit: Some("/e/1/register/bouts/17".into()),
    };
    vec![
        ("bout", page(&frame(), &bout(false))),
        ("bout-over", page(&frame(), &bout(true))),
    ]
}
