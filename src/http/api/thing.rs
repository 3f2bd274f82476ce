//! What exists at an event, as resources: one trait that says where a kind of thing is found in the
//! pit, so that one set of handlers serves them all.

use crate::auth::Action;
use crate::pit::ids::{
    BottleId, BoutId, ChannelId, ChargerId, CircuitId, PackId, PartTypeId, PersonId, RobotId,
    SetId, Subject, SupplyId, TeamId,
};
use crate::pit::logbook::{Body, register};
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

    /// Its subject.
    fn subject(id: Uuid) -> Subject;
    /// Its body as a line's.
    fn line(body: Self::Body) -> Body;
    /// The one with an id.
    fn find(pit: &Pit, id: Uuid) -> Option<&Registered<Self::Body>>;
    /// Those with an id greater than `after`, in order.
    fn after(pit: &Pit, after: Option<Uuid>) -> Vec<(Uuid, &Registered<Self::Body>)>;
    /// An example, for the published document.
    fn example() -> serde_json::Value;
}

macro_rules! things {
    ($($name:ident($body:ident, $id:ident, $subject:ident, $kind:ident) = $noun:literal, $nouns:literal,
        $pit:ident, $seen:ident, $of:expr, $example:tt;)*) => {$(
        #[doc = concat!("Every ", $noun, ".")]
        pub struct $name;

        impl Thing for $name {
            type Body = register::$body;
            const NOUN: &'static str = $noun;
            const NOUNS: &'static str = $nouns;
            const SEEN_BY: Action = Action::$seen;

            fn subject(id: Uuid) -> Subject {
                Subject::$subject($id(id))
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

            fn example() -> serde_json::Value {
                serde_json::json!($example)
            }
        }
    )*};
}

fn itself<T>(thing: &Registered<T>) -> &Registered<T> {
    thing
}

things! {
    Teams(Team, TeamId, Team, RegisterTeam) = "team", "teams", teams, SeeTheHall, itself,
        {"name": "Copper Kettle"};
    People(Person, PersonId, Person, RegisterPerson) = "person", "people", people, SeeNames, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "skills": ["electrics", "driver"]};
    Robots(Robot, RobotId, Robot, RegisterRobot) = "robot", "robots", robots, SeeTheHall,
        registered,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "name": "Pewter Finch",
         "machine": "flipper_heavyweight", "bench": 14, "links": 2, "limit_g": 110_000};
    Packs(Pack, PackId, Pack, RegisterPack) = "pack", "packs", packs, SeeStations, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "A1", "chemistry": "lipo",
         "cells": 6, "capacity_mah": 5000};
    Sets(Set, SetId, Set, RegisterSet) = "set", "sets", sets, SeeStations, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "A",
         "packs": ["0197a3c2-0000-7000-8000-000000000003"]};
    Channels(Channel, ChannelId, Channel, RegisterChannel) = "channel", "channels", channels, SeeStations, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "left",
         "max_current_ma": 20_000, "max_power_w": 400};
    Bottles(Bottle, BottleId, Bottle, RegisterBottle) = "bottle", "bottles", bottles, SeeStations, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "B1", "gas": "co2",
         "volume_ml": 1340, "tare_g": 2950, "permitted_fill_g": 890};
    Chargers(Charger, ChargerId, Charger, RegisterCharger) = "charger", "chargers", chargers, SeeStations, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "green one",
         "circuit": "0197a3c2-0000-7000-8000-000000000008", "input_limit_w": 800,
         "power_factor_corrected": true};
    Circuits(Circuit, CircuitId, Circuit, RegisterCircuit) = "circuit", "circuits", circuits, SeeTheHall, itself,
        {"label": "bay A", "kind": "circuit", "rating_ma": 16_000, "continuous_percent": 80};
    Supplies(Supply, SupplyId, Supply, RegisterSupply) = "supply", "supplies", supplies, SeeTheHall, itself,
        {"label": "cylinder 1", "gas": "co2", "volume_ml": 50_000, "tare_g": 55_000,
         "contents_g": 34_000, "dip_tube": true, "heel_g": 500, "place": "gas bay"};
    PartTypes(PartType, PartTypeId, Part, RegisterPartType) = "part type", "part types", part_types, SeeTeam, itself,
        {"team": "0197a3c2-0000-7000-8000-000000000001", "label": "wheel", "mass_g": 420,
         "price_minor": 3_450, "place": "box 2, top left", "spares": 3, "repairable_percent": 30,
         "repair_min": 25,
         "fits": [{"robot": "0197a3c2-0000-7000-8000-000000000005", "units": 4}],
         "prior": {"mean_per_1000_unit_bouts": 50, "worst_per_1000_unit_bouts": 120}};
    Bouts(Bout, BoutId, Bout, RegisterBout) = "bout", "bouts", bouts, SeeTheHall, itself,
        {"number": 1, "slots": [{"robot": "0197a3c2-0000-7000-8000-000000000005"},
         {"robot": "0197a3c2-0000-7000-8000-000000000006"}], "call_at": "2027-01-15T10:00:00Z"};
}

fn registered(file: &std::sync::Arc<crate::pit::state::RobotFile>) -> &Registered<register::Robot> {
    &file.register
}
