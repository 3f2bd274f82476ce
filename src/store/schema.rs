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
