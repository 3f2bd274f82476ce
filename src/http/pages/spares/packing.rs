//! What to pack for the next event: a box under mass, price and room, or for a wanted confidence.

pub mod routes;

use super::super::parts::{
    fields::{Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// Height and width of the plot, in its own units.
const PLOT: (f64, f64) = (120.0, 320.0);

/// What to pack.
#[derive(Debug)]
pub struct Packing {
    /// The team.
    pub team: String,
    /// The spares page.
    pub back: String,
    /// This page's address.
    pub action: String,
    /// Which team, for those who see several.
    pub team_id: Option<String>,
    /// What was asked.
    pub typed: Typed,
    /// What came out.
    pub packed: Option<Packed>,
}

/// A packed box.
#[derive(Debug)]
pub struct Packed {
    /// "Nothing runs out: 94 in 100".
    pub headline: String,
    /// Mass, price and room, and whether it is proved to be the best.
    pub lines: Vec<String>,
    /// Part, units, chance that they are enough.
    pub parts: Vec<(String, u32, String)>,
    /// The frontier: mass in kilograms (or price, where no mass is known) and chance.
    pub frontier: Vec<(f64, f64)>,
    /// What stands along the frontier's axis.
    pub axis: &'static str,
}

/// The page.
pub fn page(frame: &Frame, view: &Packing) -> Markup {
    let tag = Tag {
        name: "Packing".to_owned(),
        sub: view.team.clone(),
        bench: None,
        href: None,
    };
    let number = |name, label, unit, value, hint| Text {
        kind: "number",
        unit,
        value,
        hint,
        ..Text::new(name, label)
    };
    frame::sheet(
        frame,
        "Packing",
        &tag,
        &view.back,
        html! {
            main.wrap #main data-part="main" {
                (view.typed.summary())
                section.panel { h2 { "What the box may be" }
                    form.stackform method="get" action=(view.action) {
                        @if let Some(team) = &view.team_id { input type="hidden" name="team" value=(team); }
                        (number("mass_kg", "At most", "kg", "15", "").show(&view.typed))
                        (number("price", "Costs at most", "", "", "In the event’s currency").show(&view.typed))
                        (number("volume_l", "Room", "l", "", "").show(&view.typed))
                        (number("confidence", "Or for this confidence", "in 100", "", "Then the lightest box is packed and the limits above do not count").show(&view.typed))
                        (number("rounds", "Rounds of a knock-out", "", "5", "Won with one chance in two").show(&view.typed))
                        (number("bouts", "Certain bouts before it", "", "0", "").show(&view.typed))
                        button.btn.solid { "Pack" }
                    }
                }
                @if let Some(packed) = &view.packed { (result(packed)) }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

fn result(packed: &Packed) -> Markup {
    html! {
        section.panel data-part="packed" { h2 { (packed.headline) }
            @for line in &packed.lines { p { (line) } }
            table.tbl { thead { tr { th scope="col" { "Part" } th.r scope="col" { "Pack" } th.r scope="col" { "Enough, in 100" } } }
                tbody { @for (part, units, enough) in &packed.parts { tr {
                    th scope="row" { (part) } td.r.num { (units) } td.r.num { (enough) }
                } } }
            }
        }
        @if packed.frontier.len() > 1 { section.panel { h2 { "What more buys" }
            (plot(packed))
            p.meta { "Chance that nothing runs out, by " (packed.axis) ", adding the part with the greatest gain each time." }
        } }
    }
}

/// The frontier as steps.
fn plot(packed: &Packed) -> Markup {
    let most = packed
        .frontier
        .iter()
        .map(|(cost, _)| *cost)
        .fold(f64::MIN_POSITIVE, f64::max);
    let (height, width) = PLOT;
    let mut path = String::new();
    for (n, (cost, chance)) in packed.frontier.iter().enumerate() {
        let x = 4.0 + cost / most * (width - 8.0);
        let y = 4.0 + (1.0 - chance) * (height - 8.0);
        path += &if n == 0 {
            format!("M{x:.1} {y:.1}")
        } else {
            format!("H{x:.1}V{y:.1}")
        };
    }
    let last = packed.frontier.last().map_or(0.0, |(_, chance)| *chance);
    html! {
        svg.frontier viewBox={ "0 0 " (width) " " (height) } role="img" aria-label={ "Rises to " (super::in_100(last)) " at " (format!("{most:.1}")) " " (packed.axis) } {
            path.axis d={ "M4 4V" (height - 4.0) "H" (width - 4.0) } {}
            path.line d=(path) {}
        }
        div.ends { span.num { "0" } span.num { (format!("{most:.1}")) " " (packed.axis) } }
    }
}

/// A box, and the form alone with a fault.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::super::samples::frame;
    let mut view = Packing {
        team: "Quayside <Shed>".into(),
        back: "/e/1/spares".into(),
        action: "/e/1/spares/packing".into(),
        team_id: None,
        typed: Typed::default(),
        packed: Some(Packed {
            headline: "Nothing runs out: 94 in 100".into(),
            lines: vec!["14.2 kg, 812.00 GBP".into()],
            parts: vec![("Wheel".into(), 3, "97 in 100".into())],
            frontier: vec![(0.0, 0.4), (1.2, 0.7), (3.0, 0.94)],
            axis: "kg",
        }),
    };
    let full = page(&frame(), &view);
    view.packed = None;
    view.typed
        .faults
        .insert("mass_kg".into(), "Kilograms, such as 12.5.".into());
    vec![("packing", full), ("packing-fault", page(&frame(), &view))]
}
