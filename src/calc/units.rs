//! Quantities with their unit and bounds, and bounded text: what a line or a register entry may hold.
//!
//! Integer storage: exact equality and order, no NaN, a lossless database column. The bounds are
//! the same as the database's CHECK constraints (a test compares them).

use serde::{Deserialize, Deserializer, Serialize, de::Error as _};
use std::borrow::Cow;
use utoipa::{PartialSchema, ToSchema, openapi};

/// A whole number that may be written with a zero fraction, as JSON makes no difference.
fn whole<'de, D: Deserializer<'de>>(from: D) -> Result<i64, D::Error> {
    let number = serde_json::Number::deserialize(from)?;
    if let Some(whole) = number.as_i64() {
        return Ok(whole);
    }
    match number.as_f64() {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "checked to be whole and small enough to be exact"
        )]
        Some(float) if float.fract() == 0.0 && float.abs() < 9.0e15 => Ok(float as i64),
        _ => Err(D::Error::custom(format!("{number} is not a whole number"))),
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $min:literal ..= $max:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(transparent)]
        pub struct $name(i32);

        impl $name {
            /// The least value that is accepted.
            pub const MIN: i32 = $min;
            /// The greatest value that is accepted.
            pub const MAX: i32 = $max;
            /// The unit of the stored number.
            pub const UNIT: &'static str = $unit;

            #[doc = concat!("This many ", $unit, ", if that is from the least to the greatest accepted value.")]
            pub fn new(value: i64) -> Option<Self> {
                i32::try_from(value).ok().filter(|v| (Self::MIN..=Self::MAX).contains(v)).map(Self)
            }

            #[doc = concat!("The number, in ", $unit, ".")]
            pub fn get(self) -> i32 {
                self.0
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let value = whole(from)?;
                Self::new(value).ok_or_else(|| {
                    D::Error::custom(format!(
                        concat!("{} ", $unit, " is not from {} to {} ", $unit),
                        value, Self::MIN, Self::MAX
                    ))
                })
            }
        }

        impl PartialSchema for $name {
            fn schema() -> openapi::RefOr<openapi::schema::Schema> {
                openapi::ObjectBuilder::new()
                    .schema_type(openapi::schema::Type::Integer)
                    .minimum(Some(f64::from(Self::MIN)))
                    .maximum(Some(f64::from(Self::MAX)))
                    .description(Some(concat!("In ", $unit, ".")))
                    .into()
            }
        }

        impl ToSchema for $name {
            fn name() -> Cow<'static, str> {
                Cow::Borrowed(stringify!($name))
            }
        }
    };
}

quantity!(
    /// A mass, of a bottle as much as of a whole machine.
    Mass, "g", 0..=500_000
);
quantity!(
    /// The voltage of one cell.
    CellVoltage, "mV", 0..=5_000
);
quantity!(
    /// An amount of charge, of a cell or a pack.
    Charge, "mAh", 1..=200_000
);
quantity!(
    /// An electric current.
    Current, "mA", 1..=500_000
);
quantity!(
    /// An electric power.
    Power, "W", 1..=50_000
);
quantity!(
    /// A pressure above the surrounding air.
    GaugePressure, "mbar", 0..=1_000_000
);
quantity!(
    /// How much of the air something is, by volume.
    Concentration, "ppm", 0..=1_000_000
);
quantity!(
    /// An inner volume.
    Volume, "ml", 1..=100_000
);
quantity!(
    /// A span of time as people enter it.
    Minutes, "min", 0..=1_440
);
quantity!(
    /// A short span of time, such as the time to reach a link.
    Seconds, "s", 0..=3_600
);
quantity!(
    /// A voltage, of the mains or of what packs give together.
    Voltage, "mV", 1..=500_000
);
quantity!(
    /// What a generator gives, in volt-amperes.
    ApparentPower, "VA", 100..=500_000
);
quantity!(
    /// The resistance of one cell.
    Resistance, "uohm", 1..=10_000_000
);
quantity!(
    /// A temperature as a thermometer on a pack reads it.
    Temperature, "degC", -30..=120
);
quantity!(
    /// Fitted units times bouts: what failures are counted over.
    UnitBouts, "unit-bouts", 1..=100_000
);
quantity!(
    /// The temperature of the air in a hall.
    AirTemperature, "degC", -20..=50
);
quantity!(
    /// A length inside a machine, such as the bore of a ram.
    Length, "um", 0..=2_000_000
);
quantity!(
    /// The most gas for each litre of a bottle.
    FillingRatio, "g/l", 300..=800
);
quantity!(
    /// A share of a whole.
    Percent, "%", 0..=100
);
quantity!(
    /// How often a part fails: failures in a thousand fitted units times bouts.
    FailureRate, "in 1000", 1..=20_000
);
quantity!(
    /// A price in the smallest coin of its currency.
    Price, "minor units", 0..=100_000_000
);
quantity!(
    /// An hour on a clock face laid over a machine seen from above, weapon towards 12.
    ClockHour, "o'clock", 1..=12
);
quantity!(
    /// A short way, such as from a link to the nearest wheel.
    Distance, "mm", 0..=20_000
);
quantity!(
    /// A pull by hand.
    Pull, "N", 0..=2_000
);
quantity!(
    /// A number of like things: links, cells, hands.
    Count, "pieces", 0..=1_000
);

/// Something that can be seen, and no control character (Unicode category Cc) but line ends.
const READABLE: &str =
    r"^[^\x00-\x09\x0b-\x1f\x7f-\x9f]*[^\s\x00-\x1f\x7f-\x9f][^\x00-\x09\x0b-\x1f\x7f-\x9f]*$";

macro_rules! text {
    ($(#[$doc:meta])* $name:ident, $min:literal ..= $max:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// The fewest characters accepted.
            pub const MIN: usize = $min;
            /// The most characters accepted.
            pub const MAX: usize = $max;

            /// This text without surrounding blanks, if its length is accepted and it holds no
            /// control characters other than line ends.
            ///
            /// # Errors
            /// A sentence that says what is wrong.
            pub fn new(value: &str) -> Result<Self, String> {
                let value = value.trim();
                let length = value.chars().count();
                if value.chars().any(|c| c.is_control() && c != '\n') {
                    return Err("text with control characters is not accepted".to_owned());
                }
                if !(Self::MIN..=Self::MAX).contains(&length) {
                    return Err(format!("{length} characters is not from {} to {}", Self::MIN, Self::MAX));
                }
                Ok(Self(value.to_owned()))
            }

            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                Self::new(&String::deserialize(from)?).map_err(D::Error::custom)
            }
        }

        impl PartialSchema for $name {
            fn schema() -> openapi::RefOr<openapi::schema::Schema> {
                openapi::ObjectBuilder::new()
                    .schema_type(openapi::schema::Type::String)
                    .min_length(Some(Self::MIN))
                    .max_length(Some(Self::MAX))
                    .pattern(Some(READABLE))
                    .into()
            }
        }

        impl ToSchema for $name {
            fn name() -> Cow<'static, str> {
                Cow::Borrowed(stringify!($name))
            }
        }
    };
}

text!(
    /// A name of a thing or a short label.
    Name, 1..=60
);
text!(
    /// A word or two in a list, such as a skill or the id of a task.
    Word, 1..=40
);
text!(
    /// A sentence or two that somebody wrote.
    Note, 1..=500
);

/// A currency by its three letters.
///
/// **Source** form of ISO 4217 alphabetic codes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Currency(String);

impl Currency {
    /// The currency of these three letters.
    ///
    /// # Errors
    /// A sentence that says what is wrong.
    pub fn new(letters: &str) -> Result<Self, String> {
        let letters = letters.trim().to_ascii_uppercase();
        if letters.len() == 3 && letters.bytes().all(|letter| letter.is_ascii_uppercase()) {
            Ok(Self(letters))
        } else {
            Err("a currency has three letters, such as GBP or EUR".to_owned())
        }
    }

    /// The three letters.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Self::new(&String::deserialize(from)?).map_err(D::Error::custom)
    }
}

impl PartialSchema for Currency {
    fn schema() -> openapi::RefOr<openapi::schema::Schema> {
        openapi::ObjectBuilder::new()
            .schema_type(openapi::schema::Type::String)
            .pattern(Some("^ *[A-Za-z]{3} *$"))
            .into()
    }
}

impl ToSchema for Currency {
    fn name() -> Cow<'static, str> {
        Cow::Borrowed("Currency")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_takes_whole_numbers_within_its_bounds() {
        assert_eq!(serde_json::from_str::<Mass>("7420").unwrap().get(), 7420);
        assert_eq!(serde_json::from_str::<Mass>("7420.0").unwrap().get(), 7420);
        for bad in [
            "-1",
            "500001",
            "7.5",
            "\"7\"",
            "1e400",
            "9223372036854775808",
        ] {
            assert!(serde_json::from_str::<Mass>(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_currency_is_three_letters() {
        assert_eq!(Currency::new(" gbp").unwrap().as_str(), "GBP");
        for bad in ["", "GB", "POUND", "G8P", "\u{a3}\u{a3}\u{a3}"] {
            assert!(Currency::new(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn text_is_trimmed_bounded_and_free_of_control_characters() {
        assert_eq!(
            Name::new("  Pewter Finch ").unwrap().as_str(),
            "Pewter Finch"
        );
        assert!(Name::new("   ").is_err());
        assert!(Name::new("a\u{0}b").is_err());
        assert!(Name::new(&"a".repeat(61)).is_err());
        assert!(Note::new("two\nlines").is_ok());
    }
}
