//! From a model to the best plan the budget allows, stage by stage.

use super::answer::Verdict;
use super::bounds;
use super::first;
use super::model::{FAR, Model};
use super::schedule::{Justifier, Plan, list_by, rank};
use super::shared::{Shared, shared};
use super::work::Work;

/// A plan and what is known about better ones.
pub(super) struct Found {
    pub verdict: Verdict,
    pub plan: Plan,
    pub value_bound: i64,
    pub finish_bound: i32,
}

/// A plan that was published before, read for the present model.
pub(super) struct Before {
    pub on: Vec<bool>,
    pub key: Vec<i64>,
    pub crew: Vec<Vec<usize>>,
}

/// Finds the best plan the work allows.
pub(super) fn find(model: &Model, before: Option<&Before>, work: &mut Work<'_>) -> Found {
    let mirror = model.mirrored(model.horizon);
    let mut justifier = Justifier::new(model, &mirror, model.horizon);
    let all = shared(model);
    let kept = before.map(|b| as_before(model, &mut justifier, b));
    let mandatory = model.mandatory();
    let limit = model.call.unwrap_or(FAR);
    let mut must = first::plan(model, &mut justifier, &mandatory, work);
    if let Some(kept) = kept
        .as_ref()
        .filter(|k| k.on == mandatory && rank(k) <= rank(&must))
    {
        must = kept.clone();
    }
    let mut found =
        if first::meets(&must, limit) || kept.as_ref().is_some_and(|k| first::meets(k, limit)) {
            let start = match &kept {
                Some(kept) if first::meets(kept, limit) => kept.clone(),
                _ => must,
            };
            let filled = first::fill(model, &mut justifier, start, limit, work);
            on_time(model, &all, filled)
        } else {
            late(model, &all, must)
        };
    found.plan = first::settle(model, &found.plan);
    found
}

fn on_time(model: &Model, all: &[Shared], plan: Plan) -> Found {
    let mandatory = model.mandatory();
    let head = bounds::calendar_heads(model, all, &mandatory);
    let latest = model.latest_ends(&mandatory, model.call.unwrap_or(FAR));
    let possible: Vec<bool> = (0..model.n)
        .map(|i| head[i] + model.dur[i] <= latest[i])
        .collect();
    let value_bound = model.worth(&possible);
    // With the whole value in the plan, whatever is worth something is done in every plan as good.
    let mut surely = mandatory;
    if model.worth(&plan.on) == value_bound {
        for i in (0..model.n).filter(|&i| possible[i] && model.value[i] > 0) {
            surely[i] = true;
        }
        model.close(&mut surely);
    }
    let head = bounds::calendar_heads(model, all, &surely);
    let finish_bound = bounds::finish_bound(model, all, &surely, &head).min(plan.finish);
    Found {
        verdict: Verdict::OnTime,
        value_bound,
        finish_bound,
        plan,
    }
}

fn late(model: &Model, all: &[Shared], plan: Plan) -> Found {
    let mandatory = model.mandatory();
    let head = bounds::calendar_heads(model, all, &mandatory);
    let mut finish_bound = bounds::finish_bound(model, all, &mandatory, &head).min(plan.finish);
    let limit = model.call.unwrap_or(FAR);
    if finish_bound <= limit && !bounds::misses(model, &mandatory, &head, limit) {
        // As long as a plan in time may exist, nothing about this one is settled.
        finish_bound = finish_bound.min(plan.finish - 1);
    }
    Found {
        verdict: Verdict::Late,
        value_bound: model.worth(&mandatory),
        finish_bound,
        plan,
    }
}

fn as_before(model: &Model, justifier: &mut Justifier<'_>, before: &Before) -> Plan {
    let list = list_by(model, &before.key);
    justifier.builder().settle(&list, &before.on, &before.crew)
}
