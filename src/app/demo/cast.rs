//! The invented event: teams, people, robots and what they own.

use crate::pit::logbook::register::Machine;

/// A team and its crew. The first is the lead.
pub struct TeamCast {
    /// Its name.
    pub name: &'static str,
    /// Its people: name, skills.
    pub people: &'static [(&'static str, &'static [&'static str])],
}

/// A robot.
pub struct RobotCast {
    /// Its name.
    pub name: &'static str,
    /// Place of its team in [`TEAMS`].
    pub team: usize,
    /// Its type.
    pub machine: Machine,
    /// Its bench.
    pub bench: i64,
    /// The configuration it is in.
    pub configuration: &'static str,
    /// Place of its driver in the team.
    pub driver: usize,
}

/// Name of the event.
pub const EVENT: &str = "Harbour Sheds Autumn Bouts";
/// The hall.
pub const HALL: &str = "Old Ropewalk";
/// Whom to call, as the organiser wrote it.
pub const EMERGENCY: [&str; 4] = [
    "Fire lead: door 3, radio channel 1",
    "First aid: beside the stage",
    "112 or 999: Old Ropewalk, gate B",
    "Meet outside at the crane",
];

/// The teams.
pub const TEAMS: [TeamCast; 6] = [
    TeamCast {
        name: "Millrace",
        people: &[
            ("Ana", &["electrics", "driver"]),
            ("Ben", &["mechanic"]),
            ("Cal", &["pneumatics", "mechanic"]),
            ("Dee", &["driver", "fabricator"]),
            ("Edda", &["mechanic", "electrics"]),
        ],
    },
    TeamCast {
        name: "Kiln Lane",
        people: &[
            ("Fenn", &["mechanic", "driver"]),
            ("Gwil", &["electrics"]),
            ("Hale", &["fabricator", "mechanic"]),
            ("Imre", &["pneumatics"]),
        ],
    },
    TeamCast {
        name: "Tollgate",
        people: &[
            ("Jory", &["driver", "electrics"]),
            ("Kit", &["mechanic", "pneumatics"]),
            ("Lune", &["mechanic", "fabricator"]),
            ("Moss", &["electrics", "mechanic"]),
        ],
    },
    TeamCast {
        name: "Saltmarsh",
        people: &[
            ("Nye", &["driver", "mechanic"]),
            ("Orla", &["electrics", "pneumatics"]),
            ("Perrin", &["fabricator", "mechanic"]),
            ("Quill", &["mechanic"]),
        ],
    },
    TeamCast {
        name: "Crane Street",
        people: &[
            ("Rhun", &["driver", "electrics", "mechanic"]),
            ("Sorrel", &["mechanic", "fabricator"]),
            ("Tam", &["electrics"]),
        ],
    },
    TeamCast {
        name: "Signal Box",
        people: &[
            ("Una", &["driver", "electrics", "mechanic"]),
            ("Vale", &["mechanic", "fabricator"]),
        ],
    },
];

/// People of the event: organiser, marshals, officials at their stations.
pub const ORGANISER: &str = "Wren";
/// Marshals.
pub const MARSHALS: [&str; 2] = ["Ruth", "Yarrow"];
/// Officials.
pub const OFFICIALS: [&str; 3] = ["Zeb", "Isla", "Odo"];

const F: Machine = Machine::FlipperHeavyweight;
const S: Machine = Machine::SpinnerHeavyweight;
const M: Machine = Machine::SmallMachine;

/// The robots. The heavyweights come first: small machines meet only each other.
pub const ROBOTS: [RobotCast; 14] = [
    robot("Pewter Finch", 0, F, 14, "lid B", 3),
    robot("Copper Newt", 1, F, 22, "as built", 0),
    robot("Zinc Weasel", 2, S, 3, "two teeth", 0),
    robot("Slate Otter", 3, F, 21, "as built", 0),
    robot("Amber Shrike", 0, S, 4, "short bar", 0),
    robot("Tin Plover", 4, S, 9, "as built", 0),
    robot("Flint Magpie", 2, F, 7, "wide scoop", 0),
    robot("Chalk Adder", 3, S, 11, "as built", 0),
    robot("Brass Heron", 1, S, 15, "heavy teeth", 0),
    robot("Rust Hare", 4, F, 2, "as built", 0),
    robot("Iron Lapwing", 5, M, 18, "as built", 0),
    robot("Cobalt Stoat", 2, M, 6, "as built", 0),
    robot("Nickel Wren", 0, M, 12, "low forks", 0),
    robot("Lead Dormouse", 5, M, 19, "as built", 0),
];

/// How many of [`ROBOTS`] are heavyweights.
pub const HEAVY: usize = 10;

const fn robot(
    name: &'static str,
    team: usize,
    machine: Machine,
    bench: i64,
    configuration: &'static str,
    driver: usize,
) -> RobotCast {
    RobotCast {
        name,
        team,
        machine,
        bench,
        configuration,
        driver,
    }
}
