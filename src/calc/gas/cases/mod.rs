//! Every whole calculation of `tests/data/gas/cases.json` (CoolProp 8.0.0), with its tolerance.

mod co2;
mod compressed;

use serde_json::Value;

use super::*;

const CASES: &str = include_str!("../../../../tests/data/gas/cases.json");

/// One case: what was asked, what should come, and how closely.
struct Case<'a> {
    id: &'a str,
    kind: &'a str,
    input: &'a Value,
    expected: &'a Value,
    tolerances: &'a Value,
}

impl Case<'_> {
    fn number(&self, name: &str) -> f64 {
        self.or(name, f64::NAN)
    }

    fn or(&self, name: &str, otherwise: f64) -> f64 {
        self.optional(name).unwrap_or(otherwise)
    }

    fn optional(&self, name: &str) -> Option<f64> {
        self.input.get(name).and_then(Value::as_f64)
    }

    fn within(&self, name: &str) -> f64 {
        self.tolerances[name].as_f64().unwrap()
    }

    fn expected(&self, pointer: &str) -> f64 {
        let found = self.expected.pointer(pointer).and_then(Value::as_f64);
        found.unwrap_or_else(|| panic!("{} has no {pointer}", self.id))
    }

    fn near(&self, pointer: &str, got: f64, within: f64) {
        let want = self.expected(pointer);
        let id = self.id;
        assert!(
            (got - want).abs() <= within,
            "{id} {pointer}: {got}, not {want} within {within}"
        );
    }

    /// Near to a share given in percent.
    fn near_percent(&self, pointer: &str, got: f64, percent: f64) {
        self.near(pointer, got, percent / 100.0 * self.expected(pointer).abs());
    }

    fn shell(&self) -> GasShell {
        GasShell {
            water_capacity_l: self.number("V_L"),
            wall: match self.input["wall"].as_str() {
                Some("steel") => GasWall::Steel,
                _ => GasWall::Aluminium,
            },
            wall_mass_kg: self.number("wall_kg"),
        }
    }

    fn system(&self) -> GasSystem {
        GasSystem {
            ram: GasRam {
                bore_mm: self.number("bore_mm"),
                stroke_mm: self.number("stroke_mm"),
                rod_mm: self.number("rod_mm"),
                dead_extend_l: self.or("dead_ext_L", 0.0),
                dead_retract_l: self.or("dead_ret_L", 0.0),
            },
            feed: match self.kind {
                "co2_full_pressure" => GasFeed::FullPressure,
                _ => GasFeed::Regulated,
            },
            extend_pressure_bar_gauge: self.optional("p_reg_barg"),
            retract_pressure_bar_gauge: self
                .optional("p_ret_barg")
                .or_else(|| self.optional("retract_barg")),
            buffer_l: self.or("buffer_L", 0.0),
            ram_gas_temperature_degc: self.optional("T_gas_C"),
            factor: 1.0,
        }
    }

    fn shots(&self) -> GasShotsOutput {
        gas_shots(&GasShotsInput {
            bottle: self.shell(),
            gas_mass_kg: self.number("m_kg"),
            bottle_temperature_degc: self.number("T0_C"),
            draw: GasDraw::Gas,
            system: self.system(),
            need_pressure_bar_gauge: self.or("p_inlet_min_barg", 10.0),
            shots: self.number("shots") as u32,
            interval_s: self.or("interval_s", 0.0),
            ambient_temperature_degc: self.or("T_amb_C", 20.0),
            heat_gain_shooting_w_per_k: self.or("UA_W_K", 0.0),
            heat_gain_resting_w_per_k: self.or("UA_rest_W_K", 0.0),
            recovery_at_min: vec![5.0, 10.0, 20.0],
        })
        .unwrap()
    }

    fn compressed(&self) -> CompressedGas {
        match self.input["gas"].as_str() {
            Some("Nitrogen") => CompressedGas::Nitrogen,
            Some("Air") => CompressedGas::Air,
            other => panic!("{} {other:?}", self.id),
        }
    }
}

#[test]
fn every_case_comes_out_within_its_tolerance() {
    let all: Value = serde_json::from_str(CASES).unwrap();
    let cases = all["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 18);
    for case in cases {
        let kind = case["kind"].as_str().unwrap();
        let case = Case {
            id: case["id"].as_str().unwrap(),
            kind,
            input: &case["input"],
            expected: &case["expected"],
            tolerances: &all["tolerances"][kind],
        };
        match kind {
            "co2_shots" => co2::shots(&case),
            "co2_full_pressure" => co2::full_pressure(&case),
            "co2_remaining" => co2::remaining(&case),
            "co2_weigh" => co2::weigh(&case),
            "co2_decant" => co2::decant(&case),
            "co2_supply" => co2::supply(&case),
            "hpa_mass" => compressed::mass(&case),
            "hpa_fast_fill" => compressed::fast_fill(&case),
            "hpa_cascade" => compressed::cascade(&case),
            "hpa_shots" => compressed::shots(&case),
            "leak" => leak(&case),
            "room" => room(&case),
            other => panic!("nothing computes {other}"),
        }
    }
}

fn leak(case: &Case) {
    assert_eq!(case.input["gas"], "CO2");
    let out = gas_leak(&GasLeakInput {
        gas: Gas::Co2,
        volume_l: case.number("V_L"),
        first_pressure_bar_gauge: case.number("p1_barg"),
        first_temperature_degc: case.number("T1_C"),
        second_pressure_bar_gauge: case.number("p2_barg"),
        second_temperature_degc: case.number("T2_C"),
        minutes: case.number("minutes"),
        ..GasLeakInput::example()
    })
    .unwrap();
    let grams = case.within("g_pct_of_m1") / 100.0 * case.expected("/m1_g");
    case.near("/m1_g", out.first_mass_g, grams);
    case.near("/m2_g", out.second_mass_g, grams);
    case.near("/loss_g", out.lost_g, grams);
    case.near("/g_per_min", out.lost_g_per_min, grams / 10.0);
    case.near("/normal_L_per_min", out.lost_normal_l_per_min, grams / 20.0);
    let bar = case.within("p_barg");
    case.near("/p2_corrected_barg", out.second_corrected_bar_gauge, bar);
    case.near(
        "/bar_per_min_corrected",
        out.corrected_fall_bar_per_min,
        bar / 10.0,
    );
}

fn room(case: &Case) {
    let out = gas_room(&GasRoomInput {
        gas: Gas::Co2,
        released_kg: case.number("m_kg"),
        release_min: 0.0,
        room_volume_m3: case.number("room_m3"),
        mixed_share: 1.0,
        air_changes_per_h: 0.0,
        temperature_degc: case.number("T_C"),
    })
    .unwrap();
    case.near_percent("/gas_m3", out.gas_m3, case.within("ppm_pct"));
    case.near_percent("/ppm", out.peak_co2_ppm, case.within("ppm_pct"));
    case.near("/o2_pct", out.lowest_oxygen_percent, case.within("o2_pct"));
}
