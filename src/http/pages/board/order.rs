//! Another order of the next bouts: what each would gain, one tap to take it.

use crate::app::{App, AppError, order};
use crate::auth::Action as Right;
use crate::calc::running_order::{OrderOutcome, OrderProposalReason};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, see};
use crate::http::pages::parts::{
    fields,
    frame::{self, Frame, Tag},
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::BoutId;
use crate::pit::order::Outlook;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};

/// An order to choose.
#[derive(Debug, Clone)]
pub struct Choice {
    /// "Bout 18 before bout 17".
    pub title: String,
    /// Each bout whose call changes: its number, its call, its new call.
    pub moves: Vec<(i32, String, String)>,
    /// Greatest lateness in whole minutes.
    pub latest_min: i64,
    /// Sum of all latenesses.
    pub total_min: i64,
    /// Time the arena stands unused.
    pub idle_min: i64,
    /// Chance that nobody is late, in percent.
    pub on_time_percent: u8,
    /// Swaps of neighbours.
    pub swaps: u32,
    /// What the form that takes it sends; none for the order as it stands.
    pub takes: Option<String>,
    /// It is the one proposed.
    pub proposed: bool,
}

/// The orders there are to choose from.
#[derive(Debug, Clone)]
pub struct Choices {
    /// The order as it stands, then those that are better, nearest first.
    pub all: Vec<Choice>,
    /// Why there is a proposal or none.
    pub why: &'static str,
    /// Robots whose hold or refusal does not count.
    pub uncounted: Vec<String>,
    /// When it was worked out.
    pub at: String,
    /// Where an order is taken.
    pub action: String,
}

impl Choices {
    /// What was found, for a reader.
    pub fn of(reader: &Reader, outlook: &Outlook) -> Self {
        let found = &outlook.found;
        let choice = |outcome: &OrderOutcome, n: Option<usize>| choice(reader, outlook, outcome, n);
        let mut all = vec![choice(&found.published, None)];
        let better = found.better.iter().enumerate();
        all.extend(better.map(|(n, outcome)| choice(outcome, Some(n))));
        Self {
            all,
            why: match found.proposal.reason {
                OrderProposalReason::PublishedIsOnTime => "The order as it stands is on time.",
                OrderProposalReason::NothingImproves => "No other order is better.",
                OrderProposalReason::RemovesLateness => {
                    "The smallest change that is on time often enough."
                }
                OrderProposalReason::ReducesLateness => {
                    "No order is on time often enough. This one is late least."
                }
            },
            uncounted: outlook
                .window
                .uncounted
                .iter()
                .map(|robot| reader.robot(*robot))
                .collect(),
            at: reader.clock.hm(outlook.window.from),
            action: format!("{}/order", reader.base),
        }
    }

    /// The one that is proposed.
    pub fn proposed(&self) -> Option<&Choice> {
        self.all.iter().find(|choice| choice.proposed)
    }
}

fn choice(reader: &Reader, outlook: &Outlook, outcome: &OrderOutcome, n: Option<usize>) -> Choice {
    let number = |id: BoutId| reader.pit.bout(id).map_or(0, |bout| bout.number);
    let order = outlook.order(outcome);
    let moves: Vec<(i32, String, String)> = outlook
        .moves(outcome)
        .iter()
        .map(|one| {
            let clock = &reader.clock;
            (number(one.bout), clock.hm(one.from), clock.hm(one.to))
        })
        .collect();
    let numbers: Vec<String> = moves
        .iter()
        .map(|(number, ..)| number.to_string())
        .collect();
    let takes: Vec<String> = order
        .iter()
        .filter_map(|id| Some(format!("{id}:{}", reader.pit.bouts.get(id)?.revision)))
        .collect();
    Choice {
        title: match n {
            None => "As it stands".to_owned(),
            Some(_) => format!("Bouts {} in this order", words::list(&numbers)),
        },
        moves,
        latest_min: minutes(outcome.max_late_s.max(0.0)),
        total_min: minutes(outcome.total_late_s),
        idle_min: minutes(outcome.idle_s),
        on_time_percent: crate::http::pages::robot_now::percent(outcome.on_time_probability),
        swaps: outcome.swaps,
        takes: n.map(|_| takes.join(" ")),
        proposed: n.is_some() && n == outlook.found.proposal.place,
    }
}

#[expect(clippy::cast_possible_truncation, reason = "within days")]
fn minutes(seconds: f64) -> i64 {
    (seconds / 60.0).round() as i64
}

/// The proposal beside the board.
pub fn panel(frame: &Frame, choices: &Choices, page: &str) -> Markup {
    let stands = choices.all.first();
    html! {
        section.panel data-part="order" { h2 { "Running order" }
            @match (choices.proposed(), stands) {
                (Some(choice), Some(stands)) => {
                    div.prop { b { (choice.title) }
                        (moves(choice))
                        p { "Late in all " (stands.total_min) " min, then " (choice.total_min) " min. Nobody late: "
                            (stands.on_time_percent) " %, then " (choice.on_time_percent) " %. Arena unused " (stands.idle_min) " min, then " (choice.idle_min) " min." }
                        (take(frame, choices, choice))
                    }
                }
                _ => { p.intro { (choices.why) } }
            }
            @if !choices.uncounted.is_empty() { p.meta { "Not counted, for nobody can say when: " (words::list(&choices.uncounted)) "." } }
            a.btn.small.soft href=(page) { "All orders" }
        }
    }
}

fn moves(choice: &Choice) -> Markup {
    html! { ul.plainlist { @for (number, from, to) in &choice.moves { li { "Bout " (number) ": " (from) " becomes " b.num { (to) } } } } }
}

fn take(frame: &Frame, choices: &Choices, choice: &Choice) -> Markup {
    html! { @if let Some(takes) = &choice.takes {
        (fields::post_now(frame, &choices.action, "", html! {
            input type="hidden" name="order" value=(takes);
            button.btn.grow { "Take this order" }
        }))
    } }
}

/// Every order worth a look.
pub fn page(frame: &Frame, tag: &Tag, choices: Option<&Choices>, may_take: bool) -> Markup {
    frame::phone(
        frame,
        "Running order",
        tag,
        html! {
            @match choices {
                None => { section.panel data-part="choices" { p { "Fewer than two bouts wait, or they were not looked at yet." } } }
                Some(choices) => { div.stack data-part="choices" {
                    p.intro { (choices.why) " Worked out at " (choices.at) ", on 1,000 draws of when each robot is ready. The calls stay; who is called changes." }
                    @if !choices.uncounted.is_empty() { p.meta { "Not counted, for nobody can say when: " (words::list(&choices.uncounted)) "." } }
                    @for choice in &choices.all {
                        section.panel { h2 { (choice.title) @if choice.proposed { " " span.meta { "proposed" } } }
                            (moves(choice))
                            dl.facts {
                                dt { "Latest bout" } dd { (choice.latest_min) " min late" }
                                dt { "Late in all" } dd { (choice.total_min) " min" }
                                dt { "Nobody late" } dd { (choice.on_time_percent) " %" }
                                dt { "Arena unused" } dd { (choice.idle_min) " min" }
                                dt { "Change" } dd { (choice.swaps) @if choice.swaps == 1 { " swap of neighbours" } @else { " swaps of neighbours" } }
                            }
                            @if may_take { (take(frame, choices, choice)) }
                        }
                    }
                } }
            }
        },
    )
}

/// `GET /e/{event}/order`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeBoard)?;
    let reader = Reader::of(&here, &app).await?;
    let choices = app
        .orders
        .last(here.event.id(), &here.pit)
        .map(|outlook| Choices::of(&reader, &outlook));
    let tag = Tag {
        name: "Running order".to_owned(),
        sub: "the next bouts".to_owned(),
        bench: None,
        href: Some(format!("{}/board", reader.base)),
    };
    let may_take = here.signed.does(Right::OrderBouts).is_ok();
    let frame = reader.frame(Place::Board);
    Ok(form::page(page(&frame, &tag, choices.as_ref(), may_take)))
}

/// `POST /e/{event}/order`: bouts with the revisions they were seen at.
pub async fn taken(here: Here, fields: web::Form<Fields>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::OrderBouts)?;
    let placed = fields.get("order").unwrap_or_default().split_whitespace();
    let wanted: Option<Vec<(BoutId, i64)>> = placed
        .map(|placed| {
            let (bout, revision) = placed.split_once(':')?;
            Some((bout.parse().ok()?, revision.parse().ok()?))
        })
        .collect();
    let wanted = wanted.ok_or_else(|| AppError::malformed("/order", "Which order?"))?;
    let key = fields.key()?;
    let lines = order::lines(&here.pit, &wanted, fields.seen_at(here.now), |n| key.nth(n))?;
    if !lines.is_empty() {
        record(&here, &fields, lines).await?;
    }
    Ok(see(format!("/e/{}/board", here.event.id())))
}

/// With a proposal, and before anything was looked at.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use crate::http::pages::samples::frame;
    let tag = Tag {
        name: "Running order".into(),
        sub: "the next bouts".into(),
        bench: None,
        href: None,
    };
    vec![
        ("order", page(&frame(), &tag, Some(&sample()), true)),
        ("order-none", page(&frame(), &tag, None, true)),
    ]
}

/// Two orders, the second proposed.
#[cfg(test)]
pub fn sample() -> Choices {
    let stands = Choice {
        title: "As it stands".into(),
        moves: vec![],
        latest_min: 14,
        total_min: 41,
        idle_min: 12,
        on_time_percent: 22,
        swaps: 0,
        takes: None,
        proposed: false,
    };
    Choices {
        all: vec![
            stands,
            Choice {
                title: "Bouts 20 and 19 in this order".into(),
                moves: vec![
                    (20, "15:15".into(), "15:00".into()),
                    (19, "15:00".into(), "15:15".into()),
                ],
                latest_min: 3,
                total_min: 5,
                idle_min: 4,
                on_time_percent: 84,
                swaps: 1,
                takes: Some("1:2 2:3".into()),
                proposed: true,
            },
        ],
        why: "The smallest change that is on time often enough.",
        uncounted: vec!["Chalk <Adder>".into()],
        at: "14:09".into(),
        action: "/e/1/order".into(),
    }
}
