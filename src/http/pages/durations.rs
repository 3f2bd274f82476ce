//! How long a team's work takes on a machine type, and how much of it is learned.

use super::bench::{routes::Of, routes::of_team, view::tag};
use super::form;
use super::parts::frame::{self, Frame, Tag};
use super::reader::{Place, Reader};
use crate::app::App;
use crate::http::Problem;
use crate::http::signed::Here;
use crate::pit::tasks::lessons::{Lesson, Lessons, Untaught};
use actix_web::{HttpResponse, web};
use maud::{Markup, html};

/// What is learned of how long tasks take.
#[derive(Debug)]
pub struct Durations {
    /// The robot.
    pub tag: Tag,
    /// Its bench.
    pub back: String,
    /// Tasks of which something is learned, most often first.
    pub rows: Vec<Row>,
    /// Tasks that were ended and taught nothing, and why.
    pub untaught: Vec<(String, String)>,
    /// How a whole turnaround may differ, in words.
    pub day: String,
}

/// A task.
#[derive(Debug)]
pub struct Row {
    /// What.
    pub name: String,
    /// The library's minutes.
    pub library: String,
    /// The minutes plans count with.
    pub likely: String,
    /// Not longer in eight cases of ten.
    pub most: String,
    /// "from 3 times; 2 not used: ticked late".
    pub from: String,
}

/// The page.
pub fn page(frame: &Frame, view: &Durations) -> Markup {
    frame::sheet(
        frame,
        "Durations learned",
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                section.panel data-part="durations" { h2 { "Durations learned" }
                    p.intro { "Per machine type, from work of your team that was begun and ended on a phone. Plans and odds count with them." }
                    @if view.rows.is_empty() { p.intro { "Nothing is learned yet: plans count with the library’s minutes." } }
                    @else {
                        table.tbl { thead { tr { th scope="col" { "Task" } th.r scope="col" { "Minutes" } th.r scope="col" { "8 in 10" } } }
                            tbody { @for row in &view.rows { tr {
                                th scope="row" { (row.name) small { (row.from) } }
                                td.r.num { (row.likely) small { "library " (row.library) } }
                                td.r.num { (row.most) }
                            } } } }
                    }
                    p.meta { (view.day) }
                }
                @if !view.untaught.is_empty() { section.panel data-part="untaught" {
                    details { summary.btn.soft { "Ended, not learned from: " (view.untaught.len()) }
                        p.intro { "Say “Done, next” or begin a task on a phone, and its time counts." }
                        ul.rows { @for (name, why) in &view.untaught { li { div { (name) br; span.meta { (why) } } } } }
                    }
                } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// `GET .../durations`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let register = &now.file.register.body;
    let lessons = Lessons::of(&reader.pit, register.team);
    let mut known: Vec<&Lesson> = lessons
        .tasks
        .iter()
        .filter(|((machine, _), _)| *machine == register.machine)
        .map(|(_, lesson)| lesson)
        .collect();
    known.sort_by_key(|lesson| (std::cmp::Reverse(lesson.used), lesson.name.clone()));
    let view = Durations {
        tag: tag(&reader, &now),
        back: reader.bench(now.id),
        untaught: known
            .iter()
            .filter(|lesson| lesson.used == 0)
            .map(|lesson| (lesson.name.clone(), unused(lesson)))
            .collect(),
        rows: known.into_iter().filter_map(row).collect(),
        day: format!(
            "Whole turnarounds differ by about {:.0} %, {}.",
            lessons.day_spread * 100.0,
            match lessons.lists {
                0 | 1 => "assumed until two have been timed".to_owned(),
                n => format!("learned from {n} of them"),
            }
        ),
    };
    let frame = reader.frame(Place::Bench(of.robot));
    Ok(form::page(page(&frame, &view)))
}

fn row(lesson: &Lesson) -> Option<Row> {
    let minutes = |value: f64| {
        if value < 10.0 {
            format!("{value:.1}")
        } else {
            format!("{value:.0}")
        }
    };
    let mut from = match lesson.used {
        1 => "from 1 time".to_owned(),
        n => format!("from {n} times"),
    };
    if !lesson.unused.is_empty() {
        from = format!("{from}; not used: {}", unused(lesson));
    }
    Some(Row {
        name: lesson.name.clone(),
        library: minutes(lesson.library.likely),
        likely: minutes(lesson.quantile(0.5)?),
        most: minutes(lesson.quantile(0.8)?),
        from,
    })
}

fn unused(lesson: &Lesson) -> String {
    let counts: Vec<String> = lesson
        .unused
        .iter()
        .map(|(why, count)| format!("{count} {}", words(*why)))
        .collect();
    counts.join(", ")
}

fn words(why: Untaught) -> &'static str {
    match why {
        Untaught::NotTimed => "without a beginning",
        Untaught::TickedLate => "ticked late",
        Untaught::ClosedTogether => "closed with others",
        Untaught::Implausible => "implausible",
    }
}

/// Nothing learned, and something.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::frame;
    let view = |rows, untaught| Durations {
        tag: Tag {
            name: "Pewter <Finch>".into(),
            sub: "v Copper Newt, bout 17".into(),
            bench: Some(14),
            href: None,
        },
        back: "/e/1/robots/1".into(),
        rows,
        untaught,
        day: "Whole turnarounds differ by about 10 %, assumed until two have been timed.".into(),
    };
    let rows = vec![Row {
        name: "Walk round <it>".into(),
        library: "4.0".into(),
        likely: "6.3".into(),
        most: "8.8".into(),
        from: "from 2 times; not used: 1 ticked late".into(),
    }];
    let untaught = vec![("Open up".into(), "2 without a beginning".into())];
    vec![
        ("durations", page(&frame(), &view(rows, untaught))),
        (
            "durations: nothing yet",
            page(&frame(), &view(Vec::new(), Vec::new())),
        ),
    ]
}
