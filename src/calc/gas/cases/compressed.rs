//! Compressed air and nitrogen.

use super::*;

pub(super) fn mass(case: &Case) {
    let out = gas_air_mass(&GasAirMassInput {
        gas: case.compressed(),
        water_capacity_l: case.number("V_L"),
        pressure_bar_gauge: case.number("p_barg"),
        temperature_degc: case.number("T_C"),
    })
    .unwrap();
    case.near_percent("/mass_kg", out.mass_kg, case.within("pct"));
}

pub(super) fn fast_fill(case: &Case) {
    let wall_heat = case.number("Cw_J_K");
    let out = gas_air_fill(&GasAirFillInput {
        gas: case.compressed(),
        water_capacity_l: case.number("V_L"),
        wall_heat_j_per_k: wall_heat,
        start_pressure_bar_gauge: case.number("p0_barg"),
        start_temperature_degc: case.number("T0_C"),
        stop_pressure_bar_gauge: case.number("p1_barg"),
        supply_pressure_bar_gauge: case.number("psup_barg"),
        supply_temperature_degc: case.number("Tsup_C"),
        ambient_temperature_degc: 20.0,
    })
    .unwrap();
    let bound = out.with_wall;
    case.near("/T_end_C", bound.temperature_degc, case.within("T_C"));
    case.near_percent("/m_start_kg", out.start_mass_kg, case.within("kg_pct"));
    case.near_percent("/m_end_kg", bound.mass_kg, case.within("kg_pct"));
    case.near(
        "/p_after_cool_barg",
        bound.settled_pressure_bar_gauge,
        case.within("p_barg"),
    );
    assert_eq!(wall_heat == 0.0, bound == out.without_wall);
}

pub(super) fn cascade(case: &Case) {
    let banks = case.input["bank"].as_array().unwrap();
    let out = gas_air_cascade(&GasAirCascadeInput {
        gas: case.compressed(),
        banks: banks
            .iter()
            .map(|bank| GasAirBank {
                water_capacity_l: bank["V_L"].as_f64().unwrap(),
                pressure_bar_gauge: bank["p_barg"].as_f64().unwrap(),
            })
            .collect(),
        water_capacity_l: case.number("V_L"),
        start_pressure_bar_gauge: case.number("p0_barg"),
        target_pressure_bar_gauge: case.number("target_barg"),
        temperature_degc: case.number("T_C"),
    })
    .unwrap();
    let bar = case.within("p_barg");
    case.near("/final_barg", out.final_pressure_bar_gauge, bar);
    case.near_percent("/mass_kg", out.mass_kg, case.within("kg_pct"));
    assert!(out.reached);
    assert_eq!(out.steps.len(), banks.len());
    for (i, step) in out.steps.iter().enumerate() {
        let at = |field: &str| format!("/steps/{i}/{field}");
        case.near(&at("bank"), step.bank as f64, 0.0);
        case.near(&at("receiver_barg"), step.bottle_pressure_bar_gauge, bar);
        case.near(&at("bank_barg"), step.bank_pressure_bar_gauge, bar);
    }
    for (i, &pressure) in out.bank_pressures_bar_gauge.iter().enumerate() {
        case.near(&format!("/bank_barg/{i}"), pressure, bar);
    }
}

pub(super) fn shots(case: &Case) {
    let out = gas_air_shots(&GasAirShotsInput {
        gas: case.compressed(),
        water_capacity_l: case.number("V_L"),
        pressure_bar_gauge: case.number("p_barg"),
        ambient_temperature_degc: case.number("T_C"),
        system: case.system(),
        need_pressure_bar_gauge: case.number("p_inlet_min_barg"),
    })
    .unwrap();
    let percent = case.within("kg_pct");
    case.near_percent("/mass_kg", out.mass_kg, percent);
    case.near_percent("/usable_kg", out.usable_kg, percent);
    case.near_percent("/shot_g", out.shot_g, percent);
    case.near(
        "/shots",
        f64::from(out.shots_fully_warmed),
        case.within("shots"),
    );
}
