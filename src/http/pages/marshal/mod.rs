//! The marshal's round: stop now first, then who is live where and who has the links.

pub mod routes;

use super::clearance::{self, Clearance};
use super::parts::{
    clock::iso,
    fields,
    frame::{self, Frame, Tag},
    robot_row::tally,
    signs::Sign,
    verdict::Verdict,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The marshal's page.
#[derive(Debug)]
pub struct Marshal {
    /// "16 robots, 1 stop now".
    pub sub: String,
    /// Robots that wait to be armed, or are being armed: those in front first.
    pub arming: Vec<Waiting>,
    /// Robots, in bench order.
    pub round: Vec<Stop>,
    /// Hazards below stop now.
    pub hazards: Vec<Standing>,
    /// Everyone was told to stop, when and by whom.
    pub stopped: Option<(DateTime<Utc>, String)>,
    /// Danger told and not over: which robot and what.
    pub danger: Vec<Danger>,
}

/// A robot that waits to be armed.
#[derive(Debug, Clone)]
pub struct Waiting {
    /// Its name.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// "Arena queue, bout 16".
    pub place: String,
    /// What was said, and what speaks against it.
    pub clearance: Clearance,
}

/// A robot on the round.
#[derive(Debug, Clone)]
pub struct Stop {
    /// Its id.
    pub robot: String,
    /// Its name.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// Where it is.
    pub place: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// Who has the link.
    pub holder: String,
    /// What one tap says was seen; none where not everything stands.
    pub seen: Option<Vec<(&'static str, String)>>,
    /// It is allowed to be live here until then.
    pub allowed_until: Option<DateTime<Utc>>,
}

/// A hazard that stands.
#[derive(Debug, Clone)]
pub struct Standing {
    /// "Warn: bench 12, machine off its stand".
    pub title: String,
    /// A line below.
    pub detail: String,
    /// Its page.
    pub href: String,
}

/// Danger somebody told.
#[derive(Debug, Clone)]
pub struct Danger {
    /// The robot's id.
    pub robot: String,
    /// "Help at bench 14, Pewter Finch, from Ana".
    pub title: String,
    /// When.
    pub at: DateTime<Utc>,
    /// Somebody said they are coming.
    pub coming: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, view: &Marshal) -> Markup {
    let tag = Tag {
        name: "Marshal".into(),
        sub: view.sub.clone(),
        bench: None,
        href: None,
    };
    frame::phone(
        frame,
        "Marshal",
        &tag,
        html! {
            @for danger in &view.danger { (told(frame, danger)) }
            (arming(frame, &view.arming))
            section.panel data-part="round" { h2 { "Round " span.meta { "in bench order" } }
                p.intro { "“Looked” says that you saw every source as written." }
                ul.rows.round { @for stop in &view.round { (row(frame, stop)) } }
            }
            @if !view.hazards.is_empty() { section.panel data-part="hazards" { h2 { "Other hazards" }
                ul.rows { @for hazard in &view.hazards { li {
                    div { b { (hazard.title) } @if !hazard.detail.is_empty() { br; span.meta { (hazard.detail) } } }
                    a.btn.small.soft href=(hazard.href) aria-label=(format!("Open: {}", hazard.title)) { "Open" }
                } } }
            } }
            (whole_hall(frame, view))
        },
    )
}

fn told(frame: &Frame, danger: &Danger) -> Markup {
    let action = format!("{}/robots/{}/danger", frame.base, danger.robot);
    html! {
        section.panel.told role="alert" { h2 { (danger.title) } p.intro { "told " (frame.clock.age(danger.at)) @if let Some(who) = &danger.coming { ". " (who) " is coming" } }
            div.row {
                (fields::post(frame, &action, "grow", html! { button.btn.big.solid name="what" value="coming" { "I am going" } }))
                (fields::post(frame, &action, "grow", html! { button.btn.big name="what" value="over" { "It is over" } }))
            }
        }
    }
}

/// Clearances asked for and given, with everything against each in plain sight.
fn arming(frame: &Frame, waiting: &[Waiting]) -> Markup {
    html! {
        @if !waiting.is_empty() {
            section.panel data-part="arming" { h2 { "Arming " span.meta { (waiting.len()) } }
                @for waits in waiting {
                    div.asked {
                        h3 { a href=(waits.clearance.action) { (waits.name) } @if let Some(bench) = waits.bench { " " (tally(bench)) } }
                        p.meta { (waits.place) }
                        (clearance::said(&frame.clock, &waits.clearance))
                        (clearance::points(&frame.clock, &waits.clearance.against))
                        (clearance::answer(frame, &waits.clearance))
                    }
                }
                p.intro { "What you say here is what you saw. It is no permit." }
            }
        }
    }
}

fn row(frame: &Frame, stop: &Stop) -> Markup {
    let base = format!("{}/robots/{}", frame.base, stop.robot);
    let claims = stop.verdict.sign == Sign::MadeSafe;
    let bench = stop.bench.map_or(String::new(), |n| format!(", bench {n}"));
    html! {
        li data-till=[stop.verdict.until.filter(|_| claims).map(iso)] data-claims[claims] {
            @match stop.bench { Some(n) => { span.vh { "bench" } (tally(n)) } None => { span {} } }
            (stop.verdict.sign.beside_word())
            div { a.rname href=(format!("{base}/look")) { b { (stop.name) } }
                span.meta { span data-word { (stop.verdict.sign.word()) } ": " span data-reason { (stop.verdict.reason) } }
                span.meta { (stop.place) @if !stop.holder.is_empty() { ", link " (stop.holder) }
                    @if let Some(until) = stop.allowed_until { ", seen live under the marshal’s eye till " (frame.clock.time(until)) } }
            }
            div.acts {
                @match &stop.seen {
                    Some(fields) => { (fields::post(frame, &format!("{base}/looked"), "", html! {
                        @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
                        input type="hidden" name="back" value="marshal";
                        button.btn.small.soft aria-label=(format!("Looked{bench}, {}", stop.name)) { "Looked" }
                    })) }
                    None if stop.verdict.sign != Sign::InArena => { a.btn.small href=(format!("{base}/look")) aria-label=(format!("Look now{bench}, {}", stop.name)) { "Look now" } }
                    None => {}
                }
                @if matches!(stop.verdict.sign, Sign::Live | Sign::Unproved) {
                    (fields::post(frame, &format!("{base}/allow"), "", html! {
                        input type="hidden" name="for_min" value="5";
                        button.btn.small.soft aria-label=(format!("Under my eye while it is live, 5 min{bench}, {}", stop.name)) { "Under my eye" }
                    }))
                }
            }
        }
    }
}

fn whole_hall(frame: &Frame, view: &Marshal) -> Markup {
    let action = format!("{}/stop", frame.base);
    html! {
        section.panel data-part="hall" { h2 { "Whole hall" }
            @match &view.stopped {
                Some((at, who)) => {
                    p.intro { "Everyone was told to stop at " (frame.clock.time(*at)) " by " (who) "." }
                    (fields::post(frame, &action, "", html! { input type="hidden" name="stop" value="false"; button.btn.big.solid { "Go on" } }))
                }
                None => {
                    p.intro { "Goes to every page and the wall." }
                    details.act { summary.btn.big { "Everyone stop" }
                        (fields::post(frame, &action, "stacked", html! {
                            input type="hidden" name="stop" value="true";
                            p { "Tell the whole hall to stop?" }
                            button.btn.big.solid { "Yes, everyone stop" }
                        })) }
                }
            }
        }
    }
}

/// The round with a stop now.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::parts::banner::{Action, Banner, Loudness};
    use super::samples::{at, frame};
    let stop = |bench: i32, name: &str, sign, reason: &str, seen: bool| Stop {
        robot: bench.to_string(),
        name: name.into(),
        bench: Some(bench),
        place: "bench".into(),
        verdict: Verdict {
            sign,
            reason: reason.into(),
            oldest: None,
            until: Some(at(19)),
            note: String::new(),
            look: None,
        },
        holder: "with Gil".into(),
        seen: seen.then(|| vec![("link", "out".into())]),
        allowed_until: None,
    };
    let mut frame = frame();
    frame.banners = vec![Banner {
        loudness: Loudness::StopNow,
        title: "Stop now, bench 7".into(),
        text: "Flint Magpie: link in while two have hands in. Nobody at bench 7 has it open: send a runner.".into(),
        href: "/e/1/robots/7/look".into(),
        actions: vec![Action { label: "I am going".into(), action: "/e/1/robots/7/hazards".into(), fields: vec![("rule", "H01".into()), ("said", "seen".into())] }],
        joins_verdict: false,
    }];
    vec![(
        "marshal",
        page(
            &frame,
            &Marshal {
                sub: "16 robots, 1 stop now".into(),
                arming: vec![Waiting {
                    name: "Amber <Shrike>".into(),
                    bench: Some(4),
                    place: "arena queue, bout 16".into(),
                    clearance: clearance::sample(),
                }],
                round: vec![
                    stop(2, "Rust Hare", Sign::MadeSafe, "oldest 11 min", true),
                    stop(7, "Flint Magpie", Sign::Live, "link in, 1 min", false),
                    stop(
                        15,
                        "Brass <Heron>",
                        Sign::Unproved,
                        "bar not seen since the lift",
                        false,
                    ),
                    stop(21, "Slate Otter", Sign::InArena, "bout 15", false),
                ],
                hazards: vec![Standing {
                    title: "Warn: bench 12, machine off its stand".into(),
                    detail: "Nickel Wren, reported by Jon 6 min ago".into(),
                    href: "/e/1/robots/12".into(),
                }],
                stopped: None,
                danger: vec![Danger {
                    robot: "14".into(),
                    title: "Help at bench 14, Pewter Finch, from Ana".into(),
                    at: at(-1),
                    coming: None,
                }],
            },
        ),
    )]
}
