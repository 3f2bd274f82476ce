//! The one table of calculators: what the API and the command line offer, under the same names.

use super::{battery, fault::Fault, gas, running_order, spares, strict, turnaround};
use serde_json::Value;
use utoipa::{
    ToSchema,
    openapi::{RefOr, schema::Schema},
};

/// Schemas by name, as published.
pub type Schemas = Vec<(String, RefOr<Schema>)>;

/// A calculator: reads its published input, gives its published output.
#[derive(Clone, Copy)]
pub struct Calculator {
    /// What it is called: its function's name with dashes.
    pub name: &'static str,
    /// What it tells.
    pub tells: &'static str,
    /// The names of the schemas of its input and output.
    pub forms: fn() -> (String, String),
    /// Those schemas and all they refer to.
    pub schemas: fn(&mut Schemas),
    /// Runs it on its input in JSON.
    pub run: fn(&Value) -> Result<Value, Vec<Fault>>,
}

fn add<T: ToSchema>(schemas: &mut Schemas) {
    schemas.push((T::name().into_owned(), T::schema()));
    T::schemas(schemas);
}

macro_rules! calculators {
    ($($name:literal: $input:ty => $output:ty, $run:path, $tells:literal;)*) => {
        /// Every calculator.
        pub const CALCULATORS: &[Calculator] = &[$(Calculator {
            name: $name,
            tells: $tells,
            forms: || (<$input as ToSchema>::name().into_owned(), <$output as ToSchema>::name().into_owned()),
            schemas: |schemas| {
                add::<$input>(schemas);
                add::<$output>(schemas);
            },
            run: |value| {
                let output: $output = $run(&strict::read::<$input>(value, "")?)?;
                Ok(serde_json::to_value(output).unwrap_or(Value::Null))
            },
        },)*];
    };
}

calculators! {
    "turnaround": turnaround::Problem => turnaround::Answer, plan_turnaround,
        "Who does what when, so that all that must be done is done by the call";
    "bout-use": battery::BoutUseInput => battery::BoutUseOutput, battery::bout_use,
        "What a bout takes from a pack";
    "cell-resistance": battery::CellResistanceInput => battery::CellResistanceOutput, battery::cell_resistance,
        "The resistance of cells from voltage under load";
    "charge-time": battery::ChargeTimeInput => battery::ChargeTimeOutput, battery::charge_time,
        "How long a charge takes";
    "charge-resistance": battery::ChargeResistanceInput => battery::ChargeResistanceOutput, battery::charge_resistance,
        "What logged charges say about a pack's resistance";
    "cool-down": battery::CoolDownInput => battery::CoolDownOutput, battery::cool_down,
        "How long a pack cools before it may be charged";
    "mains-load": battery::MainsLoadInput => battery::MainsLoadOutput, battery::mains_load,
        "What the charging table draws from its circuit";
    "next-bout": battery::NextBoutInput => battery::NextBoutOutput, battery::next_bout,
        "Whether a pack is ready for the next bout";
    "pack-allocation": battery::PackAllocationInput => battery::PackAllocationOutput, battery::pack_allocation,
        "Which set goes into which bout, on which channels";
    "pack-health": battery::PackHealthInput => battery::PackHealthOutput, battery::pack_health,
        "What a pack's history says about its health";
    "pack-set": battery::PackSetInput => battery::PackSetOutput, battery::pack_set,
        "Whether packs may be used together";
    "rest-voltage": battery::RestVoltageInput => battery::RestVoltageOutput, battery::rest_voltage,
        "What rest voltages say about the charge in a pack";
    "storage-charge": battery::StorageChargeInput => battery::StorageChargeOutput, battery::storage_charge,
        "What brings a pack to storage charge";
    "gas-air-cascade": gas::GasAirCascadeInput => gas::GasAirCascadeOutput, gas::gas_air_cascade,
        "Filling with air or nitrogen from a bank of cylinders";
    "gas-air-fill": gas::GasAirFillInput => gas::GasAirFillOutput, gas::gas_air_fill,
        "Filling with air or nitrogen, and how warm it gets";
    "gas-air-mass": gas::GasAirMassInput => gas::GasAirMassOutput, gas::gas_air_mass,
        "The mass of air or nitrogen at a pressure";
    "gas-air-shots": gas::GasAirShotsInput => gas::GasAirShotsOutput, gas::gas_air_shots,
        "Shots left in a bottle of air or nitrogen";
    "gas-bottle": gas::GasBottleInput => gas::GasBottleOutput, gas::gas_bottle,
        "What a bottle may hold, and what it holds";
    "gas-fill": gas::GasFillInput => gas::GasFillOutput, gas::gas_fill,
        "Filling a bottle with CO2 from a supply cylinder";
    "gas-leak": gas::GasLeakInput => gas::GasLeakOutput, gas::gas_leak,
        "Whether a system under pressure leaks";
    "gas-ram": gas::GasRamInput => gas::GasRamOutput, gas::gas_ram,
        "What a ram does with a pressure";
    "gas-room": gas::GasRoomInput => gas::GasRoomOutput, gas::gas_room,
        "What a leak does to the air of a room";
    "gas-saturation": gas::GasSaturationInput => gas::GasSaturationOutput, gas::gas_saturation,
        "CO2 where liquid and gas meet";
    "gas-shot": gas::GasShotInput => gas::GasShotOutput, gas::gas_shot,
        "What one shot takes";
    "gas-shot-factor": gas::GasShotFactorInput => gas::GasShotFactorOutput, gas::gas_shot_factor,
        "What weighings say about the gas a shot takes";
    "gas-shots": gas::GasShotsInput => gas::GasShotsOutput, gas::gas_shots,
        "Shots left in a CO2 bottle, and how it cools";
    "gas-state": gas::GasStateInput => gas::GasStateOutput, gas::gas_state,
        "Pressure, density and phase of a gas";
    "gas-supply": gas::GasSupplyInput => gas::GasSupplyOutput, gas::gas_supply,
        "Fills left in a supply cylinder";
    "buy-now": spares::BuyNowInput => spares::BuyNowOutput, spares::buy_now,
        "What to get now";
    "failure-rate": spares::FailureRateInput => spares::FailureRateOutput, spares::failure_rate,
        "How often a part fails, from what was seen";
    "pack-for-confidence": spares::PackForConfidenceInput => spares::PackForConfidenceOutput, spares::pack_for_confidence,
        "The smallest box of spares for a wanted chance";
    "pack-spares": spares::PackSparesInput => spares::PackSparesOutput, spares::pack_spares,
        "The best box of spares within mass and price";
    "remaining-bouts": spares::RemainingBoutsInput => spares::RemainingBoutsOutput, spares::remaining_bouts,
        "How many bouts are still to come";
    "repairable-spares": spares::RepairableSparesInput => spares::RepairableSparesOutput, spares::repairable_spares,
        "Spares that are mended and come back";
    "spares-forecast": spares::SparesForecastInput => spares::SparesForecastOutput, spares::spares_forecast,
        "Chances of running out of spares today";
    "arena-sequence": running_order::ArenaSequenceInput => running_order::ArenaSequenceOutput, running_order::arena_sequence,
        "The order of bouts that keeps the arena busy";
    "bracket-outlook": running_order::BracketOutlookInput => running_order::BracketOutlookOutput, running_order::bracket_outlook,
        "How far robots are likely to get";
    "knock-out": running_order::KnockOutInput => running_order::KnockOutOutput, running_order::knock_out,
        "A knock-out bracket";
    "round-robin": running_order::RoundRobinInput => running_order::RoundRobinOutput, running_order::round_robin,
        "Rounds in which everybody meets everybody";
    "running-order": running_order::RunningOrderInput => running_order::RunningOrderOutput, running_order::running_order,
        "Proposals for the running order";
}

/// Steps that a plan asked for by itself may cost: about a second of one processor.
const STEPS: u64 = 100_000;

fn plan_turnaround(problem: &turnaround::Problem) -> Result<turnaround::Answer, Vec<Fault>> {
    turnaround::solve(problem, turnaround::Budget::steps(STEPS))
}

/// The calculator called `name`.
///
/// # Errors
/// A sentence with the nearest name there is.
pub fn named(name: &str) -> Result<&'static Calculator, String> {
    let likeness = |calculator: &Calculator| strsim::jaro_winkler(calculator.name, name);
    CALCULATORS
        .iter()
        .find(|calculator| calculator.name == name)
        .ok_or_else(|| {
            let nearest = CALCULATORS
                .iter()
                .max_by(|a, b| likeness(a).total_cmp(&likeness(b)))
                .map_or("", |calculator| calculator.name);
            let name: String = name.chars().take(60).collect();
            format!("There is no calculator '{name}'; the nearest is '{nearest}'.")
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    #[test]
    fn every_calculator_takes_its_published_example_and_refuses_a_strange_field() {
        for calculator in CALCULATORS {
            let mut schemas = Schemas::new();
            (calculator.schemas)(&mut schemas);
            let published: BTreeMap<_, _> = schemas.into_iter().collect();
            let (input, output) = (calculator.forms)();
            assert!(published.contains_key(&output), "{}", calculator.name);
            let form = serde_json::to_value(&published[&input]).unwrap();
            let example = form
                .get("example")
                .or_else(|| form.get("examples").and_then(|all| all.get(0)))
                .unwrap_or_else(|| panic!("{} has no example", calculator.name));
            let answer = (calculator.run)(example);
            assert!(answer.is_ok(), "{}: {answer:?}", calculator.name);
            let mut strange = example.clone();
            strange["no_such_field"] = Value::Bool(true);
            let faults = (calculator.run)(&strange).unwrap_err();
            assert_eq!(faults[0].pointer, "/no_such_field", "{}", calculator.name);
        }
    }

    /// A published form and whatever it refers to.
    struct Published(BTreeMap<String, Value>);

    impl Published {
        fn of(calculator: &Calculator) -> (Self, Value) {
            let mut schemas = Schemas::new();
            (calculator.schemas)(&mut schemas);
            let all = schemas.into_iter();
            let all = all.map(|(name, form)| (name, serde_json::to_value(form).unwrap()));
            let all: BTreeMap<_, _> = all.collect();
            let input = all[&(calculator.forms)().0].clone();
            (Self(all), input)
        }

        /// The form itself, and those a choice is between.
        fn forms<'a>(&'a self, form: &'a Value) -> Vec<&'a Value> {
            if let Some(name) = form["$ref"].as_str() {
                let name = name.rsplit('/').next().unwrap();
                return self.forms(&self.0[name]);
            }
            match form["oneOf"].as_array() {
                Some(choice) => choice.iter().flat_map(|one| self.forms(one)).collect(),
                None => vec![form],
            }
        }

        /// Every list in a value of a form, with the lengths that are published for it.
        fn lists(&self, form: &Value, value: &Value, at: &str, found: &mut Vec<(String, usize)>) {
            for form in self.forms(form) {
                for (name, member) in form["properties"].as_object().into_iter().flatten() {
                    let at = format!("{at}/{name}");
                    self.lists(member, &value[name], &at, found);
                }
                let Some(items) = form.get("items") else {
                    continue;
                };
                let most = form["maxItems"].as_u64();
                // How many packs stand in a string is for their cells to say.
                if !at.starts_with("/strings/") {
                    let most = most.unwrap_or_else(|| panic!("{at} has no published length"));
                    found.push((at.to_owned(), usize::try_from(most).unwrap()));
                }
                self.lists(items, &value[0], &format!("{at}/0"), found);
            }
        }
    }

    /// Lists that are held to something else before their length, with what.
    const OTHERWISE: &[(&str, &str)] = &[
        ("rest_cells_v", "one for each cell"),
        ("cell_irs_mohm", "one for each cell"),
        ("probability_by_bouts", "they sum to 1"),
        ("published_order", "each bout once"),
        ("tried_order", "each bout once"),
        ("fitted", "each robot once"),
        ("feeds", "each feed once"),
        ("requires", "each leads to another task"),
        ("three_point", "three of them by its type"),
        ("sides", "two of them by its type"),
        ("away/0", "two of them by its type"),
    ];

    #[test]
    fn lists_are_taken_as_long_as_is_published_and_no_longer() {
        let mut tried = 0;
        for calculator in CALCULATORS {
            let (published, input) = Published::of(calculator);
            let example = match input.get("example") {
                Some(example) => example.clone(),
                None => input["examples"][0].clone(),
            };
            let mut lists = Vec::new();
            published.lists(&input, &example, "", &mut lists);
            for (at, most) in lists {
                let given = example.pointer(&at).and_then(Value::as_array);
                let otherwise = OTHERWISE.iter().any(|(name, _)| at.ends_with(name));
                let Some(given) = given.filter(|given| !given.is_empty() && !otherwise) else {
                    continue;
                };
                let faults = |length: usize| {
                    let mut longer = example.clone();
                    let items: Vec<Value> = given.iter().cycle().take(length).cloned().collect();
                    *longer.pointer_mut(&at).unwrap() = Value::Array(items);
                    (calculator.run)(&longer).err().unwrap_or_default()
                };
                let name = calculator.name;
                // A thing that is named twice, or an order that lost one, is another matter.
                let too_long = faults(most)
                    .into_iter()
                    .find(|fault| fault.pointer == at && !fault.detail.contains("may move"));
                assert_eq!(too_long, None, "{name} {at}: {most}");
                let refused = faults(most + 1);
                let told = refused.iter().any(|fault| at.starts_with(&fault.pointer));
                assert!(told, "{name} {at}: {} taken, {refused:?}", most + 1);
                tried += 1;
            }
        }
        assert!(tried >= 30, "{tried}");
    }

    #[test]
    fn names_are_their_own_and_a_near_one_is_told() {
        for calculator in CALCULATORS {
            assert_eq!(named(calculator.name).unwrap().name, calculator.name);
        }
        let said = named("mains-laod").err().unwrap_or_default();
        assert!(said.contains("'mains-load'"), "{said}");
    }
}
