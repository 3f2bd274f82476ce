//! The machine from above as a clock face, weapon towards 12: link, valve, gauge, who stands where,
//! and where nobody stands.

use maud::{Markup, html};
use std::f64::consts::TAU;

/// Middle of the clock face.
const MIDDLE: (f64, f64) = (180.0, 165.0);
/// Its radius.
const FACE: f64 = 132.0;
/// Where people stand.
const PEOPLE: f64 = 118.0;
/// Where parts of the machine are.
const PARTS: f64 = 62.0;
/// The link of a machine on its back, outside of what else is at that hour.
const ON_ITS_BACK: f64 = 90.0;
/// Parts at the same hour stand so far from each other.
const APART: f64 = 27.0;

/// What is drawn, by hours.
#[derive(Debug, Clone, Default)]
pub struct Diagram {
    /// The link, upright.
    pub link: i32,
    /// The link when the machine lies on its back.
    pub inverted: Option<i32>,
    /// The bottle valve.
    pub valve: Option<i32>,
    /// The gauge.
    pub gauge: Option<i32>,
    /// Who acts.
    pub stand: Option<i32>,
    /// The second person.
    pub second: Option<i32>,
    /// The sector nobody stands in, clockwise.
    pub keep_out: Option<(i32, i32)>,
}

impl Diagram {
    /// The same in words, for whoever does not see it.
    pub fn words(&self) -> String {
        let mut words = vec![format!(
            "Seen from above, weapon towards 12 o’clock. The link is at {} o’clock upright",
            self.link
        )];
        let mut add = |what: &str, hour: Option<i32>| {
            words.extend(hour.map(|hour| format!("{what} at {hour} o’clock")));
        };
        add("on its back", self.inverted);
        add("bottle valve", self.valve);
        add("gauge and dump", self.gauge);
        add("whoever acts stands", self.stand);
        add("second person", self.second);
        if let Some((from, to)) = self.keep_out {
            words.push(format!("keep out from {from} to {to} o’clock"));
        }
        words.join(", ")
    }

    /// The drawing.
    pub fn draw(&self) -> Markup {
        let mark = |at: Option<i32>, letter: &str, others: &[Option<i32>]| {
            html! { @if let Some(hour) = at { @let (x, y) = point(f64::from(hour), further_in(hour, others));
            circle.pt cx=(n(x)) cy=(n(y)) r="13" {} text.ptx x=(n(x)) y=(n(y + 5.0)) { (letter) } } }
        };
        let person = |at: Option<i32>, number: &str| {
            html! { @if let Some(hour) = at { @let (x, y) = point(f64::from(hour), PEOPLE);
            circle.stand cx=(n(x)) cy=(n(y)) r="15" {} text.mid x=(n(x)) y=(n(y + 5.0)) { (number) } } }
        };
        html! {
            svg.dia viewBox="0 0 360 330" role="img" aria-label=(self.words()) {
                circle.thin cx=(n(MIDDLE.0)) cy=(n(MIDDLE.1)) r=(n(FACE)) {}
                @for hour in 1..=12 { @let (x1, y1) = point(f64::from(hour), FACE); @let (x2, y2) = point(f64::from(hour), FACE - 12.0);
                    line.tick x1=(n(x1)) y1=(n(y1)) x2=(n(x2)) y2=(n(y2)) {} }
                @if let Some((from, to)) = self.keep_out { path.arc d=(sector(from, to)) {} }
                path.body d="M120 240V122L132 92H228L240 122V240Z" {}
                text.lo.mid x="180" y="112" { "weapon" }
                (mark(Some(self.link), "L", &[])) (mark(self.valve, "V", &[Some(self.link)])) (mark(self.gauge, "G", &[Some(self.link), self.valve]))
                (person(self.stand, "1")) (person(self.second, "2"))
                @if let Some(hour) = self.inverted { @let (x, y) = point(f64::from(hour), ON_ITS_BACK);
                    circle.stand cx=(n(x)) cy=(n(y)) r="13" {} text.mid x=(n(x)) y=(n(y + 5.0)) { "L" } }
            }
        }
    }
}

/// How far out a part stands, with others at its hour before it: none hides another.
fn further_in(hour: i32, others: &[Option<i32>]) -> f64 {
    let same = others.iter().filter(|other| **other == Some(hour));
    same.fold(PARTS, |radius, _| radius - APART)
}

/// A point at an hour, so far from the middle.
fn point(hour: f64, radius: f64) -> (f64, f64) {
    let angle = hour / 12.0 * TAU;
    (
        MIDDLE.0 + radius * angle.sin(),
        MIDDLE.1 - radius * angle.cos(),
    )
}

/// The outline of the sector from one hour clockwise to another.
fn sector(from: i32, to: i32) -> String {
    let hours = (to - from).rem_euclid(12);
    let (x1, y1) = point(f64::from(from), FACE + 16.0);
    let (x2, y2) = point(f64::from(to), FACE + 16.0);
    let (x3, y3) = point(f64::from(to), 74.0);
    let (x4, y4) = point(f64::from(from), 74.0);
    let large = i32::from(hours > 6);
    let outer = FACE + 16.0;
    format!(
        "M{} {} A{outer} {outer} 0 {large} 1 {} {} L{} {} A74 74 0 {large} 0 {} {}Z",
        n(x1),
        n(y1),
        n(x2),
        n(y2),
        n(x3),
        n(y3),
        n(x4),
        n(y4)
    )
}

fn n(value: f64) -> String {
    format!("{value:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_stand_where_a_clock_has_them() {
        let near =
            |(x, y): (f64, f64), (a, b): (f64, f64)| (x - a).abs() < 1e-9 && (y - b).abs() < 1e-9;
        assert!(near(point(12.0, 10.0), (180.0, 155.0)));
        assert!(near(point(3.0, 10.0), (190.0, 165.0)));
        assert!(near(point(6.0, 10.0), (180.0, 175.0)));
        assert!(near(point(9.0, 10.0), (170.0, 165.0)));
    }

    #[test]
    fn parts_at_the_same_hour_do_not_hide_each_other() {
        assert_eq!(further_in(5, &[Some(7), None]), PARTS);
        assert_eq!(further_in(5, &[Some(5), None]), PARTS - APART);
        assert_eq!(further_in(5, &[Some(5), Some(5)]), PARTS - 2.0 * APART);
        // Two discs of radius 13 beside each other.
        const { assert!(APART > 26.0 && ON_ITS_BACK - PARTS > 26.0) };
    }

    #[test]
    fn what_is_drawn_is_said_as_well() {
        let diagram = Diagram {
            link: 5,
            inverted: Some(7),
            stand: Some(4),
            keep_out: Some((11, 1)),
            ..Diagram::default()
        };
        let words = diagram.words();
        for part in [
            "5 o’clock upright",
            "on its back at 7",
            "stands at 4",
            "from 11 to 1",
        ] {
            assert!(words.contains(part), "{words}");
        }
    }
}
