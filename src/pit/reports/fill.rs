//! What is filled into the blanks of a row.

use super::SheetRow;
use crate::pit::ids::{BottleId, PersonId, SetId};
use crate::pit::library;
use crate::pit::library::reports::{Blank, Row};
use crate::pit::link_plan::readers;
use crate::pit::logbook::machine::Holder;
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::things::{ChargeState, ThingPlace};
use crate::pit::logbook::work::DutyOf;
use crate::pit::logbook::{Body, Kind};
use crate::pit::packs::free_channels;
use crate::pit::settings::ArmAtRest;
use crate::pit::state::{Pit, RobotFile};
use crate::pit::stock;
use crate::pit::tasks::work::changes_made;
use crate::pit::tasks::{Item, Today};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Fills rows for one robot and one person.
pub(super) struct Filler<'a> {
    pit: &'a Pit,
    file: &'a RobotFile,
    today: &'a Today,
    me: Option<PersonId>,
}

impl<'a> Filler<'a> {
    pub fn new(pit: &'a Pit, file: &'a RobotFile, today: &'a Today, me: Option<PersonId>) -> Self {
        Self {
            pit,
            file,
            today,
            me,
        }
    }

    /// A row with its blanks filled; none if what it needs does not exist, such as a link plan.
    pub fn row(&self, row: &'static Row, task: Option<usize>, carried: bool) -> Option<SheetRow> {
        let item = task.map(|index| &self.today.items[index]);
        let mut filled = BTreeMap::new();
        let mut empty = Vec::new();
        for blank in row.body.blanks() {
            match self.fill(row.kind, blank, item) {
                Some(value) => {
                    filled.insert(blank.as_str(), value);
                }
                None => empty.push(blank),
            }
        }
        let body = row.body.filled(|blank| filled.get(blank.as_str()).cloned());
        Body::read(row.kind, &body, "").ok()?;
        Some(SheetRow {
            row,
            text: self.text(row, item),
            filled,
            empty,
            carried,
        })
    }

    fn text(&self, row: &Row, item: Option<&Item>) -> String {
        let machine = self.file.register.body.machine;
        let task = item.map_or_else(String::new, |item| named(machine, item));
        let restraint = self.file.register.body.machine.restraint();
        let propped = machine == Machine::FlipperHeavyweight
            && self.pit.settings().arm_at_rest == ArmAtRest::Up;
        let on = if propped {
            format!("{restraint} on, arm propped up")
        } else {
            format!("{restraint} on")
        };
        row.text
            .replace("{restraint} on", &on)
            .replace("{restraint}", restraint)
            .replace("{task}", &task)
            .replace("{part}", &task)
    }

    fn fill(&self, kind: Kind, blank: Blank, item: Option<&Item>) -> Option<Value> {
        let state = &self.file.state;
        match blank {
            Blank::Me if matches!(kind, Kind::Link | Kind::Count) => {
                Some(json!(Holder::Person(self.me?)))
            }
            Blank::Me => Some(json!(self.me?)),
            Blank::Driver => Some(json!(self.driver()?)),
            Blank::Standing => Some(json!(state.holder.as_ref()?.value)),
            Blank::Fitted | Blank::CameOut if kind != Kind::Bottle => {
                Some(json!(state.fitted_set.or_else(|| only(&self.sets()))?))
            }
            Blank::Next if kind != Kind::Bottle => Some(json!(self.next_set()?)),
            Blank::Fitted | Blank::CameOut | Blank::Next | Blank::AtTheBay => {
                Some(json!(self.bottle()?))
            }
            Blank::OnCharge => Some(json!(self.on_charge()?)),
            Blank::Suspect => {
                let set = state.fitted_set.or_else(|| only(&self.sets()))?;
                match self.pit.sets.get(&set)?.body.packs.as_slice() {
                    [pack] => Some(json!(pack)),
                    _ => None,
                }
            }
            Blank::Second => {
                let second = state.duties.get(&DutyOf::SecondPerson).copied();
                Some(json!(second.filter(|who| Some(*who) != self.me)?))
            }
            Blank::Current => Some(json!(state.link_plans.current()?.0)),
            Blank::Changes => {
                let since = self.today.hand.facts_from;
                let kinds: BTreeSet<String> = changes_made(self.pit, self.file)
                    .into_iter()
                    .filter(|made| since.is_none_or(|since| made.at >= since))
                    .map(|made| made.kind)
                    .collect();
                Some(json!(kinds))
            }
            Blank::Readers => {
                let (_, plan) = state.link_plans.current()?;
                let people: BTreeSet<PersonId> = readers(&plan.value, self.driver())
                    .into_iter()
                    .map(|(_, person)| person)
                    .collect();
                Some(json!(people))
            }
            Blank::DamageFound => Some(json!(self.damage())),
            Blank::AsBefore => Some(json!(if self.today.found.is_empty() {
                "all as before"
            } else {
                "nothing else"
            })),
            Blank::SecondRestraint => Some(json!(match self.file.register.body.machine {
                Machine::FlipperHeavyweight => "prop",
                Machine::SpinnerHeavyweight | Machine::SmallMachine => "clamp",
            })),
            Blank::Part => Some(json!(part_type(item?))),
            Blank::Area => Some(json!(item?.key.instance.as_ref()?)),
            Blank::Id => Some(json!(item?.key.task)),
            Blank::Turnaround => Some(json!(item?.key.turnaround)),
            Blank::Spare => Some(json!(
                stock::types_for(self.pit, self.today.robot, &item?.key.task).first()?
            )),
            Blank::Channels => {
                let set = state.fitted_set.or_else(|| only(&self.sets()))?;
                let free = free_channels(self.pit, set);
                (!free.is_empty()).then(|| json!(free))
            }
            Blank::Reading | Blank::Old => None,
        }
    }

    fn driver(&self) -> Option<PersonId> {
        let state = &self.file.state;
        state
            .duties
            .get(&DutyOf::Driver)
            .copied()
            .or(self.file.register.body.driver)
            .or(state.transmitter_with)
    }

    /// Sets that may go into this robot.
    fn sets(&self) -> Vec<SetId> {
        let team = self.file.register.body.team;
        self.pit
            .sets
            .iter()
            .filter(|(_, set)| {
                set.body.team == team
                    && !set.body.retired
                    && set.body.robot.is_none_or(|only| only == self.today.robot)
            })
            .map(|(id, _)| *id)
            .collect()
    }

    /// The set that goes in next: another than the one that came out, if there is one.
    fn next_set(&self) -> Option<SetId> {
        let came_out = self.file.state.fitted_set;
        let others: Vec<SetId> = self
            .sets()
            .into_iter()
            .filter(|set| Some(*set) != came_out)
            .collect();
        if self.today.gate.is_some() {
            // Nothing else is ready: it is the one that was charged.
            return came_out.or_else(|| only(&others));
        }
        only(&others).or(came_out.filter(|_| others.is_empty()))
    }

    fn bottle(&self) -> Option<BottleId> {
        self.file.state.fitted_bottle.or_else(|| {
            let team = self.file.register.body.team;
            let bottles: Vec<BottleId> = self
                .pit
                .bottles
                .iter()
                .filter(|(_, bottle)| bottle.body.team == team && !bottle.body.retired)
                .map(|(id, _)| *id)
                .collect();
            only(&bottles)
        })
    }

    fn on_charge(&self) -> Option<SetId> {
        let mut on_charge = None;
        for line in &self.file.lines {
            match &line.body {
                Body::Charge(charge) if charge.state == Some(ChargeState::Started) => {
                    on_charge = charge.set;
                }
                Body::Charge(charge)
                    if charge.state == Some(ChargeState::Ended) && charge.set == on_charge =>
                {
                    on_charge = None;
                }
                Body::Pack(pack)
                    if pack.place == Some(ThingPlace::Machine) && pack.set == on_charge =>
                {
                    on_charge = None;
                }
                _ => {}
            }
        }
        on_charge.or_else(|| only(&self.sets()))
    }

    /// The damage tapped in, in words that fit into a line.
    fn damage(&self) -> String {
        let known = library::damage(self.file.register.body.machine);
        let words: Vec<String> = self
            .today
            .found
            .iter()
            .map(|found| {
                let area = known
                    .area(&found.area)
                    .map_or(&*found.area, |area| &area.label);
                let kind = known
                    .kind(&found.kind)
                    .map_or(&*found.kind, |kind| &kind.label);
                format!("{area}: {kind}")
            })
            .collect();
        if words.is_empty() {
            "nothing".to_owned()
        } else {
            words.join("; ").chars().take(500).collect()
        }
    }
}

/// What a task is called, with its area.
fn named(machine: Machine, item: &Item) -> String {
    match &item.key.instance {
        Some(id) => {
            let area = library::damage(machine).area(id);
            format!(
                "{}, {}",
                item.def.name,
                area.map_or(&**id, |area| &area.label)
            )
        }
        None => item.def.name.clone(),
    }
}

/// The part type a swap uses: the task without the prefix of its machine type.
fn part_type(item: &Item) -> &str {
    let id = item.key.task.as_str();
    id.split_once('-').map_or(id, |(_, part)| part)
}

fn only<T: Copy>(things: &[T]) -> Option<T> {
    match things {
        [only] => Some(*only),
        _ => None,
    }
}
