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
