//! Reads a published JSON form strictly and names every fault it can find, not only the first.

use super::fault::{Fault, Faults};
use super::objects::Objects;
use serde::de::DeserializeOwned;
use serde_json::Value;
use serde_path_to_error::Segment;
use utoipa::{
    PartialSchema,
    openapi::{RefOr, schema::Schema},
};

/// More faults than this in one document are not listed one by one.
const MOST: usize = 50;

const NEEDED: &str = "This field is needed.";

/// Reads `value` as a `T`.
///
/// serde stops at the first fault. So the member at fault is taken out and the rest is read again,
/// until it reads or nothing can be taken out any more.
///
/// # Errors
/// Every fault found, each with its pointer under `base`; an unknown field names the nearest known.
pub fn read<T: DeserializeOwned + PartialSchema>(
    value: &Value,
    base: &str,
) -> Result<T, Vec<Fault>> {
    let mut rest = with_whole_numbers(value);
    let mut faults = Faults::none();
    let mut seen: Vec<String> = Vec::new();
    for _ in 0..MOST {
        let error = match serde_path_to_error::deserialize::<_, T>(Objects(&rest)) {
            Ok(read) => {
                lists_within_bounds::<T>(value, base, &mut faults);
                return faults.or(read);
            }
            Err(error) => error,
        };
        let mut pointer = pointer_of(error.path());
        let message = error.inner().to_string();
        let detail = match member_named(&message, "unknown field `") {
            Some(name) => {
                if !pointer.ends_with(&format!("/{}", escape(name))) {
                    pointer = format!("{pointer}/{}", escape(name));
                }
                unknown(name, &message)
            }
            None => match member_named(&message, "missing field `") {
                Some(name) => {
                    pointer = format!("{pointer}/{}", escape(name));
                    NEEDED.to_owned()
                }
                None => sentence(&message),
            },
        };
        // A member that was taken out for a fault of its own is then missing: that is no new fault.
        if seen.contains(&pointer) {
            break;
        }
        faults.add(format!("{base}{pointer}"), detail);
        seen.push(pointer.clone());
        if !take_out(&mut rest, &pointer) {
            break;
        }
    }
    // serde says "missing" one at a time and last, so the schema tells what else is.
    if let (RefOr::T(Schema::Object(form)), Value::Object(members)) = (T::schema(), value) {
        for name in form
            .required
            .iter()
            .filter(|name| !members.contains_key(*name))
        {
            let pointer = format!("/{}", escape(name));
            if !seen.contains(&pointer) {
                faults.add(format!("{base}{pointer}"), NEEDED);
            }
        }
    }
    match faults.check() {
        Err(faults) => Err(faults),
        Ok(()) => Err(vec![Fault::new(base, "This could not be read.")]),
    }
}

/// The document with every number that has no fraction as a whole one: JSON makes no difference
/// between 1 and 1.0 (RFC 8259, section 6), serde does.
fn with_whole_numbers(value: &Value) -> Value {
    match value {
        Value::Array(items) => items.iter().map(with_whole_numbers).collect(),
        Value::Object(members) => members
            .iter()
            .map(|(name, member)| (name.clone(), with_whole_numbers(member)))
            .collect(),
        #[expect(
            clippy::cast_possible_truncation,
            reason = "checked to be whole and small enough to be exact"
        )]
        Value::Number(number) => match number.as_f64() {
            Some(float) if number.is_f64() && float.fract() == 0.0 && float.abs() < 9.0e15 => {
                (float as i64).into()
            }
            _ => value.clone(),
        },
        other => other.clone(),
    }
}

/// Holds the lists of a document to the lengths that its schema publishes, which serde does not know.
fn lists_within_bounds<T: PartialSchema>(value: &Value, base: &str, faults: &mut Faults) {
    let Value::Object(members) = value else {
        return;
    };
    if !members.values().any(Value::is_array) {
        return;
    }
    let RefOr::T(Schema::Object(form)) = T::schema() else {
        return;
    };
    for (name, member) in members {
        let (Value::Array(items), Some(RefOr::T(Schema::Array(list)))) =
            (member, form.properties.get(name))
        else {
            continue;
        };
        let (least, most) = (
            list.min_items.unwrap_or(0),
            list.max_items.unwrap_or(usize::MAX),
        );
        if !(least..=most).contains(&items.len()) {
            faults.add(
                format!("{base}/{}", escape(name)),
                format!("{} items is not from {least} to {most}.", items.len()),
            );
        }
    }
}

/// `name` as a segment of a JSON pointer (RFC 6901 section 3).
pub fn escape(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

fn pointer_of(path: &serde_path_to_error::Path) -> String {
    let mut pointer = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => pointer.push_str(&format!("/{index}")),
            // The variant of an enum that carries data is the only member of its object.
            Segment::Map { key } | Segment::Enum { variant: key } => {
                pointer.push_str(&format!("/{}", escape(key)));
            }
            Segment::Unknown => {}
        }
    }
    pointer
}

fn member_named<'a>(message: &'a str, before: &str) -> Option<&'a str> {
    let start = message.find(before)? + before.len();
    message[start..].split('`').next()
}

fn unknown(name: &str, message: &str) -> String {
    let known = message.split_once("expected ").map_or("", |(_, rest)| rest);
    let nearest = known
        .split('`')
        .skip(1)
        .step_by(2)
        .max_by(|a, b| strsim::jaro_winkler(a, name).total_cmp(&strsim::jaro_winkler(b, name)))
        .filter(|near| strsim::jaro_winkler(near, name) > 0.7);
    match nearest {
        Some(near) => format!("There is no field '{name}'; the nearest is '{near}'."),
        None => format!("There is no field '{name}'."),
    }
}

fn sentence(message: &str) -> String {
    let message = message
        .split(" at line ")
        .next()
        .unwrap_or(message)
        .replace('`', "'");
    let mut letters = message.chars();
    match letters.next() {
        Some(first) => format!("{}{}.", first.to_uppercase(), letters.as_str()),
        None => String::new(),
    }
}

/// Removes the member at `pointer`; an element of a list cannot be taken out without moving others.
fn take_out(value: &mut Value, pointer: &str) -> bool {
    let Some((parent, name)) = pointer.rsplit_once('/') else {
        return false;
    };
    match value.pointer_mut(parent) {
        Some(Value::Object(members)) => members
            .remove(&name.replace("~1", "/").replace("~0", "~"))
            .is_some(),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::units::Mass;
    use serde::Deserialize;
    use serde_json::json;

    #[derive(Debug, Deserialize, utoipa::ToSchema)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct Weighing {
        mass_g: Mass,
        tare_g: Mass,
        scale: Option<String>,
    }

    #[test]
    fn every_fault_is_named_with_its_pointer() {
        let faults = read::<Weighing>(&json!({"mass_g": -3, "tare_gg": 1, "scale": 7}), "/body")
            .unwrap_err();
        let pointers: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
        for pointer in [
            "/body/mass_g",
            "/body/tare_gg",
            "/body/scale",
            "/body/tare_g",
        ] {
            assert!(pointers.contains(&pointer), "{pointer} in {faults:?}");
        }
        assert_eq!(faults.len(), 4, "{faults:?}");
        assert!(
            faults
                .iter()
                .any(|f| f.detail.contains("nearest is 'tare_g'")),
            "{faults:?}"
        );
    }

    #[derive(Debug, Deserialize, utoipa::ToSchema)]
    #[serde(rename_all = "snake_case")]
    #[expect(dead_code, reason = "only read")]
    enum Load {
        Weighed(Weighing),
    }

    #[derive(Debug, Deserialize, utoipa::ToSchema)]
    struct Counted {
        cells: u32,
    }

    #[test]
    fn a_number_without_a_fraction_is_whole() {
        for cells in [json!(6), json!(6.0)] {
            let read: Counted = read(&json!({"cells": cells}), "").unwrap();
            assert_eq!(read.cells, 6);
        }
        assert!(read::<Counted>(&json!({"cells": 6.5}), "").is_err());
        assert!(read::<Counted>(&json!({"cells": -6.0}), "").is_err());
    }

    #[test]
    fn a_fault_within_a_variant_is_pointed_at_through_it() {
        let weighed = json!({"mass_g": -3, "tare_g": 5, "colour": 1});
        let faults = read::<Load>(&json!({"weighed": weighed}), "").unwrap_err();
        let pointers: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert!(pointers.contains(&"/weighed/mass_g"), "{faults:?}");
        assert!(pointers.contains(&"/weighed/colour"), "{faults:?}");
    }

    #[derive(Debug, Deserialize, utoipa::ToSchema)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct Crew {
        #[schema(min_items = 1, max_items = 2)]
        names: Vec<String>,
        #[serde(default)]
        #[schema(max_items = 1)]
        away: Option<Vec<i64>>,
    }

    #[test]
    fn a_list_is_as_long_as_its_schema_says() {
        assert!(read::<Crew>(&json!({"names": ["ana", "ben"]}), "").is_ok());
        let faults = read::<Crew>(&json!({"names": [], "away": [1, 2]}), "/body").unwrap_err();
        let pointers: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(pointers, ["/body/away", "/body/names"]);
    }

    #[derive(Debug, Deserialize, utoipa::ToSchema)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct Scales {
        list: Vec<Weighing>,
        one: Option<Weighing>,
        load: Option<Load>,
    }

    #[test]
    fn a_list_of_values_is_no_object_at_any_depth() {
        let (object, values) = (json!({"mass_g": 3, "tare_g": 1}), json!([3, 1, null]));
        let good = json!({"list": [object], "one": object, "load": {"weighed": object}});
        assert!(read::<Scales>(&good, "").is_ok());
        for (bad, pointer) in [
            (json!([[], null, null]), ""),
            (json!({"list": [values]}), "/list/0"),
            (json!({"list": [], "one": values}), "/one"),
            (
                json!({"list": [], "load": {"weighed": values}}),
                "/load/weighed",
            ),
        ] {
            let faults = read::<Scales>(&bad, "").unwrap_err();
            assert_eq!(faults[0].pointer, pointer, "{faults:?}");
            assert!(faults[0].detail.contains("an object"), "{faults:?}");
        }
    }

    #[test]
    fn a_whole_document_of_the_wrong_type_is_one_fault() {
        let faults = read::<Weighing>(&json!(7), "").unwrap_err();
        assert_eq!(faults.len(), 1);
        assert_eq!(faults[0].pointer, "");
    }
}
