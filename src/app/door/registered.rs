//! What the after-image of a thing can get wrong although each field is of its form.

use crate::calc::battery::SupplyKind;
use crate::calc::fault::Fault;
use crate::calc::gas::GasFeed;
use crate::calc::units::Percent;
use crate::pit::ids::Subject;
use crate::pit::library;
use crate::pit::logbook::register::{
    Bout, Charger, Circuit, Event, FailurePrior, GasSystem, PartType, Robot, Set, Slot,
};
use crate::pit::logbook::{Body, Draft};
use std::collections::BTreeSet;

/// Least efficiency and power factor that the calculators take.
const LEAST_SHARE: i32 = 30;
/// Least share of a rating to plan with that they take.
const LEAST_PLANNED: i32 = 10;

struct Faults {
    base: String,
    found: Vec<Fault>,
}

impl Faults {
    fn add(&mut self, field: &str, detail: impl Into<String>) {
        self.found
            .push(Fault::new(format!("{}/body/{field}", self.base), detail));
    }

    fn at_most(&mut self, field: &str, found: usize, most: usize) {
        if found > most {
            self.add(field, format!("At most {most}, not {found}."));
        }
    }
}

/// Everything wrong with what a register line says of its thing.
pub fn check(draft: &Draft, base: &str) -> Vec<Fault> {
    let mut faults = Faults {
        base: base.to_owned(),
        found: Vec::new(),
    };
    match &draft.body {
        Body::RegisterEvent(event) => check_event(event, &mut faults),
        Body::RegisterRobot(robot) => check_robot(robot, &mut faults),
        Body::RegisterSet(set) => check_set(set, &mut faults),
        Body::RegisterCircuit(circuit) => check_circuit(circuit, draft.subject, &mut faults),
        Body::RegisterCharger(charger) => check_charger(charger, &mut faults),
        Body::RegisterPartType(part) => check_part(part, &mut faults),
        Body::RegisterBout(bout) => check_bout(bout, draft.subject, &mut faults),
        Body::RegisterLibrary(changes) => {
            for fault in library::check_changes(changes).err().unwrap_or_default() {
                faults.add(fault.pointer.trim_start_matches('/'), fault.detail);
            }
        }
        _ => {}
    }
    faults.found
}

fn check_event(event: &Event, faults: &mut Faults) {
    if event.time_zone.parse::<chrono_tz::Tz>().is_err() {
        let name: String = event.time_zone.chars().take(60).collect();
        faults.add(
            "time_zone",
            format!("'{name}' is not a time zone of the IANA list, such as Europe/London."),
        );
    }
    if event.last_day < event.first_day {
        faults.add("last_day", "The last day is before the first.");
    }
    share(
        "settings/continuous_percent",
        Some(event.settings.continuous_percent),
        LEAST_PLANNED,
        faults,
    );
}

fn check_robot(robot: &Robot, faults: &mut Faults) {
    faults.at_most("configurations", robot.configurations.len(), 12);
    let mut names = BTreeSet::new();
    for (n, configuration) in robot.configurations.iter().enumerate() {
        if !names.insert(configuration.name.as_str().to_lowercase()) {
            faults.add(
                &format!("configurations/{n}/name"),
                "Another configuration has this name.",
            );
        }
    }
    if let Some(now) = &robot.configuration
        && !robot.configurations.is_empty()
        && !names.contains(&now.as_str().to_lowercase())
    {
        faults.add("configuration", "It is none of the robot's configurations.");
    }
    if let Some(electrics) = &robot.electrics {
        faults.at_most("electrics/parts", electrics.parts.len(), 12);
    }
    if let Some(system) = &robot.gas_system {
        if !robot.machine.has_gas() {
            faults.add("gas_system", "This machine has no gas system.");
        }
        check_gas_system(system, faults);
    }
}

fn check_gas_system(system: &GasSystem, faults: &mut Faults) {
    match (system.feed, system.extend_pressure_mbar_gauge) {
        (GasFeed::Regulated, None) => faults.add(
            "gas_system/extend_pressure_mbar_gauge",
            "A regulated feed needs its pressure.",
        ),
        (GasFeed::FullPressure, Some(_)) => faults.add(
            "gas_system/extend_pressure_mbar_gauge",
            "A full-pressure feed has the bottle's own pressure; leave this out.",
        ),
        _ => {}
    }
    if system.rod_um >= system.bore_um {
        faults.add("gas_system/rod_um", "The rod is thinner than the bore.");
    }
}

fn check_set(set: &Set, faults: &mut Faults) {
    let packs = set.packs.len();
    if packs == 0 || packs > 16 {
        faults.add("packs", "A set has from 1 to 16 packs.");
        return;
    }
    if let Some(strings) = set.strings {
        let strings = usize::try_from(strings.get()).unwrap_or(0);
        if strings == 0 || !packs.is_multiple_of(strings) {
            faults.add(
                "strings",
                format!("{packs} packs do not make {strings} strings of the same length."),
            );
        }
    }
}

fn check_circuit(circuit: &Circuit, this: Subject, faults: &mut Faults) {
    share(
        "continuous_percent",
        circuit.continuous_percent,
        LEAST_PLANNED,
        faults,
    );
    if circuit.kind == SupplyKind::Generator && circuit.rating_ma.is_some() {
        faults.add("rating_ma", "A generator is rated by its volt-amperes.");
    }
    if circuit.kind != SupplyKind::Generator && circuit.rating_va.is_some() {
        faults.add("rating_va", "Only a generator is rated by volt-amperes.");
    }
    if circuit.kind != SupplyKind::Lead && (circuit.coiled || circuit.coiled_ma.is_some()) {
        faults.add("coiled", "Only a lead can be coiled.");
    }
    if let (Some(coiled), Some(rating)) = (circuit.coiled_ma, circuit.rating_ma)
        && coiled > rating
    {
        faults.add("coiled_ma", "Coiled, a lead carries less than unwound.");
    }
    if circuit.fed_by.map(Subject::Circuit) == Some(this) {
        faults.add("fed_by", "Nothing feeds itself.");
    }
}

fn check_charger(charger: &Charger, faults: &mut Faults) {
    share(
        "efficiency_percent",
        charger.efficiency_percent,
        LEAST_SHARE,
        faults,
    );
    share(
        "power_factor_percent",
        charger.power_factor_percent,
        LEAST_SHARE,
        faults,
    );
}

fn share(field: &str, given: Option<Percent>, least: i32, faults: &mut Faults) {
    if let Some(given) = given
        && given.get() < least
    {
        faults.add(
            field,
            format!("{} % is not from {least} to 100 %.", given.get()),
        );
    }
}

fn check_part(part: &PartType, faults: &mut Faults) {
    faults.at_most("fits", part.fits.len(), 24);
    let mut robots = BTreeSet::new();
    for (n, fit) in part.fits.iter().enumerate() {
        if !robots.insert(fit.robot) {
            faults.add(&format!("fits/{n}/robot"), "This robot is named twice.");
        }
        if fit.units.get() > 24 {
            faults.add(
                &format!("fits/{n}/units"),
                "At most 24 of a part sit on a robot.",
            );
        }
    }
    if let Some(prior) = part.prior {
        check_prior(prior, faults);
    }
}

/// A gamma distribution with this mean and this 95 % point exists only in between.
fn check_prior(prior: FailurePrior, faults: &mut Faults) {
    let mean = f64::from(prior.mean_per_1000_unit_bouts.get());
    let worst = f64::from(prior.worst_per_1000_unit_bouts.get());
    if !(1.05 * mean..=3.84 * mean).contains(&worst) {
        faults.add(
            "prior/worst_per_1000_unit_bouts",
            format!(
                "It is from 1.05 to 3.84 times the mean: from {:.0} to {:.0}.",
                (1.05 * mean).ceil(),
                (3.84 * mean).floor()
            ),
        );
    }
}

fn check_bout(bout: &Bout, this: Subject, faults: &mut Faults) {
    if bout.slots[0] == bout.slots[1] {
        faults.add("slots/1", "Both corners name the same.");
        return;
    }
    for (n, slot) in bout.slots.iter().enumerate() {
        if let Slot::Winner(before) | Slot::Loser(before) = slot
            && Subject::Bout(*before) == this
        {
            faults.add(&format!("slots/{n}"), "A bout cannot wait for itself.");
        }
    }
}
