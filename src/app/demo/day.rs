//! A day of bouts as its people would enter it: honest crews, officials, an organiser.
//!
//! Pure and repeatable: what is entered next is a function of what is known and of what this day
//! has entered before. The same day serves the demo and the tests that ask whether an honest day is
//! quiet.

mod crew;
mod kit;
mod replay;
mod twist;

pub use kit::{Kit, RobotKit, TeamKit};

use crate::app::door::Enterer;
use crate::pit::hazards::{Severity, hazards};
use crate::pit::ids::{BoutId, LineId, PersonId, RobotId, Subject};
use crate::pit::logbook::bout::{CallsMoved, Ended, Ending, Started};
use crate::pit::logbook::machine::Place;
use crate::pit::logbook::{Author, Body, Draft, How, Role};
use crate::pit::state::Pit;
use crate::pit::state::running_order::Progress;
use crate::pit::tasks;
use chrono::{DateTime, TimeDelta, Utc};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use uuid::Uuid;

/// Time from a call to the start of its bout: placing and arming.
const PLACING: TimeDelta = TimeDelta::minutes(4);
/// Time a bout takes.
const BOUT: TimeDelta = TimeDelta::minutes(3);
/// A bout that waits longer than this for a robot moves every later call.
const PATIENCE: TimeDelta = TimeDelta::minutes(6);

/// One report: who hands in what, and when.
#[derive(Debug, Clone)]
pub struct Step {
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub who: Enterer,
    /// What.
    pub drafts: Vec<Draft>,
}

/// Something that somebody of this day does out of the ordinary.
#[derive(Debug, Clone)]
pub struct Turn {
    /// When.
    pub at: DateTime<Utc>,
    /// The robot.
    pub robot: RobotId,
    /// What.
    pub twist: Twist,
}

/// What happens out of the ordinary.
#[derive(Debug, Clone)]
pub enum Twist {
    /// This damage is found when the machine is next looked over.
    Damage(Vec<(&'static str, &'static str)>),
    /// Nobody of the team enters anything any more.
    Silence,
    /// Nobody of the team reads the link plan back, written anew at this moment.
    UnreadPlan,
    /// Somebody puts the link in where the robot stands.
    LinkIn,
    /// Somebody pulls it.
    LinkOut,
    /// Somebody else sees that it is out.
    LinkSeenOut,
    /// Nobody looks again although the accounts grow old.
    NobodyLooks,
    /// The link plan is read back by everyone named in it.
    PlanReadBack,
    /// The crew goes on as it should.
    GoOn,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Act {
    Crew(RobotId),
    Place(BoutId),
    Arm(RobotId),
    Start(BoutId),
    End(BoutId),
    Turn(usize),
}

/// A day, as far as it has been entered.
#[derive(Clone)]
pub struct Day {
    kit: Kit,
    turns: Vec<Turn>,
    queue: BinaryHeap<Reverse<(DateTime<Utc>, u64, Act)>>,
    made: u64,
    /// Damage that waits to be found.
    damage: BTreeMap<RobotId, Vec<(&'static str, &'static str)>>,
    silent: Vec<RobotId>,
    nobody_looks: Vec<RobotId>,
    unread: Vec<RobotId>,
    arrived_at: BTreeMap<RobotId, DateTime<Utc>>,
    waiting_since: BTreeMap<BoutId, DateTime<Utc>>,
}

impl Day {
    /// A day with these people, robots and bouts, whose crews arrive from `arrival` on.
    pub fn new(kit: Kit, turns: Vec<Turn>, arrival: DateTime<Utc>) -> Self {
        let mut day = Self {
            turns,
            queue: BinaryHeap::new(),
            made: 0,
            damage: BTreeMap::new(),
            silent: Vec::new(),
            nobody_looks: Vec::new(),
            unread: Vec::new(),
            arrived_at: BTreeMap::new(),
            waiting_since: BTreeMap::new(),
            kit,
        };
        let robots: Vec<RobotId> = day.kit.robots.iter().map(|robot| robot.id).collect();
        for (n, robot) in (0i32..).zip(robots) {
            let at = arrival + TimeDelta::seconds(40) * n;
            day.arrived_at.insert(robot, at);
            day.push(at, Act::Crew(robot));
        }
        let bouts: Vec<_> = day
            .kit
            .bouts
            .iter()
            .map(|(id, bout)| (*id, bout.call_at))
            .collect();
        for (bout, call_at) in bouts {
            day.push(call_at, Act::Place(bout));
        }
        for n in 0..day.turns.len() {
            day.push(day.turns[n].at, Act::Turn(n));
        }
        day
    }

    /// Who and what there is.
    pub fn kit(&self) -> &Kit {
        &self.kit
    }

    /// When the next thing happens; none if the day is over.
    pub fn next_at(&self) -> Option<DateTime<Utc>> {
        self.queue.peek().map(|Reverse((at, ..))| *at)
    }

    /// What is entered next, given what is known; none if the next thing is entered by nobody, or
    /// the day is over.
    pub fn next(&mut self, pit: &Pit) -> Option<Step> {
        let Reverse((at, _, act)) = self.queue.pop()?;
        let (who, drafts) = match act {
            Act::Crew(robot) => self.crew(pit, robot, at)?,
            Act::Place(bout) => self.place(pit, bout, at)?,
            Act::Arm(robot) => self.arm(pit, robot, at)?,
            Act::Start(bout) => self.start(pit, bout, at)?,
            Act::End(bout) => self.end(pit, bout, at)?,
            Act::Turn(n) => self.turn(pit, n, at)?,
        };
        (!drafts.is_empty()).then_some(Step { at, who, drafts })
    }

    fn push(&mut self, at: DateTime<Utc>, act: Act) {
        self.made += 1;
        self.queue.push(Reverse((at, self.made, act)));
    }

    /// The id of the next thing this day makes, sortable by the moment.
    fn id(&mut self, at: DateTime<Utc>) -> Uuid {
        self.made += 1;
        // The last two bytes stay free for the lines of one report.
        let [.., a, b, c, d] = self.made.to_be_bytes();
        let salt = self.kit.salt.to_be_bytes();
        let bits = [salt[0], salt[1], salt[2], salt[3], a, b, c, d, 0, 0];
        let since_epoch_ms = u64::try_from(at.timestamp_millis()).unwrap_or(0);
        uuid::Builder::from_unix_timestamp_millis(since_epoch_ms, &bits).into_uuid()
    }

    fn draft(
        &mut self,
        at: DateTime<Utc>,
        subject: Subject,
        how: Option<How>,
        body: Body,
    ) -> Draft {
        Draft {
            id: LineId(self.id(at)),
            at,
            seen_by: None,
            subject,
            how,
            corrects: None,
            if_revision: None,
            body,
        }
    }

    fn organiser(&self) -> Enterer {
        as_what(self.kit.organiser, Role::Organiser, None)
    }

    /// A bout waits until both robots stand in the arena queue; then they are armed and it starts.
    fn place(
        &mut self,
        pit: &Pit,
        bout: BoutId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let now = pit.bout(bout)?.clone();
        if now.progress != Progress::Waiting {
            return None;
        }
        if now.call > at {
            self.push(now.call, Act::Place(bout));
            return None;
        }
        let in_queue = now.robots.iter().all(|robot| {
            robot
                .and_then(|robot| pit.robot(robot))
                .is_some_and(|file| {
                    file.state
                        .place
                        .as_ref()
                        .is_some_and(|place| place.value == Place::Queue)
                })
        });
        if in_queue {
            for (n, robot) in (0i32..).zip(now.robots.into_iter().flatten()) {
                self.push(
                    at + TimeDelta::seconds(90) + TimeDelta::seconds(40) * n,
                    Act::Arm(robot),
                );
            }
            self.push(at + PLACING, Act::Start(bout));
            return None;
        }
        self.push(at + TimeDelta::minutes(1), Act::Place(bout));
        let since = *self.waiting_since.entry(bout).or_insert(at);
        if at - since < PATIENCE {
            return None;
        }
        self.waiting_since.insert(bout, at);
        let moved = CallsMoved {
            from_bout: Some(bout),
            by_min: 5,
            because: None,
        };
        let drafts = vec![self.draft(at, Subject::Event, None, Body::CallsMoved(moved))];
        Some((self.organiser(), drafts))
    }

    /// The marshal lets a bout begin unless something has to stop now.
    fn start(
        &mut self,
        pit: &Pit,
        bout: BoutId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let stopped = pit.bout(bout)?.robots.into_iter().flatten().any(|robot| {
            let work = tasks::today(pit, robot)
                .map(|today| tasks::work(pit, &today))
                .unwrap_or_default();
            let hazards = hazards(pit, robot, &work, at).value;
            hazards
                .iter()
                .any(|hazard| hazard.severity() == Severity::StopNow)
        });
        if stopped {
            self.push(at + TimeDelta::minutes(1), Act::Start(bout));
            return None;
        }
        self.push(at + BOUT, Act::End(bout));
        let started = Body::BoutStarted(Started {});
        let drafts = vec![self.draft(at, Subject::Bout(bout), None, started)];
        Some((self.organiser(), drafts))
    }

    fn end(&mut self, pit: &Pit, bout: BoutId, at: DateTime<Utc>) -> Option<(Enterer, Vec<Draft>)> {
        let now = pit.bout(bout)?.clone();
        let robots: Vec<RobotId> = now.robots.into_iter().flatten().collect();
        let luck = usize::try_from(bout.0.as_u128() % 7919).unwrap_or(0);
        let winner = robots.get(luck % robots.len().max(1)).copied();
        for robot in robots {
            self.push(at + TimeDelta::minutes(4), Act::Crew(robot));
        }
        let ended = Ended {
            winner,
            ending: Ending::Decided,
        };
        let drafts = vec![self.draft(at, Subject::Bout(bout), None, Body::BoutEnded(ended))];
        Some((self.organiser(), drafts))
    }

    fn team(&self, robot: RobotId) -> Option<&TeamKit> {
        let robot = self.kit.robots.iter().find(|kit| kit.id == robot)?;
        self.kit.teams.get(robot.team)
    }

    /// Somebody of the robot's team: another for each `n`.
    fn member(&self, robot: RobotId, n: usize) -> Option<Enterer> {
        let team = self.team(robot)?;
        let person = *team.people.get(n % team.people.len().max(1))?;
        let role = if team.people.first() == Some(&person) {
            Role::Lead
        } else {
            Role::Crew
        };
        Some(as_what(person, role, Some(team)))
    }
}

fn as_what(person: PersonId, role: Role, team: Option<&TeamKit>) -> Enterer {
    Enterer {
        author: Author {
            person: Some(person),
            role,
        },
        team: team.map(|team| team.id),
    }
}

#[cfg(test)]
mod tests;
