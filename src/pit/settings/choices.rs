//! What an event chooses where the sport's rules differ.

use crate::pit::logbook::register::BrokenBy;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

macro_rules! choice {
    ($(#[$doc:meta])* $name:ident { $($(#[$word:meta])* $variant:ident,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$word])* $variant,)* }
    };
}

choice!(
    /// Where the event lets the bottle go in.
    BottleInAt {
        /// On the bench.
        #[default]
        Bench,
        /// In the arena queue.
        Queue,
        /// In the arena.
        Arena,
    }
);
choice!(
    /// What may break the main power.
    Isolator {
        /// A link that is taken out.
        #[default]
        Link,
        /// A link, or a switch of a type that the event names.
        LinkOrNamedSwitch,
        /// A link or a switch.
        LinkOrSwitch,
    }
);
impl Isolator {
    /// Whether the event takes a machine whose main power is broken by that.
    pub fn takes(self, by: BrokenBy) -> bool {
        match by {
            BrokenBy::Link => true,
            BrokenBy::NamedSwitch => self != Self::Link,
            BrokenBy::Switch => self == Self::LinkOrSwitch,
        }
    }
}

choice!(
    /// When the weapon bar comes off while arming.
    BarOff {
        /// Before the gas is on.
        BeforeGas,
        /// After the gas is on and steady, as the last thing.
        #[default]
        AfterGas,
    }
);
choice!(
    /// How a lifting arm rests.
    ArmAtRest {
        /// Locked down.
        #[default]
        Down,
        /// Propped up.
        Up,
    }
);
choice!(
    /// When the transmitter comes on.
    TransmitterOn {
        /// Before the main power, so that the machine hears it from the first moment.
        #[default]
        BeforePower,
        /// Once nobody is inside any more.
        AfterPeopleAreOut,
    }
);
choice!(
    /// Which way the weapon looks while arming.
    Aim {
        /// Away from people and doors.
        #[default]
        AwayFromPeople,
        /// At the far wall.
        FarWall,
    }
);
choice!(
    /// Where packs are charged.
    ChargingAt {
        /// On the team's own bench.
        Bench,
        /// In the area that is set apart for it.
        #[default]
        Area,
        /// At a table with staff of the event.
        StaffedTable,
        /// Outside.
        Outside,
        /// Nowhere in the pits: packs are exchanged at a desk.
        SwapDesk,
    }
);
choice!(
    /// Who watches packs on charge.
    ChargingWatch {
        /// Somebody of the team, named for each charge.
        #[default]
        Team,
        /// The event's staff at the table.
        Staff,
    }
);
choice!(
    /// What happens to a robot that is late for its call.
    Late {
        /// The organiser decides each time.
        #[default]
        OrganiserDecides,
        /// It loses the bout.
        Loses,
    }
);
