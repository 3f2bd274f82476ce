//! The tables as diesel knows them, kept by hand; a test compares them with the database's own
//! account of itself.

diesel::table! {
    accounts (id) {
        id -> Uuid,
        login -> Text,
        password_hash -> Text,
        is_organiser -> Bool,
        created_at -> Timestamptz,
        disabled_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    bottle_stamps (event_id, bottle_id) {
        event_id -> Uuid,
        bottle_id -> Uuid,
        filling_ratio_g_per_l -> Nullable<Integer>,
        test_due -> Nullable<Date>,
        service_pressure_mbar_gauge -> Nullable<Integer>,
        disc_pressure_mbar_gauge -> Nullable<Integer>,
        dip_tube -> Bool,
        wall -> Nullable<Text>,
        fittings_g -> Nullable<Integer>,
    }
}

diesel::table! {
    bottles (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        gas -> Text,
        volume_ml -> Integer,
        tare_g -> Integer,
        permitted_fill_g -> Nullable<Integer>,
        tested_on -> Nullable<Date>,
        test_pressure_mbar_gauge -> Nullable<Integer>,
        retired -> Bool,
    }
}

diesel::table! {
    bouts (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        number -> Integer,
        first_robot_id -> Nullable<Uuid>,
        first_winner_of -> Nullable<Uuid>,
        first_loser_of -> Nullable<Uuid>,
        second_robot_id -> Nullable<Uuid>,
        second_winner_of -> Nullable<Uuid>,
        second_loser_of -> Nullable<Uuid>,
        call_at -> Timestamptz,
        retired -> Bool,
        fixed -> Bool,
        moved_from -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    calendars (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        secret_hash -> Binary,
        team_id -> Nullable<Uuid>,
        robot_id -> Nullable<Uuid>,
        made_by -> Uuid,
        made_at -> Timestamptz,
        ended_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    channels (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        max_current_ma -> Integer,
        max_power_w -> Integer,
        retired -> Bool,
        charger_id -> Nullable<Uuid>,
        most_cells -> Nullable<Integer>,
    }
}

diesel::table! {
    chargers (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        circuit_id -> Nullable<Uuid>,
        input_limit_w -> Nullable<Integer>,
        efficiency_percent -> Nullable<Integer>,
        power_factor_percent -> Nullable<Integer>,
        power_factor_corrected -> Bool,
        retired -> Bool,
    }
}

diesel::table! {
    circuits (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Nullable<Uuid>,
        label -> Text,
        kind -> Text,
        mains_mv -> Integer,
        rating_ma -> Nullable<Integer>,
        coiled_ma -> Nullable<Integer>,
        coiled -> Bool,
        rating_va -> Nullable<Integer>,
        continuous_percent -> Nullable<Integer>,
        fed_by_id -> Nullable<Uuid>,
        other_load_w -> Nullable<Integer>,
        retired -> Bool,
    }
}

diesel::table! {
    event_details (event_id) {
        event_id -> Uuid,
        revision -> BigInt,
        name -> Text,
        hall -> Nullable<Text>,
        time_zone -> Text,
        first_day -> Date,
        last_day -> Date,
        settings -> Jsonb,
        emergency -> Jsonb,
        currency -> Nullable<Text>,
    }
}

diesel::table! {
    events (id) {
        id -> Uuid,
        last_seq -> BigInt,
        created_at -> Timestamptz,
        created_by -> Nullable<Uuid>,
    }
}

diesel::table! {
    join_codes (event_id, code_hash) {
        event_id -> Uuid,
        code_hash -> Binary,
        team_id -> Nullable<Uuid>,
        role -> Text,
        expires_at -> Timestamptz,
        uses_left -> Nullable<Integer>,
        created_by -> Nullable<Uuid>,
        revoked_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    libraries (event_id, team_id, machine) {
        event_id -> Uuid,
        team_id -> Uuid,
        machine -> Text,
        revision -> BigInt,
        changes -> Jsonb,
    }
}

diesel::table! {
    lines (event_id, seq) {
        event_id -> Uuid,
        seq -> BigInt,
        id -> Uuid,
        kind -> Text,
        version -> SmallInt,
        at -> Timestamptz,
        claimed_at -> Timestamptz,
        recorded_at -> Timestamptz,
        clock_doubtful -> Bool,
        seen_by -> Nullable<Uuid>,
        entered_by -> Nullable<Uuid>,
        entered_as -> Text,
        subject -> Text,
        how -> Nullable<Text>,
        corrects -> Nullable<Uuid>,
        body -> Jsonb,
    }
}

diesel::table! {
    packs (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        chemistry -> Text,
        cells -> Integer,
        capacity_mah -> Integer,
        retired -> Bool,
        parallel_cells -> Integer,
        max_charge_ma -> Nullable<Integer>,
        cell_resistance_uohm -> Nullable<Integer>,
        cycles_before -> Nullable<Integer>,
        code -> Nullable<Text>,
    }
}

diesel::table! {
    part_fits (event_id, part_type_id, robot_id) {
        event_id -> Uuid,
        part_type_id -> Uuid,
        robot_id -> Uuid,
        units -> Integer,
    }
}

diesel::table! {
    part_histories (event_id, part_type_id) {
        event_id -> Uuid,
        part_type_id -> Uuid,
        failures -> Integer,
        unit_bouts -> Integer,
        weight_percent -> Nullable<Integer>,
    }
}

diesel::table! {
    part_types (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        mass_g -> Nullable<Integer>,
        volume_ml -> Nullable<Integer>,
        price_minor -> Nullable<Integer>,
        place -> Nullable<Text>,
        spares -> Nullable<Integer>,
        repairable_percent -> Nullable<Integer>,
        repair_min -> Nullable<Integer>,
        prior_mean -> Nullable<Integer>,
        prior_worst -> Nullable<Integer>,
        retired -> Bool,
        repair -> Nullable<Text>,
    }
}

diesel::table! {
    people (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Nullable<Uuid>,
        skills -> Jsonb,
        away -> Jsonb,
        retired -> Bool,
    }
}

diesel::table! {
    people_names (event_id, person_id) {
        event_id -> Uuid,
        person_id -> Uuid,
        name -> Text,
        pin_hash -> Nullable<Text>,
    }
}

diesel::table! {
    photos (event_id, line_id) {
        event_id -> Uuid,
        line_id -> Uuid,
        jpeg -> Binary,
        recorded_at -> Timestamptz,
    }
}

diesel::table! {
    robots (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        name -> Text,
        machine -> Text,
        bench -> Nullable<Integer>,
        configuration -> Nullable<Text>,
        driver_id -> Nullable<Uuid>,
        links -> Integer,
        limit_g -> Nullable<Integer>,
        retired -> Bool,
        configurations -> Jsonb,
        electrics -> Nullable<Jsonb>,
        gas_system -> Nullable<Jsonb>,
        sources -> Jsonb,
    }
}

diesel::table! {
    sessions (id) {
        id -> Uuid,
        event_id -> Nullable<Uuid>,
        person_id -> Nullable<Uuid>,
        team_id -> Nullable<Uuid>,
        account_id -> Nullable<Uuid>,
        role -> Text,
        created_at -> Timestamptz,
        expires_at -> Timestamptz,
        revoked_at -> Nullable<Timestamptz>,
    }
}

diesel::table! {
    set_packs (event_id, set_id, pack_id) {
        event_id -> Uuid,
        set_id -> Uuid,
        pack_id -> Uuid,
        place -> Integer,
    }
}

diesel::table! {
    sets (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Uuid,
        label -> Text,
        robot_id -> Nullable<Uuid>,
        retired -> Bool,
        strings -> Nullable<Integer>,
    }
}

diesel::table! {
    supplies (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        team_id -> Nullable<Uuid>,
        label -> Text,
        gas -> Text,
        volume_ml -> Integer,
        tare_g -> Nullable<Integer>,
        contents_g -> Nullable<Integer>,
        pressure_mbar_gauge -> Nullable<Integer>,
        dip_tube -> Bool,
        heel_g -> Nullable<Integer>,
        tested_on -> Nullable<Date>,
        place -> Nullable<Text>,
        retired -> Bool,
    }
}

diesel::table! {
    teams (event_id, id) {
        event_id -> Uuid,
        id -> Uuid,
        revision -> BigInt,
        name -> Text,
        retired -> Bool,
    }
}
