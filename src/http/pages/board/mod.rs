//! The board: bouts in order, who will be ready, what holds them up.

pub mod order;
pub mod routes;

use super::parts::{
    clock::Clock,
    fields,
    frame::{self, Frame},
    robot_row::{self, RobotRow, tally},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The board of an event.
#[derive(Debug)]
pub struct Board {
    /// The bout in the arena, or the next one.
    pub running: Option<Running>,
    /// Minutes behind the printed order; negative if ahead.
    pub behind_min: Option<i64>,
    /// Robots of which there is word, and all.
    pub word_from: (usize, usize),
    /// When the day is likely to be over, and how long the arena stands unused till then.
    pub day: Option<(DateTime<Utc>, i64)>,
    /// What could be done about the order.
    pub order: Option<order::Choices>,
    /// How the bouts are sorted and which are shown: label, address, whether it is so.
    pub views: Vec<(&'static str, String, bool)>,
    /// The bouts.
    pub bouts: Vec<BoutRow>,
    /// Robots without word.
    pub silent: Vec<Silent>,
    /// Hazards of all, the most severe first: words and page.
    pub hazards: Vec<(String, Option<String>)>,
}

/// The bout whose end the organiser taps next.
#[derive(Debug, Clone)]
pub struct Running {
    /// Its id.
    pub bout: String,
    /// Its number.
    pub number: i32,
    /// It has begun.
    pub begun: bool,
    /// Who can have won: id and name.
    pub robots: Vec<(String, String)>,
}

/// A bout of the board.
#[derive(Debug, Clone)]
pub struct BoutRow {
    /// Its page.
    pub href: String,
    /// When it is likely to start, if it waits, and how long the arena stands unused before.
    pub starts: Option<(DateTime<Utc>, i64)>,
    /// Its number.
    pub number: i32,
    /// Its call.
    pub call: DateTime<Utc>,
    /// In the arena, over, or nothing.
    pub state: Option<&'static str>,
    /// It is the one in hand.
    pub current: bool,
    /// Both corners.
    pub robots: [RobotRow; 2],
    /// Both corners' own answers or an official's word.
    pub words: [String; 2],
}

/// A robot whose team enters nothing.
#[derive(Debug, Clone)]
pub struct Silent {
    /// Its id.
    pub robot: String,
    /// Its name.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// Its last word.
    pub since: Option<DateTime<Utc>>,
}

/// The page.
pub fn page(frame: &Frame, board: &Board) -> Markup {
    frame::desk(
        frame,
        "Board",
        html! {
            dl data-part="board-facts" {
                div { dt { "Now" } dd { time data-clock { (frame.clock.hm(frame.clock.now)) } } }
                @if let Some(late) = board.behind_min { div { dt { "Running" } dd { (running_late(late)) } } }
                @if let Some((ends, idle)) = board.day { div { dt { "Over about" } dd { (frame.clock.time(ends)) } } div { dt { "Arena unused" } dd { (idle) " min" } } }
                div { dt { "Word from" } dd { (board.word_from.0) " of " (board.word_from.1) } }
            }
            div.row.boardacts data-part="board-acts" { (acts(frame, board)) }
        },
        html! {
            div.deskgrid {
                div.stack { (views(frame, board)) (table(&frame.clock, board)) }
                div.side data-part="side" { (side(frame, board)) }
            }
        },
    )
}

fn running_late(minutes: i64) -> String {
    match minutes {
        0 => "on time".to_owned(),
        1.. => format!("{minutes} min late"),
        _ => format!("{} min early", -minutes),
    }
}

fn acts(frame: &Frame, board: &Board) -> Markup {
    html! {
        @if let Some(running) = &board.running {
            @if running.begun {
                details.act { summary.btn.solid { "Bout " (running.number) " ended" }
                    (fields::post(frame, &format!("{}/bouts/{}/ended", frame.base, running.bout), "panel stacked", html! {
                        p.lab-h { "Who won?" }
                        @for (id, name) in &running.robots { button.btn name="winner" value=(id) { (name) } }
                        button.btn.soft name="winner" value="" { "Nobody" }
                        a.btn.small.soft href=(format!("{}/bouts/{}", frame.base, running.bout)) { "A link came out, or one did not come" }
                    })) }
            } @else {
                (fields::post(frame, &format!("{}/bouts/{}/started", frame.base, running.bout), "", html! {
                    button.btn.solid { "Bout " (running.number) " begins" }
                }))
            }
        }
        (fields::post(frame, &format!("{}/calls/moved", frame.base), "", html! {
            input type="hidden" name="by_min" value="5"; button.btn.soft { "All +5 min" }
        }))
        details.act { summary.btn.soft { "Other" }
            (fields::post(frame, &format!("{}/calls/moved", frame.base), "panel stacked", html! {
                p.lab-h { "Move every call that has not begun" }
                div.fours { @for by in ["-5", "10", "15", "30"] { button.btn.soft name="by_min" value=(by) { @if !by.starts_with('-') { "+" } (by) " min" } } }
            })) }
    }
}

/// Sorted and filtered by links: each view has an address of its own.
fn views(frame: &Frame, board: &Board) -> Markup {
    html! {
        nav.views aria-label="Sort and filter" data-part="views" {
            @for (label, href, current) in &board.views { a.btn.small.soft href=(href) aria-current=[current.then_some("true")] { (label) } }
            a.btn.small.soft href=(format!("{}/board.csv", frame::api_of(&frame.base))) download { "CSV" }
        }
    }
}

fn table(clock: &Clock, board: &Board) -> Markup {
    html! {
        table.board data-part="bouts" {
            caption.vh { "Bouts in order, with both robots’ verdict, forecast, odds and first hold-up" }
            colgroup { col.k1; col.k2; @for _ in 0..2 { col.k3; col.k4; col.k5; col.k6; } }
            thead { tr {
                th scope="col" { "Bout" } th scope="col" { "Call" }
                @for _ in 0..2 { th scope="col" colspan="2" { "Robot, first hold-up" } th scope="col" { "Forecast" } th.ro scope="col" { "Odds" } }
            } }
            tbody { @for bout in &board.bouts {
                tr.onnow[bout.current] {
                    th.bno scope="row" { a.reasons href=(bout.href) aria-label=(format!("Bout {}", bout.number)) { (bout.number) } }
                    td.bt { (clock.time(bout.call)) small { @match bout.state { Some(state) => { (state) } None => { (clock.left(bout.call)) } } }
                        @if let Some((start, idle)) = bout.starts { small.starts { "starts " (clock.time(start)) @if idle > 0 { ", unused " (idle) " min" } } } }
                    @for (robot, word) in bout.robots.iter().zip(&bout.words) {
                        (robot_row::cells(clock, &RobotRow { basis: if word.is_empty() { robot.basis.clone() } else { word.clone() }, ..robot.clone() }, &bout.href))
                    }
                }
            } }
        }
        @if board.bouts.is_empty() { p.panel { "No bouts entered yet." } }
    }
}

fn side(frame: &Frame, board: &Board) -> Markup {
    html! {
        @if !board.hazards.is_empty() { section.panel { h2 { "Hazards" } ul.rows { @for (text, href) in &board.hazards {
            li { div { (text) } @if let Some(href) = href { a.btn.small.soft href=(href) { "Open" } } }
        } } } }
        @if let Some(choices) = &board.order { (order::panel(frame, choices, &format!("{}/order", frame.base))) }
        section.panel { h2 { "No word" }
            @if board.silent.is_empty() { p.intro { "There is word from every robot." } }
            @for silent in &board.silent { (silent_form(frame, silent)) }
        }
        nav.panel aria-label="More" { div.chips {
            a.btn.soft.grow href=(format!("{}/announcements", frame.base)) { "Announce" }
            a.btn.soft.grow href=(format!("{}/bout-list", frame.base)) { "Enter bouts" }
            a.btn.soft.grow href=(format!("{}/calendars", frame.base)) { "Calendars" }
            a.btn.soft.grow href=(format!("{}/wall", frame.base)) { "Wall page" }
        } }
    }
}

/// An official's word for a team that enters nothing.
fn silent_form(frame: &Frame, silent: &Silent) -> Markup {
    fields::post(
        frame,
        &format!("{}/robots/{}/word", frame.base, silent.robot),
        "silent",
        html! {
            p { b { (silent.name) } " " @if let Some(bench) = silent.bench { (tally(bench)) } br;
                span.meta { @match silent.since { Some(at) => { "nothing since " (frame.clock.time(at)) } None => { "nothing yet" } } ". Answer for them:" } }
            div.chips {
                button.btn.small.soft.grow name="answer" value="ready" aria-label=(format!("{} is ready", silent.name)) { "Ready" }
                @for minutes in [10, 20] { button.btn.small.soft.grow name="answer" value=(minutes) aria-label=(format!("{} needs {minutes} min", silent.name)) { (minutes) " min" } }
                button.btn.small.soft.grow name="answer" value="not" aria-label=(format!("{} will not be there", silent.name)) { "Not" }
            }
        },
    )
}

/// The board with bouts.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::parts::{
        signs::{Forecast, Sign},
        verdict::Verdict,
    };
    use super::samples::{at, desk_frame};
    let robot = |name: &str, bench, sign, forecast, odds, hold: &str| RobotRow {
        href: None,
        name: name.into(),
        bench: Some(bench),
        verdict: Some(Verdict {
            sign,
            reason: String::new(),
            oldest: None,
            until: Some(at(12)),
            note: String::new(),
            look: None,
        }),
        forecast,
        odds_percent: odds,
        eight_in_ten: odds.map(|_| at(24)),
        hold_up: hold.into(),
        basis: String::new(),
    };
    use Forecast::{InArena, Late, NoWord, OnCourse, OnHold, Ready, Tight};
    use Sign::{Live, MadeSafe, Unproved};
    let bout = |number, minutes, state: Option<&'static str>, robots| BoutRow {
        href: format!("/e/1/bouts/{number}"),
        starts: state.is_none().then(|| (at(minutes + 6), minutes / 10)),
        number,
        call: at(minutes),
        state,
        current: number == 15,
        robots,
        words: [
            String::new(),
            if number == 17 {
                "says: coming".into()
            } else {
                String::new()
            },
        ],
    };
    let mut all = order::samples();
    all.push((
        "board",
        page(
            &desk_frame(),
            &Board {
                running: Some(Running {
                    bout: "15".into(),
                    number: 15,
                    begun: true,
                    robots: vec![
                        ("1".into(), "Zinc Weasel".into()),
                        ("2".into(), "Slate Otter".into()),
                    ],
                }),
                behind_min: Some(7),
                word_from: (15, 16),
                day: Some((at(260), 41)),
                order: Some(order::sample()),
                views: vec![
                    ("In order", "/e/1/board".into(), true),
                    ("At risk first", "/e/1/board?sort=risk".into(), false),
                ],
                bouts: vec![
                    bout(
                        15,
                        -9,
                        Some("in the arena"),
                        [
                            robot(
                                "Zinc Weasel",
                                3,
                                Sign::InArena,
                                InArena,
                                None,
                                "armed 14:04, door shut",
                            ),
                            robot(
                                "Slate Otter",
                                21,
                                Sign::InArena,
                                InArena,
                                None,
                                "armed 14:05",
                            ),
                        ],
                    ),
                    bout(
                        16,
                        16,
                        None,
                        [
                            robot(
                                "Amber Shrike",
                                4,
                                MadeSafe,
                                Ready,
                                Some(100),
                                "in the queue since 14:06",
                            ),
                            robot(
                                "Tin Plover",
                                9,
                                MadeSafe,
                                OnCourse,
                                Some(93),
                                "test area at 14:12",
                            ),
                        ],
                    ),
                    bout(
                        17,
                        31,
                        None,
                        [
                            robot(
                                "Pewter Finch",
                                14,
                                MadeSafe,
                                OnCourse,
                                Some(96),
                                "gas-bay queue, 2 ahead",
                            ),
                            robot(
                                "Copper Newt",
                                22,
                                MadeSafe,
                                OnCourse,
                                Some(91),
                                "ram seals, 12 of 22 min",
                            ),
                        ],
                    ),
                    bout(
                        18,
                        41,
                        None,
                        [
                            robot("Flint Magpie", 7, Live, OnHold, None, "link in: stop now"),
                            robot(
                                "Chalk <Adder>",
                                11,
                                MadeSafe,
                                OnCourse,
                                Some(98),
                                "close up",
                            ),
                        ],
                    ),
                    bout(
                        19,
                        51,
                        None,
                        [
                            robot(
                                "Brass Heron",
                                15,
                                Unproved,
                                Tight,
                                Some(74),
                                "weapon belt, 9 of 14 min",
                            ),
                            robot(
                                "Rust Hare",
                                2,
                                MadeSafe,
                                Late,
                                Some(22),
                                "gearbox, 14 min short",
                            ),
                        ],
                    ),
                    bout(
                        20,
                        66,
                        None,
                        [
                            robot(
                                "Iron Lapwing",
                                18,
                                Sign::NoWord,
                                NoWord,
                                None,
                                "nothing since 12:40",
                            ),
                            robot(
                                "winner of 15",
                                6,
                                MadeSafe,
                                OnCourse,
                                Some(95),
                                "set charging till 14:52",
                            ),
                        ],
                    ),
                ],
                silent: vec![Silent {
                    robot: "1".into(),
                    name: "Iron Lapwing".into(),
                    bench: Some(18),
                    since: Some(at(-89)),
                }],
                hazards: vec![("Warn: bench 12, machine off its stand".into(), None)],
            },
        ),
    ));
    all
}
