//! Who has which duty at a robot: taken by oneself, offered to another, ended.

pub mod routes;

use super::parts::{
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A duty of a robot.
#[derive(Debug, Clone)]
pub struct Duty {
    /// As the line says it.
    pub duty: String,
    /// In words.
    pub name: &'static str,
    /// Who has it.
    pub has: Option<String>,
    /// The reader has it.
    pub mine: bool,
    /// Offered to whom, by whom and when.
    pub offered: Option<Offered>,
}

/// An offer that nobody has taken.
#[derive(Debug, Clone)]
pub struct Offered {
    /// To whom.
    pub to: String,
    /// To the reader.
    pub to_me: bool,
    /// By whom.
    pub by: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// The duties of a robot.
#[derive(Debug, Clone)]
pub struct Duties {
    /// Where taking, offering and ending are posted.
    pub action: String,
    /// Each duty.
    pub duties: Vec<Duty>,
    /// Who may be offered one.
    pub people: Vec<Chip>,
}

/// The page.
pub fn page(frame: &Frame, tag: &Tag, view: &Duties, typed: &Typed) -> Markup {
    frame::phone(
        frame,
        &format!("Duties, {}", tag.name),
        tag,
        html! {
            (typed.summary())
            section.panel data-part="duties" {
                h2 { "Duties" }
                p.intro { "Whoever takes a duty has it until somebody else takes it. An offer moves nothing before it is taken, on one’s own phone or with one’s PIN." }
                ul.rows { @for duty in &view.duties { (row(frame, view, duty)) } }
            }
            (offer(frame, view, typed))
        },
    )
}

fn row(frame: &Frame, view: &Duties, duty: &Duty) -> Markup {
    html! {
        li data-duty=(duty.duty) {
            div {
                b { (duty.name) } br;
                span.meta { @match &duty.has { Some(who) => { (who) } None => { "nobody" } }
                    @if let Some(offer) = &duty.offered {
                        "; offered to " (offer.to) " by " (offer.by) ", " (frame.clock.age(offer.at)) ", not taken yet"
                    }
                }
            }
            div.acts {
                @if !duty.mine { (take(frame, &view.action, &duty.duty)) }
                @if duty.has.is_some() {
                    (fields::post(frame, &view.action, "", html! {
                        input type="hidden" name="duty" value=(duty.duty);
                        input type="hidden" name="back" value="duties";
                        button.btn.small.soft aria-label=(format!("{}: it is over", duty.name)) { "Over" }
                    }))
                }
            }
        }
    }
}

fn offer(frame: &Frame, view: &Duties, typed: &Typed) -> Markup {
    let duties: Vec<Chip> = view
        .duties
        .iter()
        .map(|duty| Chip::new(duty.duty.clone(), duty.name))
        .collect();
    html! {
        section.panel data-part="offer" { h2 { "Hand over" }
            (fields::post(frame, &view.action, "stacked", html! {
                input type="hidden" name="back" value="duties";
                (fields::select("duty", "Duty", "", "", &duties, typed))
                (fields::select("takes", "To whom", "", "", &view.people, typed))
                (fields::pin("pin", typed))
                p.intro { "With their PIN they have it at once; without, it is offered and they take it on their phone." }
                button.btn.big { "Hand over" }
            }))
        }
    }
}

fn take(frame: &Frame, action: &str, duty: &str) -> Markup {
    fields::post(
        frame,
        action,
        "",
        html! {
            input type="hidden" name="duty" value=(duty);
            input type="hidden" name="takes" value="me";
            input type="hidden" name="back" value="duties";
            button.btn.small { "I take it" }
        },
    )
}

/// On the bench: what is offered to the reader, one tap each.
pub fn offered_to_me(frame: &Frame, view: &Duties) -> Markup {
    html! {
        @for duty in &view.duties {
            @if let Some(offer) = duty.offered.as_ref().filter(|offer| offer.to_me) {
                section.panel data-part="offered" {
                    h2 { (offer.by) " offers you: " (duty.name) }
                    (take(frame, &view.action, &duty.duty))
                }
            }
        }
    }
}

/// The page with every state of a duty.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let duty = |duty: &str, name, has: Option<&str>, mine, offered| Duty {
        duty: duty.into(),
        name,
        has: has.map(Into::into),
        mine,
        offered,
    };
    let offered = Offered {
        to: "Ben <B>".into(),
        to_me: true,
        by: "Ana".into(),
        at: at(-3),
    };
    let tag = Tag {
        name: "Pewter Finch".into(),
        sub: "bout 16".into(),
        bench: Some(14),
        href: None,
    };
    let view = Duties {
        action: "/e/1/robots/14/duty".into(),
        duties: vec![
            duty("driver", "Driver", Some("Ana"), true, None),
            duty(
                "pack_watcher",
                "Pack watcher",
                Some("Ana"),
                false,
                Some(offered),
            ),
            duty("second_person", "Second person", None, false, None),
        ],
        people: vec![Chip::new("2", "Ben <B>")],
    };
    vec![("duties", page(&frame(), &tag, &view, &Typed::default()))]
}
