//! The published examples are questions these calculators answer, with the answers they give.

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use utoipa::PartialSchema;

use super::*;
use crate::calc::fault::Fault;

fn example<T: PartialSchema>() -> Value {
    let schema = serde_json::to_value(T::schema()).unwrap();
    schema["example"].clone()
}

/// Fails unless two documents have the same shape, the same words and nearly the same numbers.
fn alike(told: &Value, published: &Value, at: &str) {
    match (told, published) {
        (Value::Object(told), Value::Object(published)) => {
            let names = |object: &serde_json::Map<String, Value>| -> Vec<String> {
                object.keys().cloned().collect()
            };
            assert_eq!(names(told), names(published), "{at}");
            for (name, value) in told {
                alike(value, &published[name], &format!("{at}/{name}"));
            }
        }
        (Value::Array(told), Value::Array(published)) => {
            assert_eq!(told.len(), published.len(), "{at}");
            for (index, value) in told.iter().enumerate() {
                alike(value, &published[index], &format!("{at}/{index}"));
            }
        }
        (Value::Number(told), Value::Number(published)) => {
            let (told, published) = (told.as_f64().unwrap(), published.as_f64().unwrap());
            let near = 0.005 * published.abs() + 1e-9;
            assert!(
                (told - published).abs() <= near,
                "{at}: {told} against {published}"
            );
        }
        (told, published) => assert_eq!(told, published, "{at}"),
    }
}

fn answers<I, O>(calculate: fn(&I) -> Result<O, Vec<Fault>>)
where
    I: DeserializeOwned + PartialSchema,
    O: Serialize + PartialSchema,
{
    let input: I = serde_json::from_value(example::<I>()).unwrap();
    let told = serde_json::to_value(calculate(&input).unwrap()).unwrap();
    alike(&told, &example::<O>(), "");
}

#[test]
fn every_published_question_has_its_published_answer() {
    answers(rest_voltage);
    answers(charge_time);
    answers(charge_resistance);
    answers(cool_down);
    answers(cell_resistance);
    answers(bout_use);
    answers(next_bout);
    answers(pack_health);
    answers(storage_charge);
    answers(pack_set);
    answers(mains_load);
    answers(pack_allocation);
}

/// The published bounds of `T`, which stands at `at` in the example of `I`, are the ones kept.
fn bounds_are_kept<I, O, T>(calculate: fn(&I) -> Result<O, Vec<Fault>>, at: &str)
where
    I: DeserializeOwned + PartialSchema,
    T: PartialSchema,
{
    let schema = serde_json::to_value(T::schema()).unwrap();
    let mut bounds = 0;
    for (name, property) in schema["properties"].as_object().unwrap() {
        let whole = serde_json::to_string(&property["type"])
            .unwrap()
            .contains("integer");
        let pointer = format!("{at}/{name}");
        let faults = |value: f64| -> Vec<Fault> {
            let mut input = example::<I>();
            let slot = &mut input.pointer_mut(at).unwrap()[name.as_str()];
            *slot = if whole {
                Value::from(value as i64)
            } else {
                Value::from(value)
            };
            let input: I = serde_json::from_value(input).unwrap();
            let told = calculate(&input).err().unwrap_or_default();
            told.into_iter()
                .filter(|fault| fault.pointer == pointer)
                .collect()
        };
        for (bound, beyond) in [("minimum", -1.0), ("maximum", 1.0)] {
            let Some(value) = property[bound].as_f64() else {
                continue;
            };
            bounds += 1;
            assert!(
                faults(value)
                    .iter()
                    .all(|fault| !fault.detail.contains("is not from")),
                "{pointer}: {bound} of {value} is published but not taken"
            );
            let step = if whole {
                1.0
            } else {
                1e-3 * (1.0 + value.abs())
            };
            if !(whole && value + beyond * step < 0.0) {
                assert!(
                    !faults(value + beyond * step).is_empty(),
                    "{pointer}: taken beyond the published {bound} of {value}"
                );
            }
        }
        if let Some(value) = property["exclusiveMinimum"].as_f64() {
            bounds += 1;
            assert!(!faults(value).is_empty(), "{pointer}: {value} is taken");
        }
    }
    assert!(bounds > 0, "{at} publishes no bounds");
}

#[test]
fn published_bounds_are_the_ones_kept() {
    bounds_are_kept::<_, _, PackBuild>(rest_voltage, "/pack");
    bounds_are_kept::<_, _, RestVoltageInput>(rest_voltage, "");
    bounds_are_kept::<_, _, ChargeTimeInput>(charge_time, "");
    bounds_are_kept::<_, _, PackTemperature>(charge_time, "/temperature");
    bounds_are_kept::<_, _, LoggedCharge>(charge_time, "/charges/0");
    bounds_are_kept::<_, _, ChargeResistanceInput>(charge_resistance, "");
    bounds_are_kept::<_, _, CoolDownInput>(cool_down, "");
    bounds_are_kept::<_, _, CoolingReading>(cool_down, "/readings/0");
    bounds_are_kept::<_, _, CellResistanceInput>(cell_resistance, "");
    bounds_are_kept::<_, _, BoutUseInput>(bout_use, "");
    bounds_are_kept::<_, _, NextBoutInput>(next_bout, "");
    bounds_are_kept::<_, _, SetPack>(next_bout, "/strings/0/0");
    bounds_are_kept::<_, _, PackHealthInput>(pack_health, "");
    bounds_are_kept::<_, _, IrReading>(pack_health, "/ir_readings/0");
    bounds_are_kept::<_, _, CapacityCharge>(pack_health, "/charges/0");
    bounds_are_kept::<_, _, StorageChargeInput>(storage_charge, "");
    bounds_are_kept::<_, _, PackSetInput>(pack_set, "");
    bounds_are_kept::<_, _, WiredPack>(pack_set, "/strings/0/0");
    bounds_are_kept::<_, _, RatedPart>(pack_set, "/parts/0");
    bounds_are_kept::<_, _, SupplyPlace>(mains_load, "/places/0");
    bounds_are_kept::<_, _, MainsLoad>(mains_load, "/loads/0");
    bounds_are_kept::<_, _, AllocationPack>(pack_allocation, "/packs/0");
    bounds_are_kept::<_, _, ChargeChannel>(pack_allocation, "/channels/0");
    bounds_are_kept::<_, _, MainsFeed>(pack_allocation, "/feeds/0");
    bounds_are_kept::<_, _, AllocationBout>(pack_allocation, "/bouts/0");
}
