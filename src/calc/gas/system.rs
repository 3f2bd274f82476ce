//! What one shot fills, and with how much gas.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::content::Content;
use super::convert::{ATMOSPHERE_PA, bar_gauge, celsius, cubic_metres, kelvin, pascal_of_gauge};
use super::equation::{Gas, Saturation};
use super::ram::GasRam;
use crate::calc::fault::Faults;

/// What stands between the bottle and the ram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasFeed {
    /// A regulator: the ram sees `extend_pressure_bar_gauge`.
    Regulated,
    /// Nothing: the ram sees the bottle's own pressure.
    FullPressure,
}

/// A ram with its feed: everything that decides how much gas one shot takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasSystem::example()))]
pub struct GasSystem {
    /// The ram.
    pub ram: GasRam,
    /// What stands between bottle and ram.
    pub feed: GasFeed,
    /// Regulated pressure of the extension, bar gauge; 0.5 to 60. Needed if, and only if, the feed
    /// is regulated.
    #[serde(default)]
    #[schema(minimum = 0.5, maximum = 60.0)]
    pub extend_pressure_bar_gauge: Option<f64>,
    /// Pressure of the retraction, bar gauge; 0 to 60. 0 for a spring or gravity return; left out:
    /// the same as the extension.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 60.0)]
    pub retract_pressure_bar_gauge: Option<f64>,
    /// Buffer behind the regulator, litres; 0 to 50. It is charged once and lost when dumped.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 50.0)]
    pub buffer_l: f64,
    /// Temperature of the gas in the ram, degC; -56 to 80. Left out: the surroundings', which is
    /// the optimistic end. It is the largest doubt of the model.
    #[serde(default)]
    #[schema(minimum = -56.0, maximum = 80.0)]
    pub ram_gas_temperature_degc: Option<f64>,
    /// Measured over modelled gas per shot, from `gas-shot-factor`; 0.2 to 5.
    #[serde(default = "unlearned")]
    #[schema(minimum = 0.2, maximum = 5.0)]
    pub factor: f64,
}

fn unlearned() -> f64 {
    1.0
}

impl GasSystem {
    /// The system of the published examples.
    pub fn example() -> Self {
        Self {
            ram: GasRam::example(),
            feed: GasFeed::Regulated,
            extend_pressure_bar_gauge: Some(10.0),
            retract_pressure_bar_gauge: None,
            buffer_l: 0.0,
            ram_gas_temperature_degc: Some(20.0),
            factor: 1.0,
        }
    }

    /// Notes what is out of range or does not belong together, under `pointer`.
    pub(super) fn check(&self, gas: Gas, ambient_degc: f64, pointer: &str, faults: &mut Faults) {
        let at = |field: &str| format!("{pointer}/{field}");
        self.ram.check(&at("ram"), faults);
        match (self.feed, self.extend_pressure_bar_gauge) {
            (GasFeed::Regulated, Some(p)) => {
                faults.range(at("extend_pressure_bar_gauge"), p, 0.5, 60.0);
            }
            (GasFeed::Regulated, None) => faults.add(
                at("extend_pressure_bar_gauge"),
                "A regulated feed needs its pressure, from 0.5 to 60.",
            ),
            (GasFeed::FullPressure, Some(_)) => faults.add(
                at("extend_pressure_bar_gauge"),
                "A full-pressure feed has the bottle's own pressure; leave this out.",
            ),
            (GasFeed::FullPressure, None) => {}
        }
        if let Some(p) = self.retract_pressure_bar_gauge {
            faults.range(at("retract_pressure_bar_gauge"), p, 0.0, 60.0);
        }
        faults.range(at("buffer_l"), self.buffer_l, 0.0, 50.0);
        if let Some(t) = self.ram_gas_temperature_degc {
            faults.range(at("ram_gas_temperature_degc"), t, -56.0, 80.0);
        }
        faults.range(at("factor"), self.factor, 0.2, 5.0);
        if gas == Gas::Co2 {
            self.check_dry(ambient_degc, &at("ram_gas_temperature_degc"), faults);
        }
    }

    /// Below its saturation temperature the gas in the ram would be liquid, which no regulator of
    /// this trade feeds.
    fn check_dry(&self, ambient_degc: f64, pointer: &str, faults: &mut Faults) {
        let degc = self.ram_gas_temperature_degc.unwrap_or(ambient_degc);
        let highest = self
            .extend_pressure_bar_gauge
            .unwrap_or(0.0)
            .max(self.retract_pressure_bar_gauge.unwrap_or(0.0));
        if let Some(s) = Saturation::at_pressure(pascal_of_gauge(highest))
            && kelvin(degc) < s.temperature
        {
            faults.add(
                pointer,
                format!(
                    "At {highest} bar gauge CO2 turns liquid at {:.1} degC; {degc} is colder.",
                    celsius(s.temperature)
                ),
            );
        }
    }

    /// The amounts this system takes of `gas`, in surroundings of `ambient_degc`.
    pub(super) fn shot(&self, gas: Gas, ambient_degc: f64) -> Shot {
        let temperature = kelvin(self.ram_gas_temperature_degc.unwrap_or(ambient_degc));
        let extend = match self.feed {
            GasFeed::Regulated => self.extend_pressure_bar_gauge.map(pascal_of_gauge),
            GasFeed::FullPressure => None,
        };
        let retract = self
            .retract_pressure_bar_gauge
            .map(pascal_of_gauge)
            .or(extend);
        let chamber = |pascal: Option<f64>| {
            pascal.map(|pascal| Chamber {
                pressure: pascal,
                density: gas.density(pascal, temperature),
            })
        };
        Shot {
            gas,
            temperature,
            extend_volume: self.ram.extend_volume(),
            retract_volume: self.ram.retract_volume(),
            buffer_volume: cubic_metres(self.buffer_l),
            extend: chamber(extend),
            retract: chamber(retract),
            vented_density: gas.density(ATMOSPHERE_PA, temperature),
            factor: self.factor,
        }
    }
}

/// A regulated pressure and the density of the gas at it, Pa absolute and kg/m3.
#[derive(Debug, Clone, Copy)]
struct Chamber {
    pressure: f64,
    density: f64,
}

/// The gas one shot takes, for any state of the bottle.
///
/// **Assumes** each side is filled once a shot and vents to the atmosphere; the gas in the ram has
/// one given temperature.
///
/// **Source** `m = V (rho(p, Tg) - rho(p_atm, Tg))` for each volume filled.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shot {
    gas: Gas,
    temperature: f64,
    extend_volume: f64,
    retract_volume: f64,
    buffer_volume: f64,
    /// `None`: the bottle's own gas, at full pressure.
    extend: Option<Chamber>,
    retract: Option<Chamber>,
    vented_density: f64,
    factor: f64,
}

impl Shot {
    /// Gas for one extension, kg.
    pub(super) fn extend_mass(&self, bottle: &Content) -> f64 {
        self.mass(self.extend_volume, self.extend, bottle)
    }

    /// Gas for one retraction, kg.
    pub(super) fn retract_mass(&self, bottle: &Content) -> f64 {
        self.mass(self.retract_volume, self.retract, bottle)
    }

    /// Gas for one shot, out and back, kg.
    pub(super) fn total_mass(&self, bottle: &Content) -> f64 {
        self.extend_mass(bottle) + self.retract_mass(bottle)
    }

    /// Gas to charge the empty buffer, kg.
    pub(super) fn buffer_mass(&self, bottle: &Content) -> f64 {
        self.mass(self.buffer_volume, self.extend, bottle)
    }

    /// What the shot would be with another factor.
    pub(super) fn with_factor(self, factor: f64) -> Self {
        Self { factor, ..self }
    }

    /// A regulator cannot give more than the bottle has.
    fn mass(&self, volume: f64, chamber: Option<Chamber>, bottle: &Content) -> f64 {
        let density = match chamber {
            None => bottle.upper().density,
            Some(chamber) if chamber.pressure <= bottle.pressure => chamber.density,
            Some(_) => self.gas.density(bottle.pressure, self.temperature),
        };
        self.factor * volume * (density - self.vented_density).max(0.0)
    }
}

/// Gauge pressure of a bottle's content, bar.
pub(super) fn gauge(content: &Content) -> f64 {
    bar_gauge(content.pressure)
}
