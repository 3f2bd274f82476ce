//! Between the units of a gauge and a thermometer and those of the equations.

/// The standard atmosphere, Pa: what a gauge reads as zero.
pub(super) const ATMOSPHERE_PA: f64 = 101_325.0;

const PASCAL_PER_BAR: f64 = 1e5;
const ICE_POINT_K: f64 = 273.15;

/// Kelvin of a temperature in degC.
pub(super) fn kelvin(degc: f64) -> f64 {
    degc + ICE_POINT_K
}

/// Degrees Celsius of a temperature in K.
pub(super) fn celsius(kelvin: f64) -> f64 {
    kelvin - ICE_POINT_K
}

/// Absolute pressure in Pa of a gauge reading in bar.
pub(super) fn pascal_of_gauge(bar_gauge: f64) -> f64 {
    bar_gauge * PASCAL_PER_BAR + ATMOSPHERE_PA
}

/// Gauge reading in bar of an absolute pressure in Pa.
pub(super) fn bar_gauge(pascal: f64) -> f64 {
    (pascal - ATMOSPHERE_PA) / PASCAL_PER_BAR
}

/// Pa of a pressure in bar, both absolute.
pub(super) fn pascal_of_absolute(bar_absolute: f64) -> f64 {
    bar_absolute * PASCAL_PER_BAR
}

/// Bar of a pressure in Pa, both absolute.
pub(super) fn bar_absolute(pascal: f64) -> f64 {
    pascal / PASCAL_PER_BAR
}

/// Cubic metres of a volume in litres.
pub(super) fn cubic_metres(litres: f64) -> f64 {
    litres * 1e-3
}
