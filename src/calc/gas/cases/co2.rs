//! CO2 bottles: shots, weighing, filling, supply.

use super::*;

pub(super) fn shots(case: &Case) {
    let out = case.shots();
    let (degc, bar) = (case.within("T_C"), case.within("p_barg"));
    case.near("/ve_L", out.extend_filled_l, 1e-6);
    case.near("/vr_L", out.retract_filled_l, 1e-6);
    case.near("/shot_mass_g", out.first_shot_g, case.within("shot_mass_g"));
    case.near(
        "/buffer_charge_g",
        out.buffer_charge_g,
        case.within("shot_mass_g"),
    );
    assert_eq!(
        out.rows.len(),
        case.expected["rows"].as_array().unwrap().len()
    );
    for (i, row) in out.rows.iter().enumerate() {
        let at = |field: &str| format!("/rows/{i}/{field}");
        case.near(&at("T_C"), row.temperature_degc, degc);
        case.near(&at("p_barg"), row.pressure_bar_gauge, bar);
        case.near(&at("mass_kg"), row.gas_mass_kg, case.within("mass_kg"));
        case.near(&at("liquid_mass_frac"), row.liquid_mass_fraction, 1e-3);
        case.near(&at("liquid_vol_frac"), row.liquid_volume_fraction, 1e-3);
    }
    assert_eq!(
        out.first_shot_below_need.map(u64::from),
        case.expected["first_shot_below_inlet"].as_u64()
    );
    let recovery = &out.recovery;
    case.near("/end_state/T_C", recovery.start.temperature_degc, degc);
    case.near("/end_state/p_barg", recovery.start.pressure_bar_gauge, bar);
    case.near_percent("/C_total_J_K", recovery.heat_capacity_j_per_k, 0.1);
    case.near_percent(
        "/tau_recover_min",
        recovery.time_constant_min.unwrap(),
        case.within("tau_recover_min_pct"),
    );
    case.near(
        "/t90_min",
        recovery.ninety_percent_min.unwrap(),
        case.within("t90_min"),
    );
    for row in &recovery.rows {
        let minutes = row.after_min;
        case.near(
            &format!("/T_C_after_{minutes}min"),
            row.temperature_degc,
            degc,
        );
        case.near(
            &format!("/p_barg_after_{minutes}min"),
            row.pressure_bar_gauge,
            bar,
        );
    }
}

pub(super) fn full_pressure(case: &Case) {
    let out = case.shots();
    case.near("/ve_L", out.extend_filled_l, 1e-6);
    case.near("/vr_L", out.retract_filled_l, 1e-6);
    let expected = case.expected["rows"].as_array().unwrap();
    assert_eq!(out.rows.len(), expected.len());
    for (i, row) in out.rows.iter().enumerate() {
        let at = |field: &str| format!("/rows/{i}/{field}");
        case.near(&at("T_C"), row.temperature_degc, case.within("T_C"));
        case.near(&at("p_barg"), row.pressure_bar_gauge, case.within("p_barg"));
        case.near(&at("mass_kg"), row.gas_mass_kg, case.within("mass_kg"));
        if expected[i].get("next_shot_g").is_some() {
            case.near_percent(
                &at("next_shot_g"),
                row.next_shot_g,
                case.within("next_shot_g_pct"),
            );
        }
    }
}

pub(super) fn remaining(case: &Case) {
    let out = case.shots();
    case.near("/shot_g", out.first_shot_g, case.within("shot_g"));
    let left = out.shots_left;
    case.near("/shots_adiabatic", f64::from(left.without_warming), 0.0);
    case.near("/shots_isothermal", f64::from(left.fully_warmed), 0.0);
    assert_eq!((left.fewest, left.most), (22, 31));
}

pub(super) fn weigh(case: &Case) {
    let temperatures: Vec<f64> = case.input["T_list"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_f64)
        .collect();
    let out = gas_bottle(&GasBottleInput {
        water_capacity_l: case.number("V_L"),
        filling_ratio_kg_per_l: case.optional("ratio"),
        gross_kg: case.optional("gross_kg"),
        tare_kg: case.optional("tare_kg"),
        temperatures_degc: temperatures,
        ..GasBottleInput::example()
    })
    .unwrap();
    let kg = case.within("kg");
    case.near("/gas_kg", out.gas_mass_kg.unwrap(), kg);
    case.near("/max_kg", out.permitted_kg, kg);
    case.near("/fill_ratio", out.fill_kg_per_l.unwrap(), 1e-6);
    case.near("/pct_of_max", out.percent_of_permitted.unwrap(), 1e-4);
    assert_eq!(out.over, case.expected["over"].as_bool());
    assert_eq!(out.rows.len(), 5);
    for row in &out.rows {
        let pointer = format!("/p_barg_{}C", row.temperature_degc);
        let percent = case.within("p_barg_pct");
        case.near_percent(&pointer, row.pressure_bar_gauge, percent);
    }
}

pub(super) fn decant(case: &Case) {
    let out = gas_fill(&GasFillInput {
        bottle: case.shell(),
        gas_before_kg: case.number("m0_kg"),
        bottle_temperature_degc: case.number("T_rec_C"),
        supply_temperature_degc: case.number("T_sup_C"),
        permitted_kg: case.expected("/cap_kg"),
        on_the_scale_kg: 0.0,
    })
    .unwrap();
    let kg = case.within("kg");
    case.near("/m_balance_kg", out.unattended_kg, kg);
    case.near("/m_final_kg", out.gas_after_kg, kg);
    case.near("/transfer_kg", out.taken_kg, kg);
    let by_scale = out.ends_by == GasFillEnd::Scale;
    assert_eq!(Some(by_scale), case.expected["stop_on_scale"].as_bool());
    let full = case.expected["limit"] == "liquid full (would overfill)";
    assert_eq!(out.unattended_liquid_full, full);
}

pub(super) fn supply(case: &Case) {
    let out = gas_supply(&GasSupplyInput {
        water_capacity_l: case.number("Vs_L"),
        gas_mass_kg: case.number("ms_kg"),
        temperature_degc: case.number("T_C"),
        heel_kg: case.number("heel_kg"),
        per_fill_kg: case.number("per_fill_kg"),
        loss_per_fill_kg: case.number("loss_kg"),
    })
    .unwrap();
    case.near("/residual_kg", out.residual_kg, case.within("kg"));
    case.near("/usable_kg", out.usable_kg, case.within("kg"));
    case.near("/fills", f64::from(out.fills), case.within("fills"));
}
