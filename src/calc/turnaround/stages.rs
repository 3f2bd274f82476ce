//! From a model to the best plan the budget allows, stage by stage.

use super::answer::Verdict;
use super::bounds::{self, Known};
use super::first;
use super::genetic::Breeder;
use super::model::{FAR, Model};
use super::neighbourhood::Neighbourhoods;
use super::schedule::{Justifier, Plan, list_by, rank};
use super::search::{End, Role, Search};
use super::shared::{Shared, shared};
use super::turns::{Turn, Turns};
use super::work::Work;

/// Up to so many tasks the search looks at the whole problem.
const MOST_FOR_SEARCH: usize = 300;
/// Up to so many tasks plans are bred where the search does not reach.
const MOST_FOR_BREEDING: usize = 2_000;
/// So many plans are bred a round, per task.
const BRED: usize = 10;
/// Neighbourhoods searched a round.
const NEAR_A_ROUND: usize = 4;
/// Contradictions spent on one neighbourhood.
const CLASHES_NEAR: u64 = 200;
/// How much earlier than before tasks after a neighbourhood may start. **Units** ticks.
const SLACK: i32 = 4;
/// Contradictions spent on one question before another is asked.
const ROUND: u64 = 2_000;
/// Contradictions spent on showing that the least finish is out of reach.
const PROBE: u64 = 200;

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
    let all = shared(model);
    let mut desk = Desk {
        model,
        all: &all,
        justifier: Justifier::new(model, &mirror, model.horizon),
        limit: model.call.unwrap_or(FAR),
    };
    let kept = before.map(|b| {
        let list = list_by(model, &b.key);
        desk.justifier.builder().settle(&list, &b.on, &b.crew)
    });
    let mandatory = model.mandatory();
    let mut must = first::plan(model, &mut desk.justifier, &mandatory, work);
    if let Some(kept) = kept
        .as_ref()
        .filter(|k| k.on == mandatory && rank(k) <= rank(&must))
    {
        must = kept.clone();
    }
    if let Some(kept) = kept.filter(|k| first::meets(k, desk.limit)) {
        return desk.on_time(kept, work);
    }
    if first::meets(&must, desk.limit) {
        return desk.on_time(must, work);
    }
    desk.in_doubt(must, work)
}

/// What all stages work with.
struct Desk<'a> {
    model: &'a Model,
    all: &'a [Shared],
    justifier: Justifier<'a>,
    /// The call.
    limit: i32,
}

impl Desk<'_> {
    /// No plan in time was found yet: finds one, or shows that there is none.
    fn in_doubt(&mut self, must: Plan, work: &mut Work<'_>) -> Found {
        let (model, all) = (self.model, self.all);
        let mandatory = model.mandatory();
        let least = self.least_finish(&mandatory);
        let roles: Vec<Role> = mandatory
            .iter()
            .map(|&m| if m { Role::Must } else { Role::Out })
            .collect();
        let mut best = must;
        let sound = best.overdue == 0;
        if model.n > MOST_FOR_SEARCH {
            return self.late(best, least, sound && least > self.limit);
        }
        let last = if sound {
            best.finish - 1
        } else {
            model.horizon
        };
        let mut search = Search::new(model, all, &roles, least, last);
        search.follow(&best);
        // In time comes first, however early the finish.
        if !search.is_exhausted() && search.least_finish() <= self.limit {
            let by = self.limit.min(last);
            let end = loop {
                match search.find_by(by, ROUND, work) {
                    End::Limit if work.has_more() => {}
                    end => break end,
                }
            };
            if let End::Plan(plan) = end {
                return self.on_time(first::settle(model, &plan), work);
            }
        }
        if best.overdue == 0 && !search.is_exhausted() && search.least_finish() > self.limit {
            // Late for certain: what is left is to finish early.
            let least = search.least_finish();
            let (plan, bound) = self.earliest(best, &roles, 0, least, work);
            return self.late(plan, bound, true);
        }
        while work.has_more() && !search.is_exhausted() {
            let next = if best.overdue == 0 {
                best.finish - 1
            } else {
                model.horizon
            };
            if search.least_finish() > next {
                break;
            }
            match self.closer(&mut search, next, ROUND, work) {
                End::Plan(plan) => {
                    best = first::settle(model, &plan);
                    if first::meets(&best, self.limit) {
                        return self.on_time(best, work);
                    }
                    search.follow(&best);
                }
                End::None => break,
                End::Limit => {}
            }
        }
        if best.overdue > 0 && (search.is_exhausted() || search.least_finish() > model.horizon) {
            return self.without_deadlines(work);
        }
        let done =
            search.is_exhausted() || (best.overdue == 0 && search.least_finish() >= best.finish);
        let bound = if done {
            best.finish
        } else {
            search.least_finish()
        };
        let certain = best.overdue == 0 && bound.max(search.least_finish()) > self.limit;
        self.late(best, bound, certain)
    }

    /// Mandatory tasks cannot all meet their own deadlines: the finish alone counts.
    fn without_deadlines(&mut self, work: &mut Work<'_>) -> Found {
        let mut free = self.model.clone();
        free.deadline = vec![FAR; free.n];
        free.call = None;
        for i in 0..free.n {
            free.optional[i] = false;
        }
        let out = self.model.mandatory();
        let mirror = free.mirrored(free.horizon);
        let mut desk = Desk {
            model: &free,
            all: self.all,
            justifier: Justifier::new(&free, &mirror, free.horizon),
            limit: FAR,
        };
        let roles: Vec<Role> = out
            .iter()
            .map(|&m| if m { Role::Must } else { Role::Out })
            .collect();
        let plan = first::plan(&free, &mut desk.justifier, &out, work);
        let least = desk.least_finish(&out);
        let (mut plan, bound) = desk.earliest(plan, &roles, 0, least, work);
        plan.overdue = (0..free.n)
            .filter(|&i| plan.on[i])
            .map(|i| i64::from((plan.start[i] + free.dur[i] - self.model.deadline[i]).max(0)))
            .sum();
        Found {
            verdict: Verdict::Late,
            value_bound: self.model.worth(&plan.on),
            finish_bound: bound,
            plan,
        }
    }

    fn late(&self, plan: Plan, bound: i32, certain: bool) -> Found {
        let bound = bound.min(plan.finish);
        Found {
            verdict: Verdict::Late,
            value_bound: self.model.worth(&self.model.mandatory()),
            // As long as a plan in time may exist, nothing about this one is settled.
            finish_bound: if certain {
                bound
            } else {
                bound.min(plan.finish - 1)
            },
            plan,
        }
    }

    /// From a plan in time: first the greatest value, then the earliest finish.
    fn on_time(&mut self, start: Plan, work: &mut Work<'_>) -> Found {
        let (model, all) = (self.model, self.all);
        let mandatory = model.mandatory();
        let head = bounds::calendar_heads(model, all, &mandatory);
        let latest = model.latest_ends(&mandatory, self.limit);
        let possible: Vec<bool> = (0..model.n)
            .map(|i| head[i] + model.dur[i] <= latest[i])
            .collect();
        let role = |i: usize| match (mandatory[i], possible[i]) {
            (true, _) => Role::Must,
            (false, true) => Role::May,
            (false, false) => Role::Out,
        };
        let mut roles: Vec<Role> = (0..model.n).map(role).collect();
        let mut best = first::fill(model, &mut self.justifier, start, self.limit, work);
        let perhaps: Vec<bool> = roles.iter().map(|&r| r == Role::May).collect();
        let mut known = Known {
            surely: &mandatory,
            perhaps: &perhaps,
            spare: 0,
        };
        let mut value_bound = model.worth(&possible);
        if model.worth(&best.on) < value_bound && model.n <= MOST_FOR_SEARCH {
            value_bound =
                bounds::value_bound(model, all, &known, &head, &latest).max(model.worth(&best.on));
        }
        if model.worth(&best.on) < value_bound && model.n <= MOST_FOR_SEARCH {
            known.spare = model.worth(&possible) - model.worth(&best.on) - 1;
            let least = bounds::finish_bound(model, all, &known, &head);
            let last = if self.limit == FAR {
                model.horizon
            } else {
                self.limit
            };
            let mut search = Search::new(model, all, &roles, least, last);
            search.worth_at_most(value_bound);
            search.follow(&best);
            while work.has_more()
                && model.worth(&best.on) < search.most_value()
                && !search.is_exhausted()
            {
                match search.find_worth(model.worth(&best.on) + 1, ROUND, work) {
                    End::Plan(plan) => {
                        best = first::settle(model, &plan);
                        search.follow(&best);
                    }
                    End::None => break,
                    End::Limit => {}
                }
            }
            value_bound = if search.is_exhausted() {
                model.worth(&best.on)
            } else {
                search.most_value()
            };
        }
        let value = model.worth(&best.on);
        if value == model.worth(&possible) {
            // With the whole value in the plan, whatever is worth something is done in all as good.
            let mut surely = mandatory.clone();
            for i in (0..model.n).filter(|&i| possible[i] && model.value[i] > 0) {
                surely[i] = true;
            }
            model.close(&mut surely);
            for i in (0..model.n).filter(|&i| surely[i]) {
                roles[i] = Role::Must;
            }
        }
        let surely: Vec<bool> = roles.iter().map(|&r| r == Role::Must).collect();
        let perhaps: Vec<bool> = roles.iter().map(|&r| r == Role::May).collect();
        let known = Known {
            surely: &surely,
            perhaps: &perhaps,
            spare: model.worth(&possible) - value,
        };
        let head = bounds::calendar_heads(model, all, &surely);
        let least = bounds::finish_bound(model, all, &known, &head);
        let (plan, finish_bound) = self.earliest(best, &roles, value, least, work);
        Found {
            verdict: Verdict::OnTime,
            value_bound,
            finish_bound,
            plan,
        }
    }

    /// The earliest finish of plans worth at least `value`, from `best` on.
    fn earliest(
        &mut self,
        mut best: Plan,
        roles: &[Role],
        value: i64,
        least: i32,
        work: &mut Work<'_>,
    ) -> (Plan, i32) {
        let model = self.model;
        if best.finish <= least || !work.has_more() {
            let bound = least.min(best.finish);
            return (best, bound);
        }
        let mirror = model.mirrored(model.horizon);
        let justifier = Justifier::new(model, &mirror, model.horizon);
        let mut breeder = Breeder::new(model, justifier, &best);
        if model.n > MOST_FOR_SEARCH {
            while work.has_more() && best.finish > least && model.n <= MOST_FOR_BREEDING {
                if let Some(plan) = breeder.breed(BRED, work) {
                    best = plan;
                }
            }
            let bound = least.min(best.finish);
            return (best, bound);
        }
        let mut search = Search::new(model, self.all, roles, least, best.finish - 1);
        search.worth_at_least(value);
        search.follow(&best);
        let mut near = Neighbourhoods::new(model);
        let mut turns = Turns::new(model.n);
        while work.has_more() && !search.is_exhausted() && search.least_finish() < best.finish {
            let turn = turns.next();
            let found = match turn {
                Turn::Glance => plan_of(self.closer(&mut search, best.finish - 1, PROBE, work)),
                Turn::Search => plan_of(self.closer(&mut search, best.finish - 1, ROUND, work)),
                Turn::Breed => breeder.breed(BRED * model.n, work),
                Turn::Near => self.near(&mut search, &mut near, &best, work),
            };
            turns.heed(turn, found.is_some());
            if let Some(plan) = found {
                best = first::settle(model, &plan);
                breeder.add(&best);
                search.finish_by(best.finish - 1);
                search.follow(&best);
            }
        }
        let bound = if search.is_exhausted() {
            best.finish
        } else {
            search.least_finish().min(best.finish)
        };
        (best, bound)
    }

    /// One round from both ends: is the least finish out of reach, is there anything by `next`?
    fn closer(&self, search: &mut Search<'_>, next: i32, clashes: u64, work: &mut Work<'_>) -> End {
        let least = search.least_finish();
        if least < next {
            match search.find_by(least, PROBE.min(clashes), work) {
                End::Plan(plan) => return End::Plan(plan),
                End::None if search.is_exhausted() => return End::None,
                End::None | End::Limit => {}
            }
        }
        search.find_by(next, clashes, work)
    }

    /// Searches some neighbourhoods of `best`.
    fn near(
        &self,
        search: &mut Search<'_>,
        near: &mut Neighbourhoods,
        best: &Plan,
        work: &mut Work<'_>,
    ) -> Option<Plan> {
        for _ in 0..NEAR_A_ROUND {
            if !work.has_more() || search.is_exhausted() {
                return None;
            }
            let free = near.draw(self.model, best);
            match search.find_near(best, &free, SLACK, best.finish - 1, CLASHES_NEAR, work) {
                End::Plan(plan) => return Some(plan),
                End::None => near.heed(true, self.model.n),
                End::Limit => near.heed(false, self.model.n),
            }
        }
        None
    }

    fn least_finish(&self, surely: &[bool]) -> i32 {
        let head = bounds::calendar_heads(self.model, self.all, surely);
        let known = Known {
            surely,
            perhaps: &vec![false; self.model.n],
            spare: 0,
        };
        bounds::finish_bound(self.model, self.all, &known, &head)
    }
}

fn plan_of(end: End) -> Option<Plan> {
    match end {
        End::Plan(plan) => Some(plan),
        End::None | End::Limit => None,
    }
}
