//! `/api/v1/events/{event}/order`: what another order of the next bouts would gain, and taking it.

use crate::app::{App, door, order};
use crate::auth::Action;
use crate::calc::running_order::{OrderOutcome, OrderProposalReason};
use crate::http::{Problem, document::Document, signed::Here};
use crate::pit::ids::{BoutId, LineId, RobotId};
use crate::pit::order::Outlook;
use crate::pit::state::Pit;
use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A bout of the window as it stands.
#[derive(Debug, Serialize, ToSchema)]
struct BoutToOrder {
    /// The bout.
    bout: BoutId,
    /// Its number.
    number: i32,
    /// Its call.
    call: DateTime<Utc>,
    /// Its revision, to name when its order is changed.
    revision: i64,
    /// Whether it keeps its place.
    fixed: bool,
}

/// A bout in another order.
#[derive(Debug, Serialize, ToSchema)]
struct BoutInOption {
    /// The bout.
    bout: BoutId,
    /// When it would start, on the average.
    start: DateTime<Utc>,
    /// How late that is against its published start, on the average; below 0 if early.
    late_s: f64,
}

/// An order, and what it leads to on the common samples.
#[derive(Debug, Serialize, ToSchema)]
struct OrderOption {
    /// The bouts.
    bouts: Vec<BoutInOption>,
    /// Swaps of neighbours that lead here from the order as it stands.
    swaps: u32,
    /// Bouts that stand at another place.
    bouts_moved: u32,
    /// Greatest lateness, on the average.
    max_late_s: f64,
    /// Sum of all latenesses, on the average.
    total_late_s: f64,
    /// How long the arena stands reset and unused, on the average.
    idle_s: f64,
    /// Chance that no bout is later than the event allows, from 0 to 1.
    on_time_probability: f64,
}

impl OrderOption {
    fn of(outlook: &Outlook, outcome: &OrderOutcome) -> Self {
        let ids = outlook.order(outcome);
        let starts = ids.into_iter().zip(&outcome.bouts);
        Self {
            bouts: starts
                .map(|(bout, time)| BoutInOption {
                    bout,
                    start: outlook.window.from + TimeDelta::seconds(whole(time.start_s)),
                    late_s: time.late_s,
                })
                .collect(),
            swaps: outcome.swaps,
            bouts_moved: outcome.bouts_moved,
            max_late_s: outcome.max_late_s,
            total_late_s: outcome.total_late_s,
            idle_s: outcome.idle_s,
            on_time_probability: outcome.on_time_probability,
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "within days of now")]
fn whole(seconds: f64) -> i64 {
    seconds.round() as i64
}

/// What could be done about the order of the next bouts.
#[derive(Debug, Serialize, ToSchema)]
struct OrderView {
    /// The next bouts that may change places, as they stand; empty with fewer than two.
    bouts: Vec<BoutToOrder>,
    /// What the order as it stands leads to.
    published: Option<OrderOption>,
    /// The best order at each number of swaps that is worth it, nearest first.
    options: Vec<OrderOption>,
    /// Place in `options` of the order proposed, if one is.
    proposed: Option<usize>,
    /// Why, or why not.
    reason: Option<OrderProposalReason>,
    /// Robots on hold or said not to come: they count as if they were there at their likely time.
    uncounted: Vec<RobotId>,
    /// The last line it knows of.
    last_seq: i64,
    /// The moment it was worked out for.
    now: DateTime<Utc>,
}

fn view(pit: &Pit, outlook: Option<&Outlook>, now: DateTime<Utc>) -> OrderView {
    let Some(outlook) = outlook else {
        return OrderView {
            bouts: Vec::new(),
            published: None,
            options: Vec::new(),
            proposed: None,
            reason: None,
            uncounted: Vec::new(),
            last_seq: pit.last_seq,
            now,
        };
    };
    let known = outlook.window.bouts.iter();
    OrderView {
        bouts: known
            .filter_map(|bout| {
                let known = pit.bouts.get(&bout.id)?;
                Some(BoutToOrder {
                    bout: bout.id,
                    number: bout.number,
                    call: bout.call,
                    revision: known.revision,
                    fixed: known.body.fixed,
                })
            })
            .collect(),
        published: Some(OrderOption::of(outlook, &outlook.found.published)),
        options: outlook
            .found
            .better
            .iter()
            .map(|outcome| OrderOption::of(outlook, outcome))
            .collect(),
        proposed: outlook.found.proposal.place,
        reason: Some(outlook.found.proposal.reason),
        uncounted: outlook.window.uncounted.clone(),
        last_seq: outlook.window.seq,
        now: outlook.window.from,
    }
}

/// Shows what another order would gain
///
/// The next bouts, up to eight, in every order that respects rest, reset, bouts that keep their
/// place and corners still open, played on common samples of when each robot is ready. The calls
/// stay where they are; who is called changes.
#[utoipa::path(
    operation_id = "get_order", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "The order as it stands, and those that are better.", body = OrderView)),
)]
#[get("/api/v1/events/{event}/order")]
pub async fn get_order(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeBoard)?;
    let outlook = app.orders.now(&here.event, here.now).await?;
    let pit = here.event.pit();
    Ok(HttpResponse::Ok().json(view(&pit, outlook.as_deref(), here.now)))
}

/// A bout in the order that is wanted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct BoutPlaced {
    /// The bout.
    bout: BoutId,
    /// Its revision as it was seen.
    revision: i64,
}

/// The order that is wanted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"bouts": [
    {"bout": "0197a3c2-0000-7000-8000-000000000102", "revision": 41},
    {"bout": "0197a3c2-0000-7000-8000-000000000101", "revision": 40},
]}))]
pub struct OrderForm {
    /// Bouts that follow one another, each once, in the order that is wanted.
    #[schema(min_items = 2, max_items = 64)]
    bouts: Vec<BoutPlaced>,
}

/// The lines that an order wrote.
#[derive(Debug, Serialize, ToSchema)]
struct OrderTaken {
    /// Places in the logbook of the bouts registered anew; empty if the order stood already.
    seqs: Vec<i64>,
}

/// Takes another order
///
/// The bouts named share their calls anew, in this order, all or none. Refused with names: a bout
/// lost, named twice or begun, one that keeps its place, one before the bout that decides who is in
/// it. 412 if one of them has changed since it was seen.
#[utoipa::path(
    operation_id = "change_order", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = OrderForm,
    responses((status = 200, description = "It is the order now.", body = OrderTaken)),
)]
#[post("/api/v1/events/{event}/order")]
pub async fn change_order(
    here: Here,
    app: web::Data<App>,
    Document(form): Document<OrderForm>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::OrderBouts)?;
    let order: Vec<(BoutId, i64)> = form
        .bouts
        .iter()
        .map(|placed| (placed.bout, placed.revision))
        .collect();
    let first = LineId(app.ids.id(here.now));
    let drafts = order::lines(&here.pit, &order, here.now, |n| first.nth(n))?;
    let mut seqs = Vec::new();
    if !drafts.is_empty() {
        let who = here.signed.enterer();
        let recorded = door::hand_in(&here.event, who, drafts, None, here.now, "/lines").await?;
        seqs.extend(recorded.iter().map(|line| line.seq));
    }
    Ok(HttpResponse::Ok().json(OrderTaken { seqs }))
}
