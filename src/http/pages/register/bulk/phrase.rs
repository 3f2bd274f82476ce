//! "12 packs 4S 5 Ah": several things in a line of text.

use crate::http::pages::register::things::{Noun, convert};
use serde_json::{Value, json};

/// Most things entered at once.
pub const MOST: usize = 60;

/// Like things that somebody wants to enter.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// Of what.
    pub noun: Noun,
    /// How many.
    pub count: usize,
    /// What their labels begin with; the number follows.
    pub prefix: String,
    /// What they have in common.
    pub body: Value,
    /// The same, to read.
    pub detail: String,
}

/// What each noun is called, what it has to say, and what its labels begin with.
const KNOWN: [(&str, Noun, &str, &[&str]); 6] = [
    ("pack", Noun::Packs, "P", &["cells", "capacity_mah"]),
    (
        "channel",
        Noun::Channels,
        "C",
        &["max_current_ma", "max_power_w"],
    ),
    ("bottle", Noun::Bottles, "B", &["volume_ml", "tare_g"]),
    ("circuit", Noun::Circuits, "Circuit ", &["rating_ma"]),
    ("lead", Noun::Circuits, "Lead ", &["rating_ma"]),
    ("generator", Noun::Circuits, "Generator ", &["rating_va"]),
];

/// Reads lines such as "12 packs 4S 5 Ah" or "4 channels 20 A 500 W called green".
///
/// # Errors
/// A sentence about the first line that cannot be read.
pub fn read(text: &str) -> Result<Vec<Wish>, String> {
    let wishes: Vec<Wish> = convert::lines(text).map(line).collect::<Result<_, _>>()?;
    let count: usize = wishes.iter().map(|wish| wish.count).sum();
    match count {
        0 => Err("Such as: 12 packs 4S 5 Ah.".to_owned()),
        n if n > MOST => Err(format!("{n} at once; at most {MOST} are taken.")),
        _ => Ok(wishes),
    }
}

fn line(text: &str) -> Result<Wish, String> {
    let (what, called) = match text.split_once(" called ") {
        Some((what, called)) => (what, Some(called.trim())),
        None => (text, None),
    };
    let words = joined(what);
    let mut words = words.iter().map(String::as_str);
    let count = words.next().and_then(|word| word.parse::<usize>().ok());
    let count = count
        .filter(|n| (1..=MOST).contains(n))
        .ok_or_else(|| format!("“{text}” does not begin with a number from 1 to {MOST}."))?;
    let word = words.next().unwrap_or_default();
    let known = KNOWN
        .iter()
        .find(|(name, ..)| word.strip_suffix('s').unwrap_or(word) == *name);
    let (name, noun, prefix, needed) = known.ok_or_else(|| {
        format!("“{word}” is none of packs, channels, bottles, circuits, leads, generators.")
    })?;
    let mut body = match *noun {
        Noun::Packs => json!({"chemistry": "lipo"}),
        Noun::Bottles => json!({"gas": "co2"}),
        Noun::Circuits => json!({"kind": name}),
        _ => json!({}),
    };
    let mut detail = Vec::new();
    for word in words {
        let (field, value) = attribute(*noun, name, word)
            .ok_or_else(|| format!("“{word}” says nothing about {name}s."))?;
        body[field] = value;
        detail.push(word.to_owned());
    }
    if let Some(missing) = needed.iter().find(|field| body[**field].is_null()) {
        return Err(format!("“{text}” does not say {}.", missing_words(missing)));
    }
    Ok(Wish {
        noun: *noun,
        count,
        prefix: called.map_or_else(|| (*prefix).to_owned(), |called| format!("{called} ")),
        body,
        detail: detail.join(", "),
    })
}

/// Words in small letters, each number joined with its unit.
fn joined(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for (n, word) in text.to_lowercase().split_whitespace().enumerate() {
        let word = word.trim_end_matches(',');
        let bare = |text: &str| {
            text.bytes()
                .all(|b| b.is_ascii_digit() || b == b'.' || b == b',')
        };
        match words.last_mut() {
            Some(last) if n > 1 && bare(last) && !bare(word) => last.push_str(word),
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn attribute(noun: Noun, name: &str, word: &str) -> Option<(&'static str, Value)> {
    let split = word.find(|c: char| c.is_alphabetic())?;
    let (number, unit) = word.split_at(split);
    let of = |field, per| Some((field, json!(convert::whole(number, per).ok()?)));
    match (noun, unit) {
        (Noun::Packs, "s") => of("cells", 1),
        (Noun::Packs, "p") => of("parallel_cells", 1),
        (Noun::Packs, "ah") => of("capacity_mah", 1000),
        (Noun::Packs, "mah") => of("capacity_mah", 1),
        (Noun::Packs, "lipo" | "nmc" | "lfp") if number.is_empty() => {
            Some(("chemistry", json!(unit)))
        }
        (Noun::Packs, "lifepo4" | "life") if number.is_empty() => Some(("chemistry", json!("lfp"))),
        (Noun::Channels, "a") => of("max_current_ma", 1000),
        (Noun::Channels, "w") => of("max_power_w", 1),
        (Noun::Channels, "s") => of("most_cells", 1),
        (Noun::Bottles, "l") => of("volume_ml", 1000),
        (Noun::Bottles, "ml") => of("volume_ml", 1),
        (Noun::Bottles, "kg") => of("tare_g", 1000),
        (Noun::Bottles, "g") => of("tare_g", 1),
        (Noun::Bottles, "bar") => of("test_pressure_mbar_gauge", 1000),
        (Noun::Bottles, "co2" | "nitrogen" | "air") if number.is_empty() => {
            Some(("gas", json!(unit)))
        }
        (Noun::Circuits, "a") if name != "generator" => of("rating_ma", 1000),
        (Noun::Circuits, "kva") if name == "generator" => of("rating_va", 1000),
        (Noun::Circuits, "v") => of("mains_mv", 1000),
        _ => None,
    }
}

fn missing_words(field: &str) -> &'static str {
    match field {
        "cells" => "how many cells, such as 4S",
        "capacity_mah" => "the capacity, such as 5 Ah",
        "max_current_ma" | "rating_ma" => "the current, such as 16 A",
        "max_power_w" => "the power, such as 500 W",
        "volume_ml" => "the volume, such as 1.34 l",
        "tare_g" => "the empty mass, such as 2.95 kg",
        _ => "what it gives, such as 5 kVA",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Wish {
        read(text).unwrap().remove(0)
    }

    #[test]
    fn a_line_of_text_is_several_things() {
        let packs = one("12 packs 4S 5 Ah");
        assert_eq!(
            (packs.noun, packs.count, packs.prefix.as_str()),
            (Noun::Packs, 12, "P")
        );
        assert_eq!(
            packs.body,
            json!({"chemistry": "lipo", "cells": 4, "capacity_mah": 5000})
        );
    }

    #[test]
    fn units_stand_with_or_without_a_space() {
        let channels = one("4 channels 20A 500 W called green");
        assert_eq!(
            channels.body,
            json!({"max_current_ma": 20_000, "max_power_w": 500})
        );
        assert_eq!(channels.prefix, "green ");
        assert_eq!(
            one("1 bottle 1.34 l 2.95 kg nitrogen").body["gas"],
            "nitrogen"
        );
        assert_eq!(
            one("3 leads 13 A").body,
            json!({"kind": "lead", "rating_ma": 13_000})
        );
        assert_eq!(one("1 pack 6s 3,3 ah lfp").body["capacity_mah"], 3300);
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        for (text, named) in [
            ("", "Such as"),
            ("packs 4S 5 Ah", "packs 4S"),
            ("0 packs 4S 5 Ah", "from 1 to"),
            ("12 hats", "hats"),
            ("12 packs 4S", "5 Ah"),
            ("12 packs 4S 5 Ah 30C", "30c"),
            ("40 packs 4S 5 Ah\n40 packs 4S 5 Ah", "80 at once"),
            ("4 channels 20 A <script>", "<script>"),
        ] {
            let refused = read(text).unwrap_err();
            assert!(refused.contains(named), "{text}: {refused}");
        }
    }
}
