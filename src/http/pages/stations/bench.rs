//! The stations as a bench needs them: where its robot waits, and queues to join by one tap.

use super::{Waiting, view};
use crate::http::pages::parts::{fields, frame::Frame};
use crate::http::pages::{reader::Reader, robot_now::RobotNow, words};
use crate::pit::logbook::station::Station;
use crate::pit::stations::{pool, queue};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A station that a robot waits at, or still needs.
#[derive(Debug, Clone)]
pub struct AtBench {
    /// What it is called.
    pub name: &'static str,
    /// Its page.
    pub href: String,
    /// The robot's id.
    pub robot: String,
    /// Where it stands in the queue; none if it has not asked.
    pub waits: Option<Waiting>,
    /// When it is likely to be served if it asks now.
    pub free_at: DateTime<Utc>,
}

/// The stations that a robot waits at or has open tasks for.
pub fn at_bench(reader: &Reader, now: &RobotNow<'_>) -> Vec<AtBench> {
    Station::ALL
        .into_iter()
        .filter_map(|station| {
            let queue = queue(&reader.pit, station, reader.clock.now);
            let waits = queue.of(now.id).map(|entry| view::waiting(reader, entry));
            let needs = pool(station).is_some_and(|pool| {
                now.today.items.iter().any(|item| {
                    !item.progress.is_done() && item.def.takes.iter().any(|take| take.pool == pool)
                })
            });
            (waits.is_some() || needs).then(|| AtBench {
                name: words::stations::name(station),
                href: view::address(reader, station),
                robot: now.id.to_string(),
                waits,
                free_at: queue.free_at,
            })
        })
        .collect()
}

/// The panel.
pub fn panel(frame: &Frame, stations: &[AtBench]) -> Markup {
    let step = |one: &AtBench, class: &str, step: &str, button: Markup| {
        fields::post(
            frame,
            &format!("{}/steps", one.href),
            class,
            html! {
                input type="hidden" name="robot" value=(one.robot);
                input type="hidden" name="step" value=(step);
                input type="hidden" name="back" value="bench";
                (button)
            },
        )
    };
    html! {
        @if !stations.is_empty() {
            section.panel data-part="stations" { h2 { "Stations" }
                ul.rows.places { @for one in stations { @if let Some(waits) = &one.waits { li {
                    span.num { span.vh { "place " } (waits.place) }
                    div { a.rname href=(one.href) { b { (one.name) } }
                        span.meta { (waits.state) @if !waits.served { ", about " (frame.clock.time(waits.starts)) } } }
                    @if !waits.served { (step(one, "", "left", html! { button.btn.small.soft aria-label=(format!("Leave: {}", one.name)) { "Leave" } })) }
                } } } }
                @if stations.iter().any(|one| one.waits.is_none()) {
                    p.lab { "Join a queue" }
                    div.chips { @for one in stations.iter().filter(|one| one.waits.is_none()) {
                        (step(one, "grow", "asked", html! {
                            button.btn.soft { span { (one.name) small { "about " (frame.clock.time(one.free_at)) } } }
                        }))
                    } }
                }
            }
        }
    }
}
