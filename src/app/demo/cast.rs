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

/// A part that machines of some types wear out or break.
pub struct Worn {
    /// What it is called.
    pub label: &'static str,
    /// The repair that takes one.
    pub repair: &'static str,
    /// Where it is in the boxes.
    pub place: &'static str,
    /// The machines that have it.
    pub on: &'static [Machine],
    /// How many are fitted.
    pub fitted: i64,
    /// How many spares were brought.
    pub spares: i64,
    /// Mass of one of a heavyweight.
    pub mass_g: i64,
    /// Failures in a thousand fitted units and bouts, on average.
    pub mean: i64,
    /// The same at worst.
    pub worst: i64,
    /// Share that can be mended here.
    pub repairable_percent: i64,
    /// How long mending one takes.
    pub repair_min: i64,
}

const BOTH_HEAVY: &[Machine] = &[F, S];
const FLIPPER: &[Machine] = &[F];
const SPINNING: &[Machine] = &[S, M];

/// The parts of the demo, with invented rates.
#[rustfmt::skip]
pub const PARTS: &[Worn] = &[
    Worn { label: "wheel", repair: "wheel", place: "Box 2", on: &Machine::ALL, fitted: 4, spares: 3, mass_g: 900, mean: 50, worst: 120, repairable_percent: 0, repair_min: 0 },
    Worn { label: "gearbox", repair: "gearbox", place: "Box 1", on: BOTH_HEAVY, fitted: 2, spares: 1, mass_g: 2_400, mean: 70, worst: 180, repairable_percent: 40, repair_min: 45 },
    Worn { label: "fire valve", repair: "fire_valve", place: "Box 3", on: FLIPPER, fitted: 1, spares: 1, mass_g: 610, mean: 90, worst: 250, repairable_percent: 30, repair_min: 30 },
    Worn { label: "ram seal kit", repair: "seals", place: "Box 3", on: FLIPPER, fitted: 1, spares: 2, mass_g: 80, mean: 110, worst: 260, repairable_percent: 0, repair_min: 0 },
    Worn { label: "receiver", repair: "receiver", place: "Box 4", on: BOTH_HEAVY, fitted: 1, spares: 1, mass_g: 20, mean: 30, worst: 90, repairable_percent: 0, repair_min: 0 },
    Worn { label: "weapon belt", repair: "wbelt", place: "Box 2", on: SPINNING, fitted: 1, spares: 1, mass_g: 120, mean: 120, worst: 260, repairable_percent: 0, repair_min: 0 },
];
