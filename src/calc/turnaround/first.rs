//! The first plans: quick, always there, often the best already.

use super::model::Model;
use super::schedule::{Builder, Justifier, Plan, list_by, rank, rules};
use super::work::Work;

/// Up to so many tasks, plans are also built along the clock.
const MOST_FOR_PARALLEL: usize = 500;
/// Up to so many tasks, every rule is tried and plans are justified.
const MOST_FOR_JUSTIFYING: usize = 2_000;

/// The best plan of the tasks in `on` that simple rules find.
pub(super) fn plan(
    model: &Model,
    justifier: &mut Justifier<'_>,
    on: &[bool],
    work: &mut Work<'_>,
) -> Plan {
    let rules = rules(model, on);
    let mut best: Option<Plan> = None;
    for key in &rules {
        let list = list_by(model, key);
        let serial = justifier.builder().serial(&list, on, 0);
        consider(&mut best, justifier, serial, model.n);
        if model.n <= MOST_FOR_PARALLEL {
            let parallel = justifier.builder().parallel(key, on);
            consider(&mut best, justifier, parallel, model.n);
        }
        if !work.spend(1 + model.n as u64 / 4) || model.n > MOST_FOR_JUSTIFYING {
            break;
        }
    }
    best.unwrap_or_else(|| justifier.builder().serial(&model.order, on, 0))
}

fn consider(best: &mut Option<Plan>, justifier: &mut Justifier<'_>, plan: Plan, n: usize) {
    let plan = if n <= MOST_FOR_JUSTIFYING {
        justifier.improve(plan)
    } else {
        plan
    };
    if best.as_ref().is_none_or(|b| rank(&plan) < rank(b)) {
        *best = Some(plan);
    }
}

/// Adds optional tasks to a plan that meets `limit`, those worth most for their work first.
pub(super) fn fill(
    model: &Model,
    justifier: &mut Justifier<'_>,
    plan: Plan,
    limit: i32,
    work: &mut Work<'_>,
) -> Plan {
    let mut best = plan;
    let mut wanted: Vec<usize> = (0..model.n)
        .filter(|&i| model.optional[i] && model.value[i] > 0)
        .collect();
    let cost = |i: usize| {
        let people: usize = model.slots[i].iter().map(|s| s.count).sum();
        i64::from(model.dur[i]) * (1 + people as i64 + model.holds[i].len() as i64)
    };
    // Worth per work without fractions: a/b before c/d if a*d > c*b.
    wanted.sort_by(|&a, &b| {
        (model.value[b] * cost(a))
            .cmp(&(model.value[a] * cost(b)))
            .then(a.cmp(&b))
    });
    for i in wanted {
        if best.on[i] {
            continue;
        }
        if !work.spend(1 + model.n as u64 / 20) {
            break;
        }
        let mut on = best.on.clone();
        on[i] = true;
        model.close(&mut on);
        for key in rules(model, &on).iter().take(2) {
            let list = list_by(model, key);
            let mut plan = justifier.builder().serial(&list, &on, 0);
            if !meets(&plan, limit) && model.n <= MOST_FOR_JUSTIFYING {
                plan = justifier.improve(plan);
            }
            if meets(&plan, limit) {
                best = plan;
                break;
            }
        }
    }
    best
}

/// Whether a plan is in time: by `limit`, and by each task's own deadline.
pub(super) fn meets(plan: &Plan, limit: i32) -> bool {
    plan.overdue == 0 && plan.finish <= limit
}

/// The same tasks by the same people in the same order, each as early as that allows.
pub(super) fn settle(model: &Model, plan: &Plan) -> Plan {
    let key: Vec<i64> = plan.start.iter().map(|&s| i64::from(s)).collect();
    let list = list_by(model, &key);
    let settled = Builder::new(model).settle(&list, &plan.on, &plan.crew);
    if rank(&settled) <= rank(plan) {
        settled
    } else {
        plan.clone()
    }
}
