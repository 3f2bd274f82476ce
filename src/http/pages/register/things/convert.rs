//! Between what people type and what a body holds.

use crate::http::pages::reader::Reader;
use crate::pit::ids::TeamId;
use crate::pit::library::tasks::Skill;
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeZone as _, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

/// A decimal as people type it, in parts of `per` to the unit: 13.5 with 1000 is 13500.
///
/// # Errors
/// A sentence, if it is no number or finer than what is kept.
pub fn whole(text: &str, per: i64) -> Result<i64, String> {
    let wrong = || "A number.".to_owned();
    let text = text.replace([' ', '\u{a0}'], "").replace(',', ".");
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest.to_owned()),
        None => (false, text),
    };
    let (before, after) = text.split_once('.').unwrap_or((&text, ""));
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if before.len() + after.len() == 0 || before.len() > 12 || !digits(before) || !digits(after) {
        return Err(wrong());
    }
    let mut value = before.parse::<i64>().unwrap_or(0).saturating_mul(per);
    let mut place = per;
    for digit in after.bytes().map(|byte| i64::from(byte - b'0')) {
        if place % 10 != 0 && digit != 0 {
            return Err(if per == 1 {
                "A whole number.".to_owned()
            } else {
                format!("Not finer than 1/{per}.")
            });
        }
        place /= 10;
        value = value.saturating_add(digit * place);
    }
    Ok(if negative { -value } else { value })
}

/// The same back: 13500 with 1000 is 13.5.
pub fn shown(value: i64, per: i64) -> String {
    if per == 1 {
        return value.to_string();
    }
    let places = per.ilog10() as usize;
    let text = format!("{}.{:0places$}", value / per, (value % per).abs());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A time of the hall, as a browser or a person writes it.
pub fn local(reader: &Reader, text: &str) -> Option<DateTime<Utc>> {
    let local = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())?;
    // An hour that comes twice is taken the first time; one that does not exist is no time.
    reader
        .clock
        .zone
        .from_local_datetime(&local)
        .earliest()
        .map(|at| at.with_timezone(&Utc))
}

/// A moment as a browser's field takes it.
pub fn local_text(reader: &Reader, value: &Value) -> String {
    value
        .as_str()
        .and_then(|text| text.parse::<DateTime<Utc>>().ok())
        .map_or_else(String::new, |at| {
            at.with_timezone(&reader.clock.zone)
                .format("%Y-%m-%dT%H:%M")
                .to_string()
        })
}

/// Skills with commas between.
///
/// # Errors
/// The skill that nobody knows.
pub fn skills(text: &str) -> Result<Value, String> {
    let words: Vec<&str> = text
        .split([',', '\n'])
        .map(str::trim)
        .filter(|word| !word.is_empty())
        .collect();
    match words.iter().find(|word| Skill::named(word).is_none()) {
        Some(wrong) => Err(format!("There is no skill “{wrong}”.")),
        None => Ok(json!(words)),
    }
}

/// Spans away, one a line: `12:00-12:30`, with a day before it if it is not today.
///
/// # Errors
/// The line that is no span.
pub fn away(reader: &Reader, text: &str) -> Result<Value, String> {
    let today = reader
        .clock
        .now
        .with_timezone(&reader.clock.zone)
        .date_naive();
    let mut spans = Vec::new();
    for line in lines(text) {
        let span = || {
            let (day, times) = match line.split_once(' ') {
                Some((day, times)) => (NaiveDate::parse_from_str(day, "%Y-%m-%d").ok()?, times),
                None => (today, line),
            };
            let (from, to) = times.split_once(['-', '–'])?;
            let at = |time: &str| {
                let time = NaiveTime::parse_from_str(time.trim(), "%H:%M").ok()?;
                local(
                    reader,
                    &day.and_time(time).format("%Y-%m-%d %H:%M").to_string(),
                )
            };
            let (from, to) = (at(from)?, at(to)?);
            (from < to).then(|| json!({"from": from, "to": to}))
        };
        spans.push(span().ok_or_else(|| format!("“{line}” is not like 12:00-12:30."))?);
    }
    Ok(json!(spans))
}

/// The same back.
pub fn away_text(reader: &Reader, value: &Value) -> String {
    each(value, |span| {
        let from = local_text(reader, &span["from"]);
        let to = local_text(reader, &span["to"]);
        let time = |text: &str| text.get(11..).unwrap_or_default().to_owned();
        format!(
            "{} {}-{}",
            from.get(..10).unwrap_or_default(),
            time(&from),
            time(&to)
        )
    })
}

/// Configurations, one a line, with the mass behind a comma if it was weighed.
///
/// # Errors
/// The line whose mass is none.
pub fn configurations(text: &str) -> Result<Value, String> {
    let mut found = Vec::new();
    for line in lines(text) {
        let mass = line.rsplit_once(',').and_then(|(name, mass)| {
            let mass = mass.trim();
            let kilograms = mass.strip_suffix("kg").map(|n| whole(n, 1000));
            let grams = || mass.strip_suffix('g').map(|n| whole(n, 1));
            Some((name.trim(), kilograms.or_else(grams)?))
        });
        found.push(match mass {
            Some((name, Ok(mass_g))) => json!({"name": name, "mass_g": mass_g}),
            Some((_, Err(_))) => return Err(format!("“{line}” is not like low lid, 109.4 kg.")),
            None => json!({"name": line}),
        });
    }
    Ok(json!(found))
}

/// The same back.
pub fn configurations_text(value: &Value) -> String {
    each(value, |one| {
        let name = one["name"].as_str().unwrap_or_default();
        match one["mass_g"].as_i64() {
            Some(mass) => format!("{name}, {} kg", shown(mass, 1000)),
            None => name.to_owned(),
        }
    })
}

/// Parts that packs feed, one a line: `drive controller, limit 60 V`.
///
/// # Errors
/// The line that cannot be read.
pub fn fed_parts(text: &str) -> Result<Value, String> {
    let mut parts = Vec::new();
    for line in lines(text) {
        let mut words = line.split(',').map(str::trim);
        let mut part = json!({"name": words.next().unwrap_or_default()});
        for word in words {
            let volts = || {
                let (what, volts) = word.split_once(' ')?;
                let field = match what {
                    "limit" => "limit_mv",
                    "rated" => "rated_mv",
                    "least" => "least_mv",
                    _ => return None,
                };
                let volts = whole(volts.trim().trim_end_matches(['V', 'v']), 1000).ok()?;
                Some((field, volts))
            };
            let (field, volts) =
                volts().ok_or_else(|| format!("“{word}” is not like limit 60 V."))?;
            part[field] = json!(volts);
        }
        parts.push(part);
    }
    Ok(json!(parts))
}

/// The same back.
pub fn fed_parts_text(value: &Value) -> String {
    each(value, |part| {
        let mut text = part["name"].as_str().unwrap_or_default().to_owned();
        for (word, field) in [
            ("limit", "limit_mv"),
            ("rated", "rated_mv"),
            ("least", "least_mv"),
        ] {
            if let Some(volts) = part[field].as_i64() {
                text.push_str(&format!(", {word} {} V", shown(volts, 1000)));
            }
        }
        text
    })
}

/// Robots that a part fits, one a line: the name and how many sit on it.
///
/// # Errors
/// The line that names no robot of the team.
pub fn fits(reader: &Reader, team: Option<TeamId>, text: &str) -> Result<Value, String> {
    let mut found = Vec::new();
    for line in lines(text) {
        let (name, units) = line
            .rsplit_once(' ')
            .and_then(|(name, n)| Some((name.trim(), n.parse::<i64>().ok()?)))
            .unwrap_or((line, 1));
        let robot = team.and_then(|team| {
            reader
                .pit
                .robots_of(team)
                .find(|(_, file)| same(file.register.body.name.as_str(), name))
        });
        let (robot, _) = robot.ok_or_else(|| format!("The team has no robot “{name}”."))?;
        found.push(json!({"robot": robot, "units": units}));
    }
    Ok(json!(found))
}

/// The same back.
pub fn fits_text(reader: &Reader, value: &Value) -> String {
    each(value, |fit| {
        let robot = fit["robot"].as_str().and_then(|id| id.parse().ok());
        let name = robot.map_or_else(String::new, |robot| reader.robot(robot));
        format!("{name} {}", fit["units"])
    })
}

/// Packs of a set by their labels, one a line or with commas between.
///
/// # Errors
/// The label that the team has on no pack.
pub fn packs(reader: &Reader, team: Option<TeamId>, text: &str) -> Result<Value, String> {
    let mut found = Vec::new();
    for label in text
        .split([',', '\n'])
        .map(str::trim)
        .filter(|l| !l.is_empty())
    {
        let pack = reader.pit.packs.iter().find(|(_, pack)| {
            Some(pack.body.team) == team
                && !pack.body.retired
                && same(pack.body.label.as_str(), label)
        });
        let (pack, _) = pack.ok_or_else(|| format!("The team has no pack “{label}”."))?;
        found.push(*pack);
    }
    Ok(json!(found))
}

/// The same back.
pub fn packs_text(reader: &Reader, value: &Value) -> String {
    each(value, |pack| {
        pack.as_str()
            .and_then(|id| id.parse::<Uuid>().ok())
            .and_then(|id| reader.pit.packs.get(&crate::pit::ids::PackId(id)))
            .map_or_else(String::new, |pack| pack.body.label.to_string())
    })
}

/// Texts, one a line.
pub fn notes_text(value: &Value) -> String {
    each(value, |note| note.as_str().unwrap_or_default().to_owned())
}

/// Lines that say something.
pub fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty())
}

fn each(value: &Value, text: impl Fn(&Value) -> String) -> String {
    let items: Vec<String> = value.as_array().into_iter().flatten().map(text).collect();
    items.join("\n")
}

fn same(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact_and_come_back_as_typed() {
        for (text, per, value, back) in [
            ("13.5", 1000, 13_500, "13.5"),
            ("13,5", 1000, 13_500, "13.5"),
            ("1 340", 1, 1_340, "1340"),
            ("0.667", 1000, 667, "0.667"),
            (".5", 1000, 500, "0.5"),
            ("16", 1000, 16_000, "16"),
        ] {
            assert_eq!(whole(text, per), Ok(value), "{text}");
            assert_eq!(shown(value, per), back);
        }
        for bad in ["", ".", "1e3", "5 A", "1.2.3", "0.0001", "99999999999999"] {
            assert!(whole(bad, 1000).is_err(), "{bad}");
        }
        assert!(whole("1.5", 1).is_err());
    }

    #[test]
    fn lists_are_read_one_a_line() {
        let low = json!([{"name": "low lid", "mass_g": 109_400}, {"name": "high lid, steel"}]);
        assert_eq!(
            configurations("low lid, 109.4 kg\n\nhigh lid, steel"),
            Ok(low.clone())
        );
        assert_eq!(
            configurations_text(&low),
            "low lid, 109.4 kg\nhigh lid, steel"
        );
        let parts = json!([{"name": "drive controller", "limit_mv": 60_000, "least_mv": 9_500}]);
        let text = "drive controller, limit 60 V, least 9.5 V";
        assert_eq!(fed_parts(text), Ok(parts.clone()));
        assert_eq!(fed_parts_text(&parts), text);
        assert!(
            fed_parts("valves, about 24 V")
                .unwrap_err()
                .contains("about 24 V")
        );
        assert!(skills("driver, juggler").unwrap_err().contains("juggler"));
    }
}
