//! Gas as a bench needs it: what is in the robot's bottles, and whether it is enough for the bout.

use super::view;
use crate::http::pages::bench::OpenPoint;
use crate::http::pages::reader::Reader;
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::pit::gas::{self, BottleNow, EnoughGas};
use crate::pit::logbook::things::ThingPlace;
use maud::{Markup, html};

/// A bottle of the robot.
#[derive(Debug, Clone)]
pub struct AtBench {
    /// What is written on it.
    pub label: String,
    /// Its page.
    pub href: String,
    /// "14 to 22 shots".
    pub shots: String,
    /// "Enough for the bout, in the machine".
    pub detail: String,
    /// Its keypad.
    pub keypad: String,
}

/// The robot's bottles, the one in the machine first.
pub fn at_bench(reader: &Reader, now: &RobotNow<'_>) -> (Vec<AtBench>, Option<OpenPoint>) {
    let mut bottles = gas::bottles_for(&reader.pit, now.id, reader.today());
    bottles.sort_by_key(|bottle| !is_in(bottle));
    let open = bottles
        .first()
        .and_then(|bottle| open_point(reader, bottle));
    let rows = bottles
        .iter()
        .filter_map(|bottle| row(reader, now, bottle))
        .collect();
    (rows, open)
}

fn is_in(bottle: &BottleNow) -> bool {
    bottle
        .place
        .is_some_and(|at| at.place == ThingPlace::Machine)
}

fn row(reader: &Reader, now: &RobotNow<'_>, bottle: &BottleNow) -> Option<AtBench> {
    let body = &reader.pit.bottles.get(&bottle.bottle)?.body;
    let place = bottle.place.map_or_else(
        || "nobody said where it is".to_owned(),
        |at| words::thing_place(at.place).to_owned(),
    );
    let known = match (
        bottle.shots.and_then(|shots| shots.enough),
        bottle.used_since,
    ) {
        (Some(enough), None) => view::enough_words(enough).to_owned(),
        (Some(_), Some(_)) => "In a bout since it was weighed".to_owned(),
        (None, _) => bottle.shots_unknown.join(" "),
    };
    Some(AtBench {
        label: body.label.to_string(),
        href: format!("{}/gas/{}", reader.base, bottle.bottle),
        shots: bottle
            .shots
            .map_or_else(|| "shots unknown".to_owned(), view::range),
        detail: if known.is_empty() {
            place
        } else {
            format!("{}; {place}", known.trim_end_matches('.'))
        },
        keypad: format!(
            "{}/bottles/{}/mass?robot={}",
            reader.base, bottle.bottle, now.id
        ),
    })
}

/// The bottle in the machine may not last: said before it is armed, and to nobody's alarm.
fn open_point(reader: &Reader, bottle: &BottleNow) -> Option<OpenPoint> {
    let shots = bottle.shots.filter(|_| is_in(bottle))?;
    let enough = shots.enough.filter(|enough| *enough != EnoughGas::Yes)?;
    let body = &reader.pit.bottles.get(&bottle.bottle)?.body;
    let why = match (bottle.used_since, shots.shots_a_bout) {
        (Some(since), _) => format!(
            "{} was in a bout at {} and nobody weighed it since",
            body.label,
            reader.clock.hm(since)
        ),
        (None, Some(bout)) => format!(
            "{}: {}, a bout takes up to {bout}",
            body.label,
            view::range(shots)
        ),
        (None, None) => body.label.to_string(),
    };
    Some(OpenPoint {
        title: view::enough_words(enough).replace("for", "gas for"),
        why,
        href: Some(format!("{}/gas/{}", reader.base, bottle.bottle)),
    })
}

/// The panel.
pub fn panel(bottles: &[AtBench]) -> Markup {
    html! {
        @if !bottles.is_empty() {
            section.panel data-part="gas" { h2 { "Gas" }
                ul.rows { @for bottle in bottles { li {
                    div { a.rname href=(bottle.href) { b { (bottle.shots) } } br; span.meta { (bottle.label) ": " (bottle.detail) } }
                    a.btn.small.soft href=(bottle.keypad) aria-label=(format!("Weigh: {}", bottle.label)) { "Weigh" }
                } } }
            }
        }
    }
}
