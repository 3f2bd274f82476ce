//! What can be entered: each noun with its kind of line and where it is found.

pub mod convert;
pub mod settings;
pub mod specs;

use crate::http::pages::reader::Reader;
use crate::pit::ids::{
    BottleId, BoutId, ChannelId, ChargerId, CircuitId, LineId, PackId, PartTypeId, PersonId,
    RobotId, SetId, Subject, SupplyId, TeamId,
};
use crate::pit::logbook::{Kind, Role};
use crate::pit::state::Registered;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

/// A thing as it is registered.
#[derive(Debug, Clone)]
pub struct Known {
    /// Its body as published.
    pub body: Value,
    /// Its revision.
    pub revision: i64,
    /// The line that said so.
    pub line: LineId,
    /// Who entered that.
    pub by: Option<PersonId>,
}

impl Known {
    fn of<T: Serialize>(thing: &Registered<T>) -> Self {
        Self {
            body: json!(thing.body),
            revision: thing.revision,
            line: thing.line,
            by: thing.entered_by.person,
        }
    }

    /// What people call it.
    pub fn label(&self) -> String {
        let text = |name: &str| self.body[name].as_str().map(str::to_owned);
        text("name")
            .or_else(|| text("label"))
            .or_else(|| self.body["number"].as_i64().map(|n| format!("Bout {n}")))
            .unwrap_or_default()
    }

    /// Whether it is no longer used.
    pub fn retired(&self) -> bool {
        self.body["retired"] == json!(true)
    }

    /// Its team.
    pub fn team(&self) -> Option<TeamId> {
        self.body["team"].as_str()?.parse().ok()
    }
}

macro_rules! nouns {
    ($($(#[$doc:meta])* $noun:ident = $path:literal, $one:literal, $many:literal, $kind:ident,
        $subject:expr, $id:ident, $map:ident, $of:expr;)*) => {
        /// What can be entered.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Noun {
            /// The event itself.
            Event,
            /// Its rules.
            Settings,
            /// A robot's gas system.
            GasSystems,
            $($(#[$doc])* $noun,)*
        }

        impl Noun {
            /// What has a list of its own.
            pub const LISTED: &'static [Self] = &[$(Self::$noun,)*];

            /// As it stands in addresses.
            pub fn path(self) -> &'static str {
                match self {
                    Self::Event => "event",
                    Self::Settings => "settings",
                    Self::GasSystems => "gas-systems",
                    $(Self::$noun => $path,)*
                }
            }

            /// One of them.
            pub fn one(self) -> &'static str {
                match self {
                    Self::Event => "Event",
                    Self::Settings => "Rules of the event",
                    Self::GasSystems => "Gas system",
                    $(Self::$noun => $one,)*
                }
            }

            /// Several.
            pub fn many(self) -> &'static str {
                match self {
                    Self::Event | Self::Settings | Self::GasSystems => self.one(),
                    $(Self::$noun => $many,)*
                }
            }

            /// The kind of line that registers it.
            pub fn kind(self) -> Kind {
                match self {
                    Self::Event | Self::Settings => Kind::RegisterEvent,
                    Self::GasSystems => Kind::RegisterRobot,
                    $(Self::$noun => Kind::$kind,)*
                }
            }

            /// What a line about it is about.
            pub fn subject(self, id: Uuid) -> Subject {
                match self {
                    Self::Event | Self::Settings => Subject::Event,
                    Self::GasSystems => Subject::Robot(RobotId(id)),
                    $(Self::$noun => $subject($id(id)),)*
                }
            }

            /// As it is registered now.
            pub fn known(self, reader: &Reader, id: Uuid) -> Option<Known> {
                match self {
                    Self::Event | Self::Settings => reader.pit.event.as_ref().map(Known::of),
                    Self::GasSystems => Self::Robots.known(reader, id),
                    $(Self::$noun => reader.pit.$map.get(&$id(id)).map($of),)*
                }
            }

            /// Everything of this noun.
            pub fn all(self, reader: &Reader) -> Vec<(Uuid, Known)> {
                match self {
                    Self::Event | Self::Settings | Self::GasSystems => Vec::new(),
                    $(Self::$noun => reader.pit.$map.iter().map(|(id, thing)| (id.0, ($of)(thing))).collect(),)*
                }
            }
        }
    };
}

nouns! {
    /// A team.
    Teams = "teams", "Team", "Teams", RegisterTeam, Subject::Team, TeamId, teams, Known::of;
    /// A robot.
    Robots = "robots", "Robot", "Robots", RegisterRobot, Subject::Robot, RobotId, robots,
        |file: &std::sync::Arc<crate::pit::state::RobotFile>| Known::of(&file.register);
    /// A person.
    People = "people", "Person", "People", RegisterPerson, Subject::Person, PersonId, people, Known::of;
    /// A pack.
    Packs = "packs", "Pack", "Packs", RegisterPack, Subject::Pack, PackId, packs, Known::of;
    /// Packs used together.
    Sets = "sets", "Set of packs", "Sets of packs", RegisterSet, Subject::Set, SetId, sets, Known::of;
    /// A charger.
    Chargers = "chargers", "Charger", "Chargers", RegisterCharger, Subject::Charger, ChargerId, chargers, Known::of;
    /// An output of a charger.
    Channels = "channels", "Charger channel", "Charger channels", RegisterChannel, Subject::Channel, ChannelId, channels, Known::of;
    /// What feeds chargers.
    Circuits = "circuits", "Circuit or lead", "Circuits and leads", RegisterCircuit, Subject::Circuit, CircuitId, circuits, Known::of;
    /// A bottle.
    Bottles = "bottles", "Bottle", "Bottles", RegisterBottle, Subject::Bottle, BottleId, bottles, Known::of;
    /// A supply cylinder.
    Supplies = "supplies", "Supply cylinder", "Supply cylinders", RegisterSupply, Subject::Supply, SupplyId, supplies, Known::of;
    /// A type of part.
    Parts = "parts", "Type of part", "Types of part", RegisterPartType, Subject::Part, PartTypeId, part_types, Known::of;
    /// A bout.
    Bouts = "bouts", "Bout", "Bouts", RegisterBout, Subject::Bout, BoutId, bouts, Known::of;
}

impl Noun {
    /// Whether somebody who enters things of a `team` sees it: a lead their own, an organiser all.
    pub fn shown_to(self, reader: &Reader, team: Option<TeamId>, id: Uuid) -> bool {
        match (reader.signed.role, self) {
            (Role::Organiser, _) => true,
            (_, Self::Teams) => reader.signed.team == Some(TeamId(id)),
            (_, Self::Bouts | Self::Event | Self::Settings) => false,
            _ => team.is_some() && team == reader.signed.team,
        }
    }

    /// Whether a lead may enter one.
    pub fn for_leads(self) -> bool {
        !matches!(
            self,
            Self::Event | Self::Settings | Self::Teams | Self::Bouts
        )
    }
}
