//! The fields of each noun: where in the body, what they are called, how they are typed.

use super::{Noun, settings};

/// A field of a form and the place in the body it stands for.
#[derive(Debug, Clone, Copy)]
pub struct Spec {
    /// Where in the body, with `/` between.
    pub at: &'static str,
    /// Its label.
    pub label: &'static str,
    /// A line that helps.
    pub hint: &'static str,
    /// How it is typed.
    pub take: Take,
    /// It cannot be left empty.
    pub required: bool,
    /// What a new thing has.
    pub usual: &'static str,
    /// It stands behind "More".
    pub more: bool,
}

/// How a field is typed.
#[derive(Debug, Clone, Copy)]
pub enum Take {
    /// A line of text.
    Text,
    /// A number, in parts of so many to the unit.
    Number(&'static str, i64),
    /// A day.
    Date,
    /// A day and a time of the hall.
    Time,
    /// Yes or no.
    Flag,
    /// One of a few: value and word.
    Of(&'static [(&'static str, &'static str)]),
    /// Something that is registered; what none is called.
    Pick(Noun, &'static str),
    /// Somebody of the team.
    Driver,
    /// Who is in a corner.
    Corner,
    /// Skills with commas between.
    Skills,
    /// Spans away.
    Away,
    /// Texts, one a line.
    Notes,
    /// Configurations, one a line.
    Configurations,
    /// Parts the packs feed, one a line.
    FedParts,
    /// Robots a part fits, one a line.
    Fits,
    /// Packs by label, one a line.
    Packs,
}

const fn must(at: &'static str, label: &'static str, take: Take) -> Spec {
    Spec {
        at,
        label,
        hint: "",
        take,
        required: true,
        usual: "",
        more: false,
    }
}

/// A field that may stay empty.
pub const fn may(at: &'static str, label: &'static str, take: Take) -> Spec {
    Spec {
        required: false,
        ..must(at, label, take)
    }
}

const fn more(at: &'static str, label: &'static str, take: Take) -> Spec {
    Spec {
        more: true,
        ..may(at, label, take)
    }
}

impl Spec {
    const fn hint(mut self, hint: &'static str) -> Self {
        self.hint = hint;
        self
    }

    /// What a new thing has.
    pub const fn usual(mut self, usual: &'static str) -> Self {
        self.usual = usual;
        self
    }

    /// Its name in the form: the last part of its place, so that a fault finds it.
    pub fn name(&self) -> &'static str {
        match self.at {
            "slots/0" => "one",
            "slots/1" => "other",
            // Every page has a part of that name.
            "emergency" => "emergency_text",
            at => at.rsplit('/').next().unwrap_or(at),
        }
    }
}

use Take::{
    Away, Configurations, Corner, Date, Driver, FedParts, Fits, Flag, Notes, Number, Of, Packs,
    Pick, Skills, Text, Time,
};

const G: Take = Number("g", 1);
const KG: Take = Number("kg", 1000);
const AMPERE: Take = Number("A", 1000);
const VOLT: Take = Number("V", 1000);
const BAR: Take = Number("bar", 1000);
const MM: Take = Number("mm", 1000);
const ML: Take = Number("ml", 1);
const LITRE: Take = Number("l", 1000);
const WATT: Take = Number("W", 1);
const PERCENT: Take = Number("%", 1);
const COUNT: Take = Number("", 1);
const GASES: Take = Of(&[("co2", "CO2"), ("nitrogen", "nitrogen"), ("air", "air")]);
const OWN_TEAM: Spec = must("team", "Team", Pick(Noun::Teams, ""));
const ANY_TEAM: Spec = may("team", "Team", Pick(Noun::Teams, "the event’s own"));
const RETIRED: Spec =
    more("retired", "No longer used", Flag).hint("It stays in the logbook; its name becomes free.");

const EVENT: &[Spec] = &[
    must("name", "Name", Text),
    may("hall", "Hall", Text),
    must("time_zone", "Time zone", Text)
        .hint("As in Europe/London.")
        .usual("Europe/London"),
    must("first_day", "First day", Date),
    must("last_day", "Last day", Date),
    may("currency", "Currency of prices", Text).hint("Three letters, such as GBP."),
    may("emergency", "Emergency text, one line each", Notes)
        .hint("It stands on every page behind the emergency button: whom to call, where to go."),
];
const TEAMS: &[Spec] = &[must("name", "Name", Text), RETIRED];
const PEOPLE: &[Spec] = &[
    ANY_TEAM,
    may("skills", "Skills", Skills)
        .hint("Any of mechanic, electrics, pneumatics, fabricator, driver, with commas between."),
    may("away", "Away", Away)
        .hint("One span a line, such as 12:00-12:30; with a day before it if it is not today."),
    RETIRED,
];
const ROBOTS: &[Spec] = &[
    must("name", "Name", Text),
    OWN_TEAM,
    must(
        "machine",
        "Type of machine",
        Of(&[
            ("flipper_heavyweight", "Flipper"),
            ("spinner_heavyweight", "Spinner"),
            ("small_machine", "Small machine"),
        ]),
    )
    .hint("It chooses the task lists and the areas for damage."),
    may("bench", "Bench", COUNT),
    must("links", "Links, spares not counted", COUNT).usual("1"),
    more("transmitters", "Transmitters", COUNT)
        .usual("1")
        .hint("2: the weapon operator has one too."),
    more(
        "isolator",
        "Its main power is broken by",
        Of(&[
            ("link", "a link"),
            ("named_switch", "a switch the event names"),
            ("switch", "another switch"),
        ]),
    )
    .usual("link"),
    more("stores_energy", "A spring or flywheel stores energy", Flag)
        .hint("It is then looked at like every other source."),
    may("driver", "Driver", Driver),
    may("limit_g", "Its own limit", KG).hint("Empty: the event’s limit for its type."),
    may("configuration", "Configuration now", Text).hint("The lid or weapon fitted."),
    more("configurations", "Every configuration", Configurations)
        .hint("One a line, with its mass if it was weighed: low lid, 109.4 kg."),
    more("electrics/parts", "What the packs feed", FedParts)
        .hint("One a line: drive controller, limit 60 V, rated 48 V, least 9 V."),
    more(
        "electrics/bout_charge_mah",
        "A bout takes from each pack",
        Number("mAh", 1),
    ),
    more(
        "electrics/peak_current_ma",
        "Highest current of each pack",
        AMPERE,
    ),
    RETIRED,
];
const GAS_SYSTEM: &[Spec] = &[
    must("gas_system/gas", "Gas", GASES).usual("co2"),
    must(
        "gas_system/feed",
        "Between bottle and ram",
        Of(&[
            ("regulated", "regulator"),
            ("full_pressure", "full pressure"),
        ]),
    )
    .usual("regulated"),
    may(
        "gas_system/extend_pressure_mbar_gauge",
        "Regulated pressure",
        BAR,
    )
    .hint("For a regulator only."),
    must("gas_system/bore_um", "Bore of the ram", MM),
    must("gas_system/stroke_um", "Stroke", MM),
    must("gas_system/rod_um", "Rod", MM).usual("0"),
    may(
        "gas_system/retract_pressure_mbar_gauge",
        "Pressure of the retraction",
        BAR,
    )
    .hint("0 for a spring; empty: the same."),
    may(
        "gas_system/need_pressure_mbar_gauge",
        "Least pressure before the regulator",
        BAR,
    ),
    may("gas_system/dead_extend_ml", "Dead volume, extending", ML),
    may("gas_system/dead_retract_ml", "Dead volume, retracting", ML),
    may("gas_system/buffer_ml", "Buffer", ML),
    may("gas_system/shots_a_bout", "Shots a bout may take", COUNT),
];
const PACKS: &[Spec] = &[
    must("label", "Label", Text),
    OWN_TEAM,
    must("cells", "Cells in series", COUNT).usual("6"),
    must("capacity_mah", "Capacity", Number("mAh", 1)),
    must(
        "chemistry",
        "Chemistry",
        Of(&[("lipo", "LiPo"), ("nmc", "NMC"), ("lfp", "LiFePO4")]),
    )
    .usual("lipo"),
    may("max_charge_ma", "Most charge current", AMPERE)
        .hint("As on its label; empty: its capacity in an hour."),
    more("parallel_cells", "Cells side by side", COUNT).usual("1"),
    more(
        "cell_resistance_uohm",
        "Resistance of a cell",
        Number("mΩ", 1000),
    ),
    more("cycles_before", "Full cycles before the event", COUNT),
    more("code", "Its code reads", Text),
    RETIRED,
];
const SETS: &[Spec] = &[
    must("label", "Label", Text),
    OWN_TEAM,
    must("packs", "Packs", Packs).hint("Their labels, one a line, string by string."),
    may("robot", "For", Pick(Noun::Robots, "any robot of the team")),
    may("strings", "Strings side by side", COUNT).hint("1: all in series."),
    RETIRED,
];
const CHARGERS: &[Spec] = &[
    must("label", "Label", Text),
    OWN_TEAM,
    may("circuit", "Plugged into", Pick(Noun::Circuits, "not said")),
    may("input_limit_w", "Most it takes from the wall", WATT),
    may("power_factor_corrected", "PFC on its label", Flag),
    more("efficiency_percent", "Efficiency", PERCENT).hint("Usual: 85 %."),
    more("power_factor_percent", "Power factor", PERCENT).hint("Usual: 60 %, with PFC 95 %."),
    RETIRED,
];
const CHANNELS: &[Spec] = &[
    must("label", "Label", Text),
    OWN_TEAM,
    must("max_current_ma", "Most current", AMPERE),
    must("max_power_w", "Most power", WATT),
    may("charger", "Output of", Pick(Noun::Chargers, "not said")),
    may("most_cells", "Most cells in series", COUNT),
    RETIRED,
];
const CIRCUITS: &[Spec] = &[
    must("label", "Label", Text),
    ANY_TEAM,
    must(
        "kind",
        "What it is",
        Of(&[
            ("circuit", "circuit"),
            ("lead", "lead"),
            ("generator", "generator"),
        ]),
    )
    .usual("circuit"),
    may("rating_ma", "Breaker or fuse", AMPERE).hint("Of a lead: unwound."),
    may("coiled_ma", "A lead coiled carries", AMPERE),
    may("coiled", "It lies coiled now", Flag),
    may("fed_by", "Fed by", Pick(Noun::Circuits, "not said")),
    more("rating_va", "A generator gives", Number("VA", 1)),
    more("mains_mv", "Voltage", VOLT).usual("230"),
    more("continuous_percent", "Planned with", PERCENT).hint("Empty: as the event says."),
    more("other_load_w", "What else hangs on it all day", WATT),
    RETIRED,
];
const BOTTLES: &[Spec] = &[
    must("label", "Label", Text),
    OWN_TEAM,
    must("gas", "Gas", GASES).usual("co2"),
    must("volume_ml", "Inner volume", ML),
    must("tare_g", "Empty, with valve", G),
    may("permitted_fill_g", "Most gas it may hold, as stamped", G)
        .hint("Unknown: advice is not to fill."),
    may("tested_on", "Last test, as stamped", Date),
    may("test_due", "Next test due", Date),
    may("test_pressure_mbar_gauge", "Test pressure, as stamped", BAR),
    more("disc_pressure_mbar_gauge", "Its disc may open from", BAR),
    more("service_pressure_mbar_gauge", "Service pressure", BAR),
    more(
        "filling_ratio_g_per_l",
        "Filling ratio",
        Number("kg/l", 1000),
    ),
    more("dip_tube", "Dip tube", Flag),
    more(
        "wall",
        "Wall",
        Of(&[
            ("", "not said"),
            ("aluminium", "aluminium"),
            ("steel", "steel"),
        ]),
    ),
    more("fittings_g", "Hangs on it on the scale", G),
    RETIRED,
];
const SUPPLIES: &[Spec] = &[
    must("label", "Label", Text),
    ANY_TEAM,
    must("gas", "Gas", GASES).usual("co2"),
    must("volume_ml", "Water capacity", LITRE),
    may("tare_g", "Empty, with valve", KG),
    may("contents_g", "Gas in it", KG).hint("When it was weighed, before anything was filled."),
    may("place", "Where it stands", Text),
    may("tested_on", "Last test, as stamped", Date),
    may("dip_tube", "Dip tube", Flag),
    more("heel_g", "Liquid the tube does not reach", G),
    more("pressure_mbar_gauge", "Pressure, of air or nitrogen", BAR),
    RETIRED,
];
const PARTS: &[Spec] = &[
    must("label", "What it is called", Text),
    OWN_TEAM,
    may("spares", "Spares brought", COUNT),
    may("fits", "Fits", Fits).hint(
        "One robot a line with how many sit on it: Pewter Finch 4. 0 if it fits and none is on.",
    ),
    may("place", "Where in the boxes", Text),
    may("repair", "The repair that takes one", Text).hint("As the task list has it without the machine’s letters, such as wheel or fire_valve: then a swap takes it by itself."),
    may("mass_g", "Mass of one", G),
    may("price_minor", "Price of one", Number("", 100)),
    more("volume_ml", "Room of one", ML),
    more("repairable_percent", "Can be repaired here", PERCENT),
    more("repair_min", "A repair takes", Number("min", 1)),
    more(
        "prior/mean_per_1000_unit_bouts",
        "Fails, in 1000 fitted units and bouts",
        COUNT,
    ),
    more(
        "prior/worst_per_1000_unit_bouts",
        "One would be surprised by more than",
        COUNT,
    ),
    more("elsewhere/failures", "Failed at earlier events", COUNT),
    more(
        "elsewhere/unit_bouts",
        "In so many fitted units times bouts there",
        COUNT,
    ),
    more("elsewhere/weight_percent", "A bout there is worth here", PERCENT)
        .hint("50 % if empty; less for another weapon or other opponents."),
    RETIRED,
];
const BOUTS: &[Spec] = &[
    must("number", "Bout number", COUNT),
    must("call_at", "Call at the arena queue", Time).hint("The hall’s time."),
    must("slots/0", "One corner", Corner),
    must("slots/1", "The other corner", Corner),
    may("fixed", "Keeps its place when the order changes", Flag),
    more("retired", "It does not take place", Flag),
];

/// The fields of a noun.
pub fn of(noun: Noun) -> Vec<Spec> {
    match noun {
        Noun::Event => EVENT,
        Noun::Teams => TEAMS,
        Noun::People => PEOPLE,
        Noun::Robots => ROBOTS,
        Noun::GasSystems => GAS_SYSTEM,
        Noun::Packs => PACKS,
        Noun::Sets => SETS,
        Noun::Chargers => CHARGERS,
        Noun::Channels => CHANNELS,
        Noun::Circuits => CIRCUITS,
        Noun::Bottles => BOTTLES,
        Noun::Supplies => SUPPLIES,
        Noun::Parts => PARTS,
        Noun::Bouts => BOUTS,
        Noun::Settings => return settings::specs(),
    }
    .to_vec()
}
