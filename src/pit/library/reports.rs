//! One-tap reports: the sheets, their rows and the lines they write.

use super::tasks::{Phase, Spot};
use crate::pit::logbook::{How, Kind};
use serde::{Deserialize, Deserializer, de::Error as _};
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Every report.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReportFile {
    /// Counts up when the meaning of the file changes.
    pub version: u32,
    /// Kinds of line the rows write, with what they say.
    pub line_kinds: BTreeMap<String, String>,
    /// Minutes ago, to tap.
    pub time_chips_minutes: Vec<u16>,
    /// The reports.
    pub reports: Vec<Report>,
}

impl ReportFile {
    /// The report called `id`.
    pub fn report(&self, id: &str) -> Option<&Report> {
        self.reports.iter().find(|report| report.id == id)
    }

    /// Number of a row in the order of the file, the same for a row on several reports.
    pub fn number(&self, row: &str) -> Option<u16> {
        let mut rows = self.reports.iter().flat_map(|report| &report.rows);
        u16::try_from(rows.position(|known| known.id == row)?).ok()
    }

    /// The row called `id`; a row that stands on several reports is the same on all.
    pub fn row(&self, id: &str) -> Option<&Row> {
        self.reports
            .iter()
            .flat_map(|report| &report.rows)
            .find(|row| row.id == id)
    }
}

/// Where and when a report fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offer {
    /// The place of the work.
    pub place: Spot,
    /// The part of the list.
    pub phase: Phase,
}

/// How a report comes up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Opens {
    /// Somebody taps it.
    Tap,
    /// It stands open for the person asked.
    Standing,
}

/// A report: a short sheet of rows and one button.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Report {
    /// Unique.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// Where and when it fits.
    pub offered_at: Vec<Offer>,
    /// Who sends it.
    pub by: String,
    /// Who does not.
    pub not_by: String,
    /// How it comes up.
    pub opens: Opens,
    /// Words on the button.
    pub button: String,
    /// Reports whose rows come first if nobody sent them.
    pub carries: Vec<String>,
    /// What else there is to know.
    pub note: String,
    /// The rows.
    pub rows: Vec<Row>,
    /// Tasks it can close.
    pub closes: Vec<String>,
}

/// A row is never ticked for anybody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tick {
    /// Not ticked.
    Unticked,
}

/// A row of a report: one line of the logbook.
#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Unique; the same row may stand on several reports.
    pub id: String,
    /// What is asserted.
    pub text: String,
    /// Kind of the line.
    #[serde(deserialize_with = "kind")]
    pub kind: Kind,
    /// Body of the line.
    pub body: Template,
    /// Done or seen.
    pub how: How,
    /// As the sheet opens.
    pub default: Tick,
    /// What is asked with it.
    pub asks: String,
}

fn kind<'de, D: Deserializer<'de>>(from: D) -> Result<Kind, D::Error> {
    let text = String::deserialize(from)?;
    Kind::named(&text).ok_or_else(|| D::Error::custom(Kind::unknown(&text)))
}

macro_rules! blanks {
    ($($(#[$doc:meta])* $name:ident = $text:literal;)*) => {
        /// What is filled into a row when it is used.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Blank { $($(#[$doc])* $name,)* }

        impl Blank {
            /// The blank as written in the data, braces included.
            pub fn as_str(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }

            /// The blank written `text`, braces included.
            pub fn named(text: &str) -> Option<Self> {
                match text { $($text => Some(Self::$name),)* _ => None }
            }
        }
    };
}

blanks! {
    /// The person who sends it.
    Me = "{me}";
    /// Who drives.
    Driver = "{driver}";
    /// The holder of the link as it stands.
    Standing = "{standing}";
    /// The set or bottle in the machine.
    Fitted = "{fitted}";
    /// The set or bottle that goes in next.
    Next = "{next}";
    /// The set that came out.
    CameOut = "{came out}";
    /// The set on charge.
    OnCharge = "{on charge}";
    /// The pack that is suspect.
    Suspect = "{suspect}";
    /// The bottle at the gas bay.
    AtTheBay = "{at the bay}";
    /// The other person.
    Second = "{second}";
    /// Charger channels.
    Channels = "{channels}";
    /// What the scale shows.
    Reading = "{reading}";
    /// Version of the link plan.
    Current = "{current}";
    /// Kinds of change made.
    Changes = "{changes}";
    /// People who read the link plan.
    Readers = "{readers}";
    /// Damage tapped in.
    DamageFound = "{damage found}";
    /// "All as before", or nothing else than the damage tapped in.
    AsBefore = "{as before}";
    /// The second restraint.
    SecondRestraint = "{prop or clamp}";
    /// Part type.
    Part = "{part}";
    /// Area of the machine.
    Area = "{area}";
    /// Which spare.
    Spare = "{spare}";
    /// What became of the old part.
    Old = "{scrap or mend}";
    /// The task in question.
    Id = "{id}";
    /// Number of the turnaround in hand.
    Turnaround = "{turnaround}";
}

/// A line's body with blanks.
#[derive(Debug, Clone, PartialEq)]
pub struct Template(Vec<(Vec<String>, Field)>);

/// A field of a template.
#[derive(Debug, Clone, PartialEq)]
enum Field {
    Literal(Value),
    Blank(Blank),
}

impl<'de> Deserialize<'de> for Template {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let mut fields = Vec::new();
        gather(&Map::deserialize(from)?, &mut Vec::new(), &mut fields).map_err(D::Error::custom)?;
        Ok(Self(fields))
    }
}

fn gather(
    members: &Map<String, Value>,
    path: &mut Vec<String>,
    fields: &mut Vec<(Vec<String>, Field)>,
) -> Result<(), String> {
    for (name, value) in members {
        path.push(name.clone());
        match value {
            Value::Object(inner) => gather(inner, path, fields)?,
            Value::String(text) if text.contains(['{', '}']) => {
                let blank =
                    Blank::named(text).ok_or_else(|| format!("nothing is known to fill {text}"))?;
                fields.push((path.clone(), Field::Blank(blank)));
            }
            literal => fields.push((path.clone(), Field::Literal(literal.clone()))),
        }
        path.pop();
    }
    Ok(())
}

impl Template {
    /// The blanks in it.
    pub fn blanks(&self) -> impl Iterator<Item = Blank> {
        self.0.iter().filter_map(|(_, field)| match field {
            Field::Blank(blank) => Some(*blank),
            Field::Literal(_) => None,
        })
    }

    /// The body with `fill` in its blanks; a blank that stays empty leaves its field out.
    pub fn filled(&self, fill: impl Fn(Blank) -> Option<Value>) -> Value {
        let mut body = Value::Object(Map::new());
        for (path, field) in &self.0 {
            let value = match field {
                Field::Literal(value) => Some(value.clone()),
                Field::Blank(blank) => fill(*blank),
            };
            if let Some(value) = value {
                put(&mut body, path, value);
            }
        }
        body
    }

    /// Whether `body` has every literal of this template.
    pub fn matches(&self, body: &Value) -> bool {
        self.0.iter().all(|(path, field)| match field {
            Field::Blank(_) => true,
            Field::Literal(wanted) => {
                let found = path.iter().try_fold(body, |at, name| at.get(name));
                found == Some(wanted)
            }
        }) && self.shape_matches(body)
    }

    /// Where every field is a blank, its outer member still has to be there: a link plan read back
    /// is not one confirmed.
    fn shape_matches(&self, body: &Value) -> bool {
        self.0
            .iter()
            .filter(|(path, _)| path.len() > 1)
            .all(|(path, _)| body.get(&path[0]).is_some())
    }
}

fn put(body: &mut Value, path: &[String], value: Value) {
    let Some((first, rest)) = path.split_first() else {
        *body = value;
        return;
    };
    if let Value::Object(members) = body {
        let inner = members
            .entry(first.clone())
            .or_insert_with(|| Value::Object(Map::new()));
        put(inner, rest, value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn template(value: Value) -> Template {
        serde_json::from_value(value).unwrap()
    }

    #[test]
    fn a_template_matches_by_its_literals_only() {
        let row = template(json!({"set": "{fitted}", "place": "bench", "looks": "fine"}));
        assert!(row.matches(&json!({"place": "bench", "looks": "fine", "cells_mv": [4000]})));
        assert!(!row.matches(&json!({"place": "bench", "looks": "swollen"})));
        assert!(!row.matches(&json!({"place": "bench"})));
    }

    #[test]
    fn a_template_of_blanks_still_matches_by_its_outer_member() {
        let row = template(json!({"confirmed": {"version": "{current}"}}));
        assert!(row.matches(&json!({"confirmed": {"version": 3}})));
        assert!(!row.matches(&json!({"read_back": {"version": 3, "read_by": []}})));
    }

    #[test]
    fn an_empty_blank_leaves_its_field_out() {
        let row = template(json!({"state": "off", "with": "{driver}"}));
        assert_eq!(row.filled(|_| None), json!({"state": "off"}));
        assert_eq!(
            row.filled(|blank| (blank == Blank::Driver).then(|| json!("x"))),
            json!({"state": "off", "with": "x"})
        );
    }

    #[test]
    fn a_blank_nobody_can_fill_is_refused() {
        assert!(serde_json::from_value::<Template>(json!({"with": "{drover}"})).is_err());
    }
}
