//! Lists of named things in an input: how many, none without a name, none twice.

use super::fault::Faults;

/// Longest name taken, in characters.
const LONGEST: usize = 80;

/// Notes a fault unless `len` is from `min` to `max`.
pub(in crate::calc) fn count(
    faults: &mut Faults,
    pointer: &str,
    len: usize,
    min: usize,
    max: usize,
    what: &str,
) {
    if len < min || len > max {
        faults.add(
            pointer,
            format!("{len} {what} given; from {min} to {max} are taken."),
        );
    }
}

/// Notes a fault for every empty, overlong or repeated name; `pointer_of` places the nth.
pub(in crate::calc) fn distinct<'a>(
    faults: &mut Faults,
    names: impl Iterator<Item = &'a str>,
    pointer_of: impl Fn(usize) -> String,
) {
    let mut seen = std::collections::BTreeMap::new();
    for (index, name) in names.enumerate() {
        if name.trim().is_empty() || name.chars().count() > LONGEST {
            faults.add(
                pointer_of(index),
                format!("A name has from 1 to {LONGEST} characters."),
            );
        } else if let Some(first) = seen.insert(name, index) {
            faults.add(
                pointer_of(index),
                format!(
                    "\"{name}\" is already the name of number {} in this list.",
                    first + 1
                ),
            );
        }
    }
}

/// Where `name` stands in `names`, or a fault that names the known ones.
pub(in crate::calc) fn place(
    faults: &mut Faults,
    pointer: impl Into<String>,
    names: &[&str],
    name: &str,
) -> Option<usize> {
    let found = names.iter().position(|known| *known == name);
    if found.is_none() {
        let known: Vec<&str> = names.iter().take(12).copied().collect();
        faults.add(
            pointer,
            format!("\"{name}\" is not known here; known: {}.", known.join(", ")),
        );
    }
    found
}
