//! What stands between a link plan and relying on it, each with its reason.

use super::Change;
use super::order::Before;
use crate::pit::ids::{PersonId, RobotId};
use crate::pit::logbook::link_plan::Reader;

/// Something that stands between a plan and relying on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// There is no plan.
    NoPlan,
    /// A field is empty.
    Empty(&'static str),
    /// The plan was written for another configuration.
    OtherConfiguration,
    /// The machine changed after the plan was written.
    OlderThan(Change),
    /// The machine changed and nobody said that the plan still holds.
    NotConfirmedSince(Change),
    /// Somebody named in the plan has not read this version back.
    NotReadBack(Reader, PersonId),
    /// A duty of the plan is with somebody who has not read this version back.
    HandedOver {
        /// Which.
        reader: Reader,
        /// Who has it now.
        to: PersonId,
    },
    /// The same person puts the link in and proves it: nobody proves their own work.
    ProvesOwnWork(PersonId),
    /// Fewer links are counted than the machine has.
    LinksDoNotAddUp {
        /// In the plan, spare included.
        counted: i32,
        /// On the machine, without spare.
        fitted: i32,
    },
    /// The links listed by their marks are not as many as are counted.
    LinksNotListed {
        /// Counted, spare included.
        counted: i32,
        /// Listed.
        listed: usize,
    },
    /// The steps come in another order than the event's.
    AnotherOrder {
        /// Steps of arming rather than of making safe.
        arming: bool,
        /// What the event asks and the steps do not keep.
        asked: Before,
    },
    /// Somebody named in the plan is on a task of another machine now.
    Elsewhere {
        /// Who.
        person: PersonId,
        /// On which machine.
        robot: RobotId,
        /// With what.
        task: String,
    },
    /// The event does not take what breaks the machine's main power. **Source** R8: a link that comes
    /// out; R15: named switches for the small ones.
    IsolatorNotTaken,
    /// The hatch needs a tool, which the sport's rules do not want. **Source** R9.
    HatchNeedsTool,
    /// A field that the plan can do without, and should not.
    NotSaid(&'static str),
    /// The time to reach the link was not measured.
    ReachNotMeasured {
        /// Inverted rather than upright.
        inverted: bool,
    },
    /// The time to reach the link is over the event's limit.
    ReachOverLimit {
        /// Inverted rather than upright.
        inverted: bool,
        /// Measured.
        seconds: i32,
        /// Allowed.
        limit: i32,
    },
}

impl Gap {
    /// Whether the robot may not be called ready to arm with this gap (H06). The others are to be
    /// mended, and are shown.
    pub fn forbids_arming(&self) -> bool {
        match self {
            Self::NoPlan
            | Self::Empty(_)
            | Self::OtherConfiguration
            | Self::OlderThan(_)
            | Self::NotConfirmedSince(_)
            | Self::HandedOver { .. }
            | Self::ProvesOwnWork(_)
            | Self::LinksDoNotAddUp { .. } => true,
            Self::NotReadBack(reader, _) => matches!(reader, Reader::Inserter | Reader::Remover),
            Self::LinksNotListed { .. }
            | Self::AnotherOrder { .. }
            | Self::Elsewhere { .. }
            | Self::IsolatorNotTaken
            | Self::HatchNeedsTool
            | Self::NotSaid(_)
            | Self::ReachNotMeasured { .. }
            | Self::ReachOverLimit { .. } => false,
        }
    }

    /// Whether it is told to whoever asks what speaks against arming. A field that the plan can do
    /// without is not: the plan's own page names those.
    pub fn speaks_against_arming(&self) -> bool {
        !matches!(self, Self::NotSaid(_))
    }

    /// Why it is a gap, in words without a name; whom it concerns is in [`Self::person`].
    pub fn why(&self) -> String {
        let steps = |arming: &bool| if *arming { "arming" } else { "making safe" };
        let lies = |inverted: &bool| if *inverted { "inverted" } else { "upright" };
        match self {
            Self::NoPlan => "No link plan".to_owned(),
            Self::Empty(field) | Self::NotSaid(field) => {
                format!("Not in the link plan: {}", field_words(field))
            }
            Self::OtherConfiguration => "The link plan is for another configuration".to_owned(),
            Self::OlderThan(change) => {
                format!("The link plan is older than a change: {}", change.what)
            }
            Self::NotConfirmedSince(change) => format!(
                "Nobody said that the link plan still holds after a change: {}",
                change.what
            ),
            Self::NotReadBack(reader, _) => {
                format!(
                    "The link plan is not read back by who {}",
                    reader_words(*reader)
                )
            }
            Self::HandedOver { reader, .. } => format!(
                "Who {} is another than in the link plan, and has not read it back",
                reader_words(*reader)
            ),
            Self::ProvesOwnWork(_) => "One person puts the link in and proves it".to_owned(),
            Self::LinksDoNotAddUp { counted, fitted } => {
                format!("{counted} links in the plan, {fitted} on the machine")
            }
            Self::LinksNotListed { counted, listed } => {
                format!("{counted} links counted, {listed} listed by their marks")
            }
            Self::AnotherOrder { arming, asked } => format!(
                "Order of {}: the event has the {} before the {}",
                steps(arming),
                asked.first.word(),
                asked.then.word()
            ),
            Self::Elsewhere { task, .. } => {
                format!("Somebody named in the link plan is on another machine: {task}")
            }
            Self::IsolatorNotTaken => {
                "The event takes no such switch for the main power: show the inspector".to_owned()
            }
            Self::HatchNeedsTool => "The hatch over the link needs a tool".to_owned(),
            Self::ReachNotMeasured { inverted } => {
                format!("Time to reach the link {} not measured", lies(inverted))
            }
            Self::ReachOverLimit {
                inverted,
                seconds,
                limit,
            } => format!(
                "{seconds} s to reach the link {}, the event allows {limit} s",
                lies(inverted)
            ),
        }
    }

    /// Whom it concerns.
    pub fn person(&self) -> Option<PersonId> {
        match self {
            Self::NotReadBack(_, person) | Self::ProvesOwnWork(person) => Some(*person),
            Self::HandedOver { to, .. } => Some(*to),
            Self::Elsewhere { person, .. } => Some(*person),
            _ => None,
        }
    }
}

/// What somebody does who has a duty of the plan, after "who".
fn reader_words(reader: Reader) -> &'static str {
    match reader {
        Reader::Inserter => "puts the link in",
        Reader::Remover => "takes the link out",
        Reader::Verifier => "looks that it is done",
        Reader::Driver => "drives",
    }
}

/// A field of the plan in words.
pub fn field_words(field: &str) -> &str {
    match field {
        "place" => "where the link is",
        "links" => "how many links there are",
        "holder" => "who holds it",
        "inserter" => "who puts it in",
        "remover" => "who takes it out",
        "verifier" => "who looks that it is done",
        "retention" => "what keeps it in",
        "arming" => "steps of arming",
        "making_safe" => "steps of making safe",
        "spare" => "where the spare is",
        "hatch" => "how the hatch opens",
        "dead_when" => "what shows that it is dead",
        "clock" => "where the link is, by the clock",
        "stand" => "where to stand",
        "pull" => "which way to pull",
        "second_way" => "another way to the link",
        "valve" => "where the bottle valve is",
        "gauge" => "where the gauge is",
        "if_not_shut" => "what to do if the bottle cannot be shut",
        "if_jammed" => "what to do if the link is jammed in",
        "if_moving" => "what to do while it still moves",
        "if_fire" => "what to do at smoke or fire",
        "if_locked" => "what to do if two machines hang together",
        other => other,
    }
}
