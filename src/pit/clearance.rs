//! May this machine be armed here, now? What it rests on, or everything that speaks against it.
//!
//! It advises the marshal and controls nothing. A marshal's word stands on its grounds and falls
//! with them: by a line that changes one, or by an account of a source growing old.

use super::departure;
use super::energy::{SourceOf, Standing as SourceStanding};
use super::exposure::WorkNow;
use super::hazards::{Hazard, Scene, Severity, scene};
use super::ids::{BoutId, PersonId, RobotId};
use super::link_plan::Gap;
use super::logbook::hall::{ArmedAt, Clearing};
use super::logbook::machine::{Holder, LinkState, Place, Valve};
use super::logbook::work::DutyOf;
use super::state::robot::{Asked, ChangedGround};
use super::state::{Pit, Sight, View};
use super::tasks::Today;
use chrono::{DateTime, Utc};

#[cfg(test)]
mod tests;

/// Something that a clearance rests on, said by a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// What is so.
    pub what: GroundOf,
    /// Who said so.
    pub by: Option<PersonId>,
    /// When.
    pub at: Option<DateTime<Utc>>,
}

/// What a ground says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GroundOf {
    /// It stands where it waits to be armed.
    Stands(Place),
    /// This bout calls it.
    Called(BoutId),
    /// A source is isolated.
    Isolated(SourceOf),
    /// The link is in somebody's hand.
    LinkInHand,
    /// The link plan of this version is whole and read back.
    PlanReadBack(u32),
    /// Somebody drives.
    Driver,
    /// Everything of the departure check was looked at.
    DepartureChecked,
    /// Nothing stands that stops or holds it.
    NothingHolds,
    /// No other machine is live in the area, and nobody is inside.
    AreaClear,
}

/// Something that speaks against arming.
#[derive(Debug, Clone, PartialEq)]
pub enum Against {
    /// It is not where it waits to be armed.
    NotThere,
    /// No bout waits for it.
    NoBout,
    /// A source is not seen isolated.
    NotIsolated(SourceOf, SourceStanding),
    /// Nobody knows in whose hand the link is.
    LinkInNoHand,
    /// A gap of the link plan.
    Gap(Gap),
    /// Nobody is named who drives.
    NoDriver,
    /// A row of the departure check that nobody said.
    NotChecked(&'static str),
    /// A hazard that stops or holds it.
    Hazard {
        /// The rule.
        rule: &'static str,
        /// What it is called.
        title: &'static str,
        /// What is so.
        why: String,
    },
    /// Another machine is live in the same area.
    AnotherLive(RobotId),
    /// So many people are inside.
    PeopleInside(i32),
}

impl Against {
    /// In words, without names.
    pub fn words(&self) -> String {
        match self {
            Self::NotThere => "it is not in the arena queue".to_owned(),
            Self::NoBout => "no bout waits for it".to_owned(),
            Self::NotIsolated(source, standing) => format!(
                "{} {}",
                source.as_str().replace('_', " "),
                standing.as_str()
            ),
            Self::LinkInNoHand => "the link is in nobody's hand".to_owned(),
            Self::Gap(gap) => format!("link plan: {}", gap.why()),
            Self::NoDriver => "nobody is named who drives".to_owned(),
            Self::NotChecked(row) => format!("nobody said: {row}"),
            Self::Hazard { rule, title, why } => format!("{rule} {title}: {why}"),
            Self::AnotherLive(_) => "another machine in the area, its link not seen out".to_owned(),
            Self::PeopleInside(people) => format!("{people} inside"),
        }
    }
}

/// The answer to the question.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Where it would be armed.
    pub place: ArmedAt,
    /// What is so.
    pub grounds: Vec<Ground>,
    /// What speaks against it; empty if nothing does.
    pub against: Vec<Against>,
    /// It is being armed, or armed: the question is past.
    pub arming: bool,
}

/// What a clearance is worth now.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// Nobody asked.
    NotAsked,
    /// Asked, and not answered.
    Asked(Sight<()>),
    /// A marshal looked, and nothing speaks against it.
    Confirmed(Sight<()>),
    /// A marshal said not yet.
    Refused(Sight<Option<String>>),
    /// A marshal confirmed it, and a ground has changed since.
    Changed(Sight<ChangedGround>),
    /// A marshal confirmed it, and something speaks against it.
    Against(Sight<()>),
}

/// Where the question is asked for: what was asked, or where it stands.
pub fn place_asked(pit: &Pit, robot: RobotId) -> Option<ArmedAt> {
    let state = &pit.robot(robot)?.state;
    if state.in_bout.is_some() {
        return None;
    }
    let here = match state.place.as_ref().map(|place| place.value) {
        Some(Place::Queue | Place::ArenaLoad | Place::Arena) => Some(ArmedAt::Arena),
        Some(Place::TestArea) => Some(ArmedAt::TestArea),
        _ => None,
    };
    here.or_else(|| state.clearance.as_ref().map(|asked| asked.place))
}

/// What a clearance rests on, and what speaks against it, at `now`.
///
/// `hazards` are those of the robot at `now`. None if there is no such robot.
pub fn answer(
    pit: &Pit,
    today: &Today,
    work: &WorkNow,
    hazards: &[Hazard],
    place: ArmedAt,
    now: DateTime<Utc>,
) -> Option<View<Answer>> {
    let file = pit.robot(today.robot)?;
    let view = scene(pit, today.robot, file, work, now);
    let scene = &view.value;
    let mut found = Found::default();
    let state = &file.state;
    let in_place = state.place.as_ref().is_some_and(|at| place.holds(at.value));
    let begun =
        state.link.value() == Some(LinkState::In) || state.valve.value() == Some(Valve::Open);
    let arming = in_place && begun;
    match place {
        ArmedAt::Arena => {
            found.waits(scene);
            found.departure(scene, today);
        }
        ArmedAt::TestArea => found.area(scene),
    }
    if !arming {
        found.sources(scene);
        found.holder(scene);
    }
    found.plan(scene);
    found.driver(scene);
    found.hazards(hazards);
    Some(View {
        value: Answer {
            place,
            grounds: found.grounds,
            against: found.against,
            arming,
        },
        changes_at: view.changes_at,
    })
}

/// What a clearance asked for at `answer.place` is worth.
pub fn standing(asked: Option<&Asked>, answer: &Answer) -> Standing {
    let Some(asked) = asked.filter(|asked| asked.place == answer.place) else {
        return Standing::NotAsked;
    };
    let Some(said) = &asked.answer else {
        return match &asked.asked {
            Some(asked) => Standing::Asked(*asked),
            None => Standing::NotAsked,
        };
    };
    let by = |value| Sight {
        value,
        how: said.how,
        at: said.at,
        seen_by: said.seen_by,
        entered_by: said.entered_by,
        line: said.line,
    };
    if said.value.said == Clearing::Refused {
        let because = said.value.because.as_ref().map(ToString::to_string);
        return Standing::Refused(Sight {
            value: because,
            how: said.how,
            at: said.at,
            seen_by: said.seen_by,
            entered_by: said.entered_by,
            line: said.line,
        });
    }
    match &asked.changed {
        Some(changed) => Standing::Changed(*changed),
        None if answer.against.is_empty() => Standing::Confirmed(by(())),
        None => Standing::Against(by(())),
    }
}

#[derive(Default)]
struct Found {
    grounds: Vec<Ground>,
    against: Vec<Against>,
}

impl Found {
    fn so(&mut self, what: GroundOf, by: Option<PersonId>, at: Option<DateTime<Utc>>) {
        self.grounds.push(Ground { what, by, at });
    }

    /// In the arena queue or being placed, for a bout that calls it.
    fn waits(&mut self, scene: &Scene<'_>) {
        let stands =
            scene.file.state.place.as_ref().filter(|place| {
                matches!(place.value, Place::Queue | Place::ArenaLoad | Place::Arena)
            });
        match stands {
            Some(place) => self.so(GroundOf::Stands(place.value), place.seen_by, Some(place.at)),
            None => self.against.push(Against::NotThere),
        }
        let next = scene.pit.next_bout(scene.robot);
        match next.filter(|next| next.if_first.is_none()) {
            Some(next) => self.so(GroundOf::Called(next.bout.id), None, next.bout.called_at),
            None => self.against.push(Against::NoBout),
        }
    }

    fn departure(&mut self, scene: &Scene<'_>, today: &Today) {
        let since = today.hand.facts_from;
        let unsaid = departure::unsaid(departure::leaving(scene.file), scene.file, since);
        if unsaid.is_empty() {
            self.so(GroundOf::DepartureChecked, None, scene.work.departed);
        }
        let rows = unsaid.into_iter();
        self.against
            .extend(rows.map(|row| Against::NotChecked(&row.text)));
    }

    /// One live machine at a time, and nobody inside. **Source** H27, R1, F23.
    fn area(&mut self, scene: &Scene<'_>) {
        let before = self.against.len();
        for (id, file) in &scene.pit.robots {
            let there = file.state.place.as_ref().map(|place| place.value);
            if *id == scene.robot || there != Some(Place::TestArea) {
                continue;
            }
            // Unknown is live.
            if file.state.link.value() != Some(LinkState::Out) {
                self.against.push(Against::AnotherLive(*id));
            }
            if let Some(inside) = &file.state.inside
                && inside.value.people.get() > 0
            {
                self.against
                    .push(Against::PeopleInside(inside.value.people.get()));
            }
        }
        if self.against.len() == before {
            self.so(GroundOf::AreaClear, None, None);
        }
    }

    fn sources(&mut self, scene: &Scene<'_>) {
        for source in &scene.energy.sources {
            match source.standing {
                SourceStanding::Isolated => {
                    self.so(
                        GroundOf::Isolated(source.source),
                        source.seen_by,
                        source.seen_at,
                    );
                }
                other => self
                    .against
                    .push(Against::NotIsolated(source.source, other)),
            }
        }
    }

    fn holder(&mut self, scene: &Scene<'_>) {
        match &scene.file.state.holder {
            Some(Sight {
                value: Holder::Person(who),
                at,
                ..
            }) => self.so(GroundOf::LinkInHand, Some(*who), Some(*at)),
            _ => self.against.push(Against::LinkInNoHand),
        }
    }

    fn plan(&mut self, scene: &Scene<'_>) {
        let gaps: Vec<&Gap> = scene
            .gaps
            .iter()
            .filter(|gap| gap.forbids_arming())
            .collect();
        match scene.file.state.link_plans.current() {
            Some((version, plan)) if gaps.is_empty() => {
                self.so(GroundOf::PlanReadBack(version), plan.seen_by, Some(plan.at));
            }
            _ => self
                .against
                .extend(gaps.into_iter().cloned().map(Against::Gap)),
        }
    }

    fn driver(&mut self, scene: &Scene<'_>) {
        let state = &scene.file.state;
        let duty = state.duties.get(&DutyOf::Driver).copied();
        let driver = duty
            .or(state.transmitter_with)
            .or(scene.file.register.body.driver);
        match driver {
            Some(driver) => self.so(GroundOf::Driver, Some(driver), None),
            None => self.against.push(Against::NoDriver),
        }
    }

    /// Hazards that hold. What the plan's gaps say already is not said twice.
    fn hazards(&mut self, hazards: &[Hazard]) {
        let holding: Vec<&Hazard> = hazards
            .iter()
            .filter(|hazard| hazard.severity() >= Severity::Hold)
            .collect();
        if holding.is_empty() {
            self.so(GroundOf::NothingHolds, None, None);
        }
        let said = self
            .against
            .iter()
            .any(|said| matches!(said, Against::Gap(_)));
        let more = holding
            .into_iter()
            .filter(|hazard| !(said && hazard.rule == "H06"));
        self.against.extend(more.map(|hazard| Against::Hazard {
            rule: hazard.rule,
            title: hazard.title,
            why: hazard.finding.why.clone(),
        }));
    }
}
