//! The charging table: what runs and who watches it, what goes on next and for which bout, and what
//! the mains carry.

mod load;
pub mod routes;
#[cfg(test)]
pub mod samples;
mod view;

pub use load::{Curve, Step};

use super::packs::caution;
use super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
    lanes::{self, Plan},
    robot_row::tally,
};
use maud::{Markup, html};

/// A team's charging table.
#[derive(Debug)]
pub struct Charging {
    /// "2 of 4 channels in use".
    pub sub: String,
    /// Where to go back to.
    pub back: Option<String>,
    /// Where its forms post; none for those who enter nothing.
    pub action: Option<String>,
    /// Which team, where that is not the reader's own.
    pub team: String,
    /// Where packs are charged and who watches, by the event's settings.
    pub rules: String,
    /// What runs.
    pub running: Vec<OnCharge>,
    /// Sets for the bouts to come.
    pub bouts: Vec<ForBout>,
    /// Channels with what runs and what goes on them.
    pub lanes: Option<Plan>,
    /// Circuits over time.
    pub curves: Vec<Curve>,
    /// Why nothing can be shared out.
    pub faults: Vec<String>,
    /// People who may be named, the person of this phone first.
    pub people: Vec<Chip>,
    /// Who is chosen at first.
    pub who: String,
    /// Teams to choose from, for those who see several: name and address.
    pub teams: Vec<(String, String)>,
    /// What came back.
    pub typed: Typed,
    /// What the event says about a burning pack.
    pub burning: Option<String>,
}

/// A set on charge.
#[derive(Debug, Clone)]
pub struct OnCharge {
    /// Its id.
    pub set: String,
    /// What it is called.
    pub label: String,
    /// Its page.
    pub href: String,
    /// "Channel 1 and Channel 2, since 14:02".
    pub on: String,
    /// "ready by 14:44, with a margin".
    pub ready: String,
    /// Who watches, and when that was last said.
    pub watch: String,
    /// What the charger must be set to.
    pub must: String,
    /// Whether and by whom that was read back.
    pub settings: String,
    /// It still has to be read back by a second person.
    pub to_read_back: bool,
    /// The mains failed since.
    pub interrupted: bool,
}

/// A set for a bout.
#[derive(Debug, Clone)]
pub struct ForBout {
    /// "Bout 17, Pewter Finch".
    pub title: String,
    /// The set; none if none can serve.
    pub set: Option<(String, String)>,
    /// What has to happen, and why it is late.
    pub detail: String,
    /// "14:44", "ready".
    pub ready: String,
    /// It may go on charge now: the set, its channels, and the current of each pack in mA.
    pub start: Option<Start>,
}

/// A charge that may begin now.
#[derive(Debug, Clone)]
pub struct Start {
    /// The set.
    pub set: String,
    /// Its channels.
    pub channels: Vec<String>,
    /// What they are called.
    pub on: String,
    /// Current of each pack, mA.
    pub current_ma: i32,
}

/// The page.
pub fn page(frame: &Frame, view: &Charging) -> Markup {
    let tag = Tag {
        name: "Charging table".into(),
        sub: view.sub.clone(),
        bench: None,
        href: view.back.clone(),
    };
    frame::phone(
        frame,
        "Charging table",
        &tag,
        html! {
            (view.typed.summary())
            @if !view.teams.is_empty() { section.panel data-part="teams" { h2 { "Teams" }
                ul.rows { @for (name, href) in &view.teams { li { a.btn.soft href=(href) { (name) } } } } } }
            @else {
                @for one in &view.running { (running(frame, view, one)) }
                @if view.running.is_empty() { section.panel data-part="running" { h2 { "Nothing is on charge" } p.intro { (view.rules) } } }
                @else { @if view.action.is_some() { (blip(frame, view)) } p.meta { (view.rules) } }
                (bouts(frame, view))
                @if let Some(plan) = &view.lanes { section.panel data-part="lanes" { h2 { "Channels" } (lanes::only(&frame.clock, plan)) } }
                @for fault in &view.faults { p.panel { (fault) } }
                @for curve in &view.curves { (curve.show(&frame.clock)) }
            }
            (caution(view.burning.as_deref()))
        },
    )
}

fn form(frame: &Frame, view: &Charging, class: &str, inside: Markup) -> Markup {
    html! { @if let Some(action) = &view.action {
        (fields::post(frame, action, class, html! { input type="hidden" name="team" value=(view.team); (inside) }))
    } }
}

fn running(frame: &Frame, view: &Charging, one: &OnCharge) -> Markup {
    // What was typed belongs to the set it was typed for.
    let blank = Typed::default();
    let typed = if view.typed.or("set", "") == one.set {
        &view.typed
    } else {
        &blank
    };
    let of = |name: &str| format!("{name}-{}", one.set);
    html! {
        section.panel data-part=(format!("charge-{}", one.label)) {
            h2 { a.rname href=(one.href) { (tally(&one.label)) } span.meta { (one.ready) } }
            @if one.interrupted { p.fault { "The mains went off while it was on charge: nobody knows what the charger does since. Read its settings back before it goes on." } }
            dl.facts { dt { "On" } dd { (one.on) }
                dt { "Watched" } dd { (one.watch) }
                dt { "Settings" } dd { (one.settings) small { (one.must) } } }
            (form(frame, view, "stacked", html! {
                input type="hidden" name="set" value=(one.set); input type="hidden" name="said" value="watch";
                button.btn.grow { "I watch it: all as before" }
            }))
            @if one.to_read_back { (form(frame, view, "stacked", html! {
                input type="hidden" name="set" value=(one.set); input type="hidden" name="said" value="read_back";
                p { "A second person reads the charger: " b { (one.must) } }
                @if view.people.len() > 1 { (fields::chips("who", "Who reads it", &view.who, &view.people, typed))
                    details.second open[typed.fault("pin").is_some()] { summary.btn.small.soft { "Somebody else than you: their PIN" } (fields::pin(&of("pin"), typed)) } }
                button.btn.solid name="is" value="so" { "Read back: it is so" }
                details.act open[["chemistry", "cells", "amps"].iter().any(|name| typed.fault(name).is_some())] { summary.btn.soft { "It is set to something else" }
                    (fields::chips("chemistry", "Chemistry", "", &[Chip::new("lipo", "LiPo"), Chip::new("nmc", "NMC"), Chip::new("lfp", "LFP")], typed))
                    (Text { id: &of("cells"), kind: "number", ..Text::new("cells", "Cells in series") }.show(typed))
                    (Text { id: &of("amps"), kind: "number", unit: "A", ..Text::new("amps", "Current for each pack") }.show(typed))
                    button.btn name="is" value="not_so" { "Enter what it is set to" }
                }
            })) }
            (form(frame, view, "stacked", html! {
                input type="hidden" name="set" value=(one.set); input type="hidden" name="said" value="off";
                details.act open[typed.fault("mah").is_some()] { summary.btn.soft { "Off charge" }
                    (Text { id: &of("mah"), kind: "number", unit: "mAh", hint: "All packs of the set together, as the charger counted it.", ..Text::new("mah", "Charge put in") }.show(typed))
                    (fields::chips("full", "How it ended", "", &[Chip::new("1", "The charger ended it: full"), Chip::new("0", "Cut short")], typed))
                    button.btn.solid { "Off the channel" }
                }
            }))
        }
    }
}

/// After the mains failed every charge is doubtful at once.
fn blip(frame: &Frame, view: &Charging) -> Markup {
    html! { details.act { summary.btn.soft { "The mains went off" }
        (form(frame, view, "stacked", html! {
            input type="hidden" name="said" value="interrupted";
            p { "Chargers may start anew with other settings. Every charge is marked until a second person has read its settings back." }
            button.btn { "Mark every charge" }
        }))
    } }
}

fn bouts(frame: &Frame, view: &Charging) -> Markup {
    html! { @if !view.bouts.is_empty() { section.panel data-part="bouts" { h2 { "Sets for the coming bouts" }
        ul.rows.packrows { @for one in &view.bouts { li {
            div { b { (one.title) }
                @if let Some((label, href)) = &one.set { a.rname href=(href) { (tally(label)) } }
                span.meta { (one.detail) }
                @if let Some(start) = &one.start { (form(frame, view, "stacked", html! {
                    input type="hidden" name="said" value="on"; input type="hidden" name="set" value=(start.set);
                    input type="hidden" name="current_ma" value=(start.current_ma);
                    @for channel in &start.channels { input type="hidden" name="channel" value=(channel); }
                    button.btn.solid { "On charge: " (start.on) }
                })) }
            }
            span.gain { span.num { (one.ready) } }
        } } }
    } } }
}
