//! A robot's link plans: versions, who read which back, what was confirmed.

use super::sight::Sight;
use crate::calc::units::Seconds;
use crate::pit::ids::PersonId;
use crate::pit::logbook::Line;
use crate::pit::logbook::link_plan::{LinkPlan, Plan, Reach};
use std::collections::BTreeMap;

/// The plans of a robot, oldest first. The version of a plan is its place in this list, from 1.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LinkPlans {
    /// Every plan saved.
    pub saved: Vec<Sight<Plan>>,
    /// Who read which version back, and when last: each entered by that person. Nobody reads a plan
    /// back for somebody else.
    pub read_back: BTreeMap<(u32, PersonId), Sight<()>>,
    /// Of whom somebody else said so, which does not count.
    pub named: BTreeMap<(u32, PersonId), Sight<()>>,
    /// The latest word that the plan holds, with its version.
    pub confirmed: Option<(u32, Sight<()>)>,
    /// The latest time to reach the link, each way it may lie.
    pub timed: BTreeMap<Reach, Sight<Seconds>>,
}

impl LinkPlans {
    /// The plan in force and its version.
    pub fn current(&self) -> Option<(u32, &Sight<Plan>)> {
        let version = u32::try_from(self.saved.len()).ok()?;
        self.saved.last().map(|plan| (version, plan))
    }

    /// When `person` last read `version` back.
    pub fn read_by(&self, version: u32, person: PersonId) -> Option<&Sight<()>> {
        self.read_back.get(&(version, person))
    }

    /// Who said of `person` that they read `version` back, while they did not say so themselves.
    pub fn named_by(&self, version: u32, person: PersonId) -> Option<PersonId> {
        match self.read_by(version, person) {
            Some(_) => None,
            None => self.named.get(&(version, person))?.entered_by.person,
        }
    }

    /// The time to reach the link that counts: measured since the plan was saved, else as written
    /// in it.
    pub fn reach(&self, reach: Reach) -> Option<Seconds> {
        let (_, saved) = self.current()?;
        let plan = &saved.value;
        let written = match reach {
            Reach::Upright => plan.reach_upright_s,
            Reach::Inverted => plan.reach_inverted_s,
            Reach::HatchBent => plan.reach_hatch_bent_s,
        };
        self.timed
            .get(&reach)
            .filter(|timed| timed.at >= saved.at)
            .map(|timed| timed.value)
            .or(written)
    }

    pub(super) fn take(&mut self, line: &Line, plan: &LinkPlan) {
        match plan {
            LinkPlan::Saved(plan) => self.saved.push(Sight::of(line, (**plan).clone())),
            LinkPlan::ReadBack(read) => {
                for person in &read.read_by {
                    let own = line.entered_by.person == Some(*person);
                    let counted = if own {
                        &mut self.read_back
                    } else {
                        &mut self.named
                    };
                    counted.insert((read.version, *person), Sight::of(line, ()));
                }
            }
            LinkPlan::Confirmed(confirmed) => {
                self.confirmed = Some((confirmed.version, Sight::of(line, ())));
            }
            LinkPlan::Timed(timed) => {
                self.timed
                    .insert(timed.reach, Sight::of(line, timed.seconds));
            }
        }
    }
}
