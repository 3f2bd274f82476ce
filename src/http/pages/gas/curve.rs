//! Pressure against temperature, drawn.

use maud::{Markup, html};

/// The pressure of a closed bottle against its temperature.
#[derive(Debug, Clone)]
pub struct Curve {
    /// Temperature in degC and pressure in bar gauge, by temperature.
    pub points: Vec<(f64, f64)>,
    /// What it is held against.
    pub limits: Vec<Limit>,
    /// The bottle in the hall.
    pub hall: Option<(f64, f64)>,
    /// What the drawing says.
    pub words: String,
}

/// A pressure with a name.
#[derive(Debug, Clone)]
pub struct Limit {
    /// "test pressure".
    pub name: String,
    /// Bar gauge.
    pub bar: f64,
}

const TOP: f64 = 22.0;
const BOTTOM: f64 = 220.0;
/// Room for the pressures at the left, percent.
const LEFT: f64 = 12.0;

struct Scale {
    coldest: f64,
    warmest: f64,
    highest: f64,
}

impl Scale {
    fn x(&self, degc: f64) -> String {
        let share = (degc - self.coldest) / (self.warmest - self.coldest);
        format!("{:.2}%", LEFT + share * (100.0 - LEFT))
    }

    fn y(&self, bar: f64) -> String {
        let share = (bar / self.highest).clamp(0.0, 1.0);
        format!("{:.1}", BOTTOM - share * (BOTTOM - TOP))
    }
}

impl Curve {
    fn scale(&self) -> Option<Scale> {
        let (coldest, warmest) = (self.points.first()?.0, self.points.last()?.0);
        let pressures = self.points.iter().map(|point| point.1);
        let limits = self.limits.iter().map(|limit| limit.bar);
        let highest = pressures.chain(limits).fold(0.0, f64::max) * 1.08;
        (warmest > coldest && highest > 0.0).then_some(Scale {
            coldest,
            warmest,
            highest,
        })
    }

    /// The drawing.
    pub fn show(&self) -> Markup {
        let Some(scale) = self.scale() else {
            return html! { p.intro { "There are too few values for a curve." } };
        };
        let marks = [0.0, 20.0, 40.0, 60.0];
        let step = if scale.highest > 150.0 { 100.0 } else { 50.0 };
        let levels = (0_u8..6)
            .map(|n| f64::from(n) * step)
            .filter(|bar| *bar < scale.highest);
        html! {
            svg.curve width="100%" height="246" role="img" aria-label=(self.words) {
                @for bar in levels {
                    line.grid x1=(format!("{LEFT}%")) x2="100%" y1=(scale.y(bar)) y2=(scale.y(bar)) {}
                    text.axis x="0" y=(scale.y(bar)) dy="5" { (bar) }
                }
                text.axis x="0" y="12" { "bar" }
                @for degc in marks.into_iter().filter(|degc| *degc >= scale.coldest && *degc <= scale.warmest) {
                    text.axis x=(scale.x(degc)) y=(BOTTOM + 18.0) text-anchor="middle" { (degc) " °C" }
                }
                @for limit in &self.limits {
                    line.limit x1=(format!("{LEFT}%")) x2="100%" y1=(scale.y(limit.bar)) y2=(scale.y(limit.bar)) {}
                    text.name x=(format!("{}%", LEFT + 1.0)) y=(scale.y(limit.bar)) dy="-5" { (limit.name) ", " (format!("{:.0}", limit.bar)) " bar" }
                }
                @for pair in self.points.windows(2) {
                    line.held x1=(scale.x(pair[0].0)) y1=(scale.y(pair[0].1)) x2=(scale.x(pair[1].0)) y2=(scale.y(pair[1].1)) {}
                }
                @if let Some((degc, bar)) = self.hall {
                    circle.g-ink cx=(scale.x(degc)) cy=(scale.y(bar)) r="5" {}
                    text.name x=(scale.x(degc)) y=(scale.y(bar)) dx="9" dy="18" { "hall" }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_higher_pressure_stands_higher_and_nothing_leaves_the_drawing() {
        let curve = Curve {
            points: vec![(-10.0, 25.0), (31.0, 74.0), (70.0, 310.0)],
            limits: vec![Limit {
                name: "test pressure".into(),
                bar: 250.0,
            }],
            hall: None,
            words: String::new(),
        };
        let scale = curve.scale().unwrap();
        let y = |bar: f64| scale.y(bar).parse::<f64>().unwrap();
        assert!(y(310.0) < y(250.0) && y(250.0) < y(25.0));
        assert!(y(310.0) > TOP && y(0.0) == BOTTOM);
        assert_eq!(scale.x(70.0), "100.00%");
    }

    #[test]
    fn one_value_is_no_curve() {
        let curve = Curve {
            points: vec![(20.0, 56.0)],
            limits: vec![],
            hall: None,
            words: String::new(),
        };
        assert!(curve.show().into_string().contains("too few values"));
    }
}
