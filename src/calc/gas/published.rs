//! The published examples: each is accepted as printed, answers as printed, and refuses strangers.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use utoipa::PartialSchema;

use super::*;
use crate::calc::fault::Fault;

fn schema<T: PartialSchema>() -> Value {
    serde_json::to_value(T::schema()).unwrap()
}

fn example<T: PartialSchema>() -> Value {
    let example = schema::<T>().get("example").cloned();
    example.unwrap_or_else(|| panic!("{} has no example", std::any::type_name::<T>()))
}

fn check<I, O>(name: &str, calculate: fn(&I) -> Result<O, Vec<Fault>>)
where
    I: PartialSchema + DeserializeOwned + Serialize,
    O: PartialSchema + DeserializeOwned + Serialize,
{
    let asked = example::<I>();
    let input: I = serde_json::from_value(asked.clone()).unwrap_or_else(|e| panic!("{name}: {e}"));
    let answer = calculate(&input).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
    assert_eq!(
        serde_json::to_value(&answer).unwrap(),
        example::<O>(),
        "{name}"
    );
    let read: O = serde_json::from_value(example::<O>()).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert_eq!(
        serde_json::to_value(&read).unwrap(),
        example::<O>(),
        "{name}"
    );

    let mut strange = asked;
    strange["pressure_psi"] = json!(1);
    let refused = serde_json::from_value::<I>(strange)
        .err()
        .map(|e| e.to_string());
    assert!(
        refused.is_some_and(|e| e.contains("unknown field")),
        "{name}"
    );
    check_bounds(name, calculate);
}

#[test]
fn every_published_example_is_what_the_calculator_says() {
    check("gas-state", gas_state);
    check("gas-saturation", gas_saturation);
    check("gas-bottle", gas_bottle);
    check("gas-ram", gas_ram);
    check("gas-shot", gas_shot);
    check("gas-shot-factor", gas_shot_factor);
    check("gas-shots", gas_shots);
    check("gas-fill", gas_fill);
    check("gas-supply", gas_supply);
    check("gas-leak", gas_leak);
    check("gas-room", gas_room);
    check("gas-air-mass", gas_air_mass);
    check("gas-air-fill", gas_air_fill);
    check("gas-air-cascade", gas_air_cascade);
    check("gas-air-shots", gas_air_shots);
}

#[test]
fn an_unknown_field_inside_the_ram_is_refused_too() {
    let mut asked = example::<GasShotsInput>();
    asked["system"]["ram"]["colour"] = json!("red");
    assert!(serde_json::from_value::<GasShotsInput>(asked).is_err());
}

/// Pointers and bounds of every number in the schema of `form`, nested forms included.
fn bounds(form: &Value, under: &str, found: &mut Vec<(String, f64, f64)>) {
    for (name, property) in form["properties"].as_object().unwrap() {
        let pointer = format!("{under}/{name}");
        let nested = property["$ref"].as_str().unwrap_or_default();
        match nested.rsplit('/').next() {
            Some("GasSystem") => bounds(&schema::<GasSystem>(), &pointer, found),
            Some("GasRam") => bounds(&schema::<GasRam>(), &pointer, found),
            Some("GasShell") => bounds(&schema::<GasShell>(), &pointer, found),
            _ => {}
        }
        if let (Some(min), Some(max)) = (property["minimum"].as_f64(), property["maximum"].as_f64())
        {
            found.push((pointer, min, max));
        }
    }
}

/// A number just outside its published bounds is a fault at its own pointer.
fn check_bounds<I, O>(name: &str, calculate: fn(&I) -> Result<O, Vec<Fault>>)
where
    I: PartialSchema + DeserializeOwned,
{
    let mut published = Vec::new();
    bounds(&schema::<I>(), "", &mut published);
    assert!(!published.is_empty(), "{name}");
    for (pointer, min, max) in published {
        for outside in [min - 1.0, max + 1.0] {
            let mut asked = example::<I>();
            let Some(field) = asked.pointer_mut(&pointer) else {
                panic!("{name} {pointer} is not in the example");
            };
            // A count cannot be negative or broken: reading it refuses that already.
            *field = if field.is_u64() {
                json!(outside as i64)
            } else {
                json!(outside)
            };
            let Ok(input) = serde_json::from_value::<I>(asked) else {
                continue;
            };
            let faults = calculate(&input).err().unwrap_or_default();
            let named = faults.iter().any(|fault| fault.pointer == pointer);
            assert!(named, "{name}: {pointer} = {outside} gives {faults:?}");
        }
    }
}
