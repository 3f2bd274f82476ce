//! What happens out of the ordinary, and the link plans.

use super::{Act, Day, Twist};
use crate::app::door::Enterer;
use crate::calc::units::{ClockHour, Count, Distance, Name, Note, Pull, Seconds};
use crate::pit::ids::{RobotId, Subject};
use crate::pit::link_plan;
use crate::pit::logbook::link_plan::{LinkPlan, OneLink, Plan, ReadBack};
use crate::pit::logbook::machine::{Link, LinkState};
use crate::pit::logbook::{Body, Draft, How};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};

impl Day {
    /// Something out of the ordinary happens.
    pub(super) fn turn(
        &mut self,
        pit: &Pit,
        n: usize,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let turn = self.turns.get(n)?.clone();
        let robot = turn.robot;
        match turn.twist {
            Twist::Damage(found) => {
                self.damage.insert(robot, found);
                None
            }
            Twist::Silence => {
                self.silent.push(robot);
                None
            }
            Twist::NobodyLooks => {
                self.nobody_looks.push(robot);
                None
            }
            Twist::UnreadPlan => {
                self.unread.push(robot);
                Some((
                    self.member(robot, 0)?,
                    vec![self.written_plan(pit, robot, at)?],
                ))
            }
            Twist::LinkIn => {
                let draft = self.link(robot, at, LinkState::In, How::Did);
                Some((self.member(robot, 1)?, vec![draft]))
            }
            Twist::LinkOut => {
                let draft = self.link(robot, at, LinkState::Out, How::Did);
                Some((self.member(robot, 1)?, vec![draft]))
            }
            Twist::LinkSeenOut => {
                let draft = self.link(robot, at, LinkState::Out, How::Saw);
                Some((self.member(robot, 2)?, vec![draft]))
            }
            Twist::PlanReadBack => {
                self.unread.retain(|other| *other != robot);
                self.push(at + TimeDelta::seconds(5), Act::Crew(robot));
                self.read_back(pit, robot, at)
            }
            Twist::GoOn => {
                self.silent.retain(|other| *other != robot);
                self.nobody_looks.retain(|other| *other != robot);
                self.push(at + TimeDelta::seconds(5), Act::Crew(robot));
                None
            }
        }
    }

    /// The lead writes the link plan once the robot has arrived.
    pub(super) fn first_plan(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let state = &pit.robot(robot)?.state;
        if state.place.is_none() || state.link_plans.current().is_some() {
            return None;
        }
        Some((
            self.member(robot, 0)?,
            vec![self.written_plan(pit, robot, at)?],
        ))
    }

    fn written_plan(&mut self, pit: &Pit, robot: RobotId, at: DateTime<Utc>) -> Option<Draft> {
        let register = &pit.robot(robot)?.register.body;
        let people = self.team(robot)?.people.clone();
        let note = |text: &str| Note::new(text).ok();
        let person = |n: usize| people.get(n % people.len()).copied();
        let plan = Plan {
            configuration: register.configuration.clone(),
            place: note("Rear right, under the hatch"),
            hatch: note("Quarter turn by hand, cut-out beside it"),
            retention: note("Strap over the link"),
            links: Count::new(i64::from(register.links.get()) + 1),
            spare: note("Locked box on the bench"),
            dead_when: note("Light beside the hatch dark"),
            holder: person(1),
            inserter: person(1),
            remover: person(2),
            verifier: person(0),
            reach_upright_s: Seconds::new(11),
            reach_inverted_s: Seconds::new(19),
            clock_upright: ClockHour::new(5),
            clock_inverted: ClockHour::new(7),
            to_wheel_mm: Distance::new(340),
            pull: note("Up and back"),
            pull_n: Pull::new(60),
            second_way: note("Saw cut beside the hatch"),
            wait_s: Seconds::new(10),
            meter: note("Meter at the two studs"),
            holder_deputy: person(0),
            remover_deputy: person(0),
            stand: ClockHour::new(4),
            stand_second: ClockHour::new(6),
            stand_off: note("From the side, reach tool 0.6 m"),
            keep_out_from: ClockHour::new(11),
            keep_out_to: ClockHour::new(1),
            valve: ClockHour::new(7).filter(|_| register.machine.has_gas()),
            gauge: ClockHour::new(9).filter(|_| register.machine.has_gas()),
            each: ["L1", "L2"]
                .iter()
                .filter_map(|mark| {
                    Some(OneLink {
                        mark: Name::new(mark).ok()?,
                        breaks: note("Drive and weapon, 300 A fuse"),
                        kept: note(if *mark == "L1" {
                            "Holder's hand"
                        } else {
                            "Locked box, spare, tried"
                        }),
                    })
                })
                .collect(),
            ..link_plan::draft(register.machine, pit.settings())
        };
        let body = Body::LinkPlan(LinkPlan::Saved(Box::new(plan)));
        Some(self.draft(at, Subject::Robot(robot), Some(How::Did), body))
    }

    /// Once a plan has been read aloud, everybody it names enters it under their own name.
    pub(super) fn read_own(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let plans = &pit.robot(robot)?.state.link_plans;
        let (version, _) = plans.current()?;
        let mut read = plans.read_back.keys().chain(plans.named.keys());
        read.any(|(other, _)| *other == version)
            .then(|| self.read_back(pit, robot, at))?
    }

    /// The next of those who have not read the plan back does so.
    fn read_back(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let file = pit.robot(robot)?;
        let plans = &file.state.link_plans;
        let (version, plan) = plans.current()?;
        let readers = link_plan::readers(&plan.value, file.register.body.driver);
        let (_, person) = readers
            .into_iter()
            .find(|(_, person)| plans.read_by(version, *person).is_none())?;
        let place = self.team(robot)?.people.iter().position(|n| *n == person)?;
        let read_by = vec![person];
        let body = Body::LinkPlan(LinkPlan::ReadBack(ReadBack { version, read_by }));
        let draft = self.draft(at, Subject::Robot(robot), Some(How::Did), body);
        Some((self.member(robot, place)?, vec![draft]))
    }

    fn link(&mut self, robot: RobotId, at: DateTime<Utc>, state: LinkState, how: How) -> Draft {
        let link = Link {
            state,
            links: None,
            holder: None,
            light: None,
            place: None,
        };
        self.draft(at, Subject::Robot(robot), Some(how), Body::Link(link))
    }
}
