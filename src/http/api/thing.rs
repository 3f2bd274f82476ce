//! What exists at an event, as resources: one trait that says where a kind of thing is found in the
//! pit, so that one set of handlers serves them all.

use crate::auth::Action;
use crate::pit::ids::{
    BottleId, BoutId, ChannelId, ChargerId, CircuitId, PackId, PartTypeId, PersonId, RobotId,
    SetId, Subject, SupplyId, TeamId,
};
use crate::pit::logbook::{Body, Kind, register};
use crate::pit::state::{Pit, Registered};
use serde::{Serialize, de::DeserializeOwned};
use utoipa::ToSchema;
use uuid::Uuid;

/// A kind of thing that exists at an event.
pub trait Thing: 'static {
    /// What it is, as register lines say it.
    type Body: Serialize + DeserializeOwned + ToSchema + Clone + PartialEq;
    /// What one is called.
    const NOUN: &'static str;
    /// What several are called, in addresses.
    const NOUNS: &'static str;
    /// What somebody must be allowed to see to see it.
    const SEEN_BY: Action;
    /// The kind of line that registers it.
    const KIND: Kind;

    /// Its subject.
    fn subject(id: Uuid) -> Subject;
    /// Whether it is no longer used.
    fn retired(body: &Self::Body) -> bool;
    /// Its body as a line's.
    fn line(body: Self::Body) -> Body;
    /// The one with an id.
    fn find(pit: &Pit, id: Uuid) -> Option<&Registered<Self::Body>>;
    /// Those with an id greater than `after`, in order.
    fn after(pit: &Pit, after: Option<Uuid>) -> Vec<(Uuid, &Registered<Self::Body>)>;
}

macro_rules! things {
    ($($name:ident($body:ident, $id:ident, $subject:ident, $kind:ident) = $noun:literal, $nouns:literal,
        $pit:ident, $seen:ident, $of:expr;)*) => {$(
        #[doc = concat!("Every ", $noun, ".")]
        pub struct $name;

        impl Thing for $name {
            type Body = register::$body;
            const NOUN: &'static str = $noun;
            const NOUNS: &'static str = $nouns;
            const SEEN_BY: Action = Action::$seen;
            const KIND: Kind = Kind::$kind;

            fn subject(id: Uuid) -> Subject {
                Subject::$subject($id(id))
            }

            fn retired(body: &Self::Body) -> bool {
                body.retired
            }

            fn line(body: Self::Body) -> Body {
                Body::$kind(body)
            }

            fn find(pit: &Pit, id: Uuid) -> Option<&Registered<Self::Body>> {
                pit.$pit.get(&$id(id)).map($of)
            }

            fn after(pit: &Pit, after: Option<Uuid>) -> Vec<(Uuid, &Registered<Self::Body>)> {
                let from = match after {
                    Some(id) => std::ops::Bound::Excluded($id(id)),
                    None => std::ops::Bound::Unbounded,
                };
                pit.$pit
                    .range((from, std::ops::Bound::Unbounded))
                    .map(|(id, thing)| (id.0, $of(thing)))
                    .collect()
            }

        }
    )*};
}

fn itself<T>(thing: &Registered<T>) -> &Registered<T> {
    thing
}

things! {
    Teams(Team, TeamId, Team, RegisterTeam) = "team", "teams", teams, SeeTheHall, itself;
    People(Person, PersonId, Person, RegisterPerson) = "person", "people", people, SeeNames, itself;
    Robots(Robot, RobotId, Robot, RegisterRobot) = "robot", "robots", robots, SeeTheHall,
        registered;
    Packs(Pack, PackId, Pack, RegisterPack) = "pack", "packs", packs, SeeStations, itself;
    Sets(Set, SetId, Set, RegisterSet) = "set", "sets", sets, SeeStations, itself;
    Channels(Channel, ChannelId, Channel, RegisterChannel) = "channel", "channels", channels, SeeStations, itself;
    Bottles(Bottle, BottleId, Bottle, RegisterBottle) = "bottle", "bottles", bottles, SeeStations, itself;
    Chargers(Charger, ChargerId, Charger, RegisterCharger) = "charger", "chargers", chargers, SeeStations, itself;
    Circuits(Circuit, CircuitId, Circuit, RegisterCircuit) = "circuit", "circuits", circuits, SeeTheHall, itself;
    Supplies(Supply, SupplyId, Supply, RegisterSupply) = "supply", "supplies", supplies, SeeTheHall, itself;
    PartTypes(PartType, PartTypeId, Part, RegisterPartType) = "part type", "part types", part_types, SeeTeam, itself;
    Bouts(Bout, BoutId, Bout, RegisterBout) = "bout", "bouts", bouts, SeeTheHall, itself;
}

fn registered(file: &std::sync::Arc<crate::pit::state::RobotFile>) -> &Registered<register::Robot> {
    &file.register
}
