//! What diesel believes about the tables is what the database says about itself.

use crate::harness::database::TestDatabase;

/// The tables as `src/store/schema.rs` has to declare them.
async fn declared_by_the_database(client: &tokio_postgres::Client) -> String {
    let columns = client
        .query(
            "SELECT c.table_name::text, c.column_name::text, c.udt_name::text,
                    c.is_nullable = 'YES'
             FROM information_schema.columns c
             JOIN information_schema.tables t USING (table_schema, table_name)
             WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE'
               AND c.table_name <> '__diesel_schema_migrations'
             ORDER BY c.table_name COLLATE \"C\", c.ordinal_position",
            &[],
        )
        .await
        .unwrap();
    let keys = client
        .query(
            "SELECT k.table_name::text, string_agg(k.column_name, ', ' ORDER BY k.ordinal_position)
             FROM information_schema.key_column_usage k
             JOIN information_schema.table_constraints c USING (constraint_schema, constraint_name)
             WHERE c.constraint_type = 'PRIMARY KEY' AND k.table_schema = 'public'
             GROUP BY k.table_name",
            &[],
        )
        .await
        .unwrap();
    let key_of = |table: &str| -> String {
        let row = keys.iter().find(|row| row.get::<_, &str>(0) == table);
        row.unwrap_or_else(|| panic!("{table} has no primary key"))
            .get(1)
    };
    let mut text = String::new();
    let mut open = String::new();
    for column in &columns {
        let table: &str = column.get(0);
        if table != open {
            if !open.is_empty() {
                text.push_str("    }\n}\n\n");
            }
            open = table.to_owned();
            text.push_str(&format!(
                "diesel::table! {{\n    {table} ({}) {{\n",
                key_of(table)
            ));
        }
        let rust = match column.get::<_, &str>(2) {
            "uuid" => "Uuid",
            "int8" => "BigInt",
            "int4" => "Integer",
            "int2" => "SmallInt",
            "text" => "Text",
            "bool" => "Bool",
            "timestamptz" => "Timestamptz",
            "date" => "Date",
            "jsonb" => "Jsonb",
            "bytea" => "Binary",
            other => panic!("no diesel type is noted for {other}"),
        };
        let rust = if column.get(3) {
            format!("Nullable<{rust}>")
        } else {
            rust.to_owned()
        };
        let name: &str = column.get(1);
        text.push_str(&format!("        {name} -> {rust},\n"));
    }
    text.push_str("    }\n}\n");
    text
}

#[tokio::test(flavor = "multi_thread")]
async fn the_declared_tables_are_those_of_the_database() {
    let database = TestDatabase::new().await;
    let expected = declared_by_the_database(&database.client().await).await;
    let source = include_str!("../../src/store/schema.rs");
    let declared = source
        .find("diesel::table!")
        .map_or("", |start| &source[start..]);
    assert!(
        declared == expected,
        "src/store/schema.rs should end with\n{expected}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn every_constraint_has_a_name_of_our_own() {
    let database = TestDatabase::new().await;
    let client = database.client().await;
    // Names that PostgreSQL makes up end in _check, _fkey, _key or _excl.
    let made_up = client
        .query(
            "SELECT conname::text FROM pg_constraint
             WHERE connamespace = 'public'::regnamespace
               AND conname ~ '_(check|fkey|key|excl)[0-9]*$'",
            &[],
        )
        .await
        .unwrap();
    let names: Vec<&str> = made_up.iter().map(|row| row.get(0)).collect();
    assert!(names.is_empty(), "{names:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn every_key_of_an_event_leads_with_the_event() {
    let database = TestDatabase::new().await;
    let client = database.client().await;
    // sessions may exist without an event, so their key cannot lead with one.
    let others = client
        .query(
            "SELECT i.indexrelid::regclass::text
             FROM pg_index i
             JOIN pg_attribute e ON e.attrelid = i.indrelid AND e.attname = 'event_id'
             JOIN pg_class t ON t.oid = i.indrelid
             WHERE i.indisunique AND i.indkey[0] <> e.attnum AND t.relname <> 'sessions'",
            &[],
        )
        .await
        .unwrap();
    let names: Vec<&str> = others.iter().map(|row| row.get(0)).collect();
    assert!(names.is_empty(), "{names:?}");
}

/// The bounds of a quantity, as its CHECK constraint has to repeat them.
const BOUNDS: [(&str, i32, i32); 49] = {
    use linkout::calc::units::{
        ApparentPower, Charge, Count, Current, FailureRate, FillingRatio, GaugePressure, Mass,
        Minutes, Percent, Power, Price, Resistance, UnitBouts, Voltage, Volume,
    };
    [
        ("robots_bench_between", Count::MIN, Count::MAX),
        ("robots_links_between", Count::MIN, Count::MAX),
        ("robots_limit_g_between", Mass::MIN, Mass::MAX),
        ("packs_cells_between", Count::MIN, Count::MAX),
        ("packs_capacity_mah_between", Charge::MIN, Charge::MAX),
        ("packs_parallel_cells_between", Count::MIN, Count::MAX),
        ("packs_max_charge_ma_between", Current::MIN, Current::MAX),
        (
            "packs_cell_resistance_uohm_between",
            Resistance::MIN,
            Resistance::MAX,
        ),
        ("packs_cycles_before_between", Count::MIN, Count::MAX),
        ("sets_strings_between", Count::MIN, Count::MAX),
        (
            "channels_max_current_ma_between",
            Current::MIN,
            Current::MAX,
        ),
        ("channels_max_power_w_between", Power::MIN, Power::MAX),
        ("channels_most_cells_between", Count::MIN, Count::MAX),
        ("circuits_mains_mv_between", Voltage::MIN, Voltage::MAX),
        ("circuits_rating_ma_between", Current::MIN, Current::MAX),
        ("circuits_coiled_ma_between", Current::MIN, Current::MAX),
        (
            "circuits_rating_va_between",
            ApparentPower::MIN,
            ApparentPower::MAX,
        ),
        (
            "circuits_continuous_percent_between",
            Percent::MIN,
            Percent::MAX,
        ),
        ("circuits_other_load_w_between", Power::MIN, Power::MAX),
        ("chargers_input_limit_w_between", Power::MIN, Power::MAX),
        (
            "chargers_efficiency_percent_between",
            Percent::MIN,
            Percent::MAX,
        ),
        (
            "chargers_power_factor_percent_between",
            Percent::MIN,
            Percent::MAX,
        ),
        ("bottles_volume_ml_between", Volume::MIN, Volume::MAX),
        ("bottles_tare_g_between", Mass::MIN, Mass::MAX),
        ("bottles_permitted_fill_g_between", Mass::MIN, Mass::MAX),
        (
            "bottles_test_pressure_mbar_gauge_between",
            GaugePressure::MIN,
            GaugePressure::MAX,
        ),
        (
            "bottle_stamps_filling_ratio_g_per_l_between",
            FillingRatio::MIN,
            FillingRatio::MAX,
        ),
        (
            "bottle_stamps_service_pressure_mbar_gauge_between",
            GaugePressure::MIN,
            GaugePressure::MAX,
        ),
        (
            "bottle_stamps_disc_pressure_mbar_gauge_between",
            GaugePressure::MIN,
            GaugePressure::MAX,
        ),
        ("bottle_stamps_fittings_g_between", Mass::MIN, Mass::MAX),
        ("supplies_volume_ml_between", Volume::MIN, Volume::MAX),
        ("supplies_tare_g_between", Mass::MIN, Mass::MAX),
        ("supplies_contents_g_between", Mass::MIN, Mass::MAX),
        (
            "supplies_pressure_mbar_gauge_between",
            GaugePressure::MIN,
            GaugePressure::MAX,
        ),
        ("supplies_heel_g_between", Mass::MIN, Mass::MAX),
        ("part_types_mass_g_between", Mass::MIN, Mass::MAX),
        ("part_types_volume_ml_between", Volume::MIN, Volume::MAX),
        ("part_types_price_minor_between", Price::MIN, Price::MAX),
        ("part_types_spares_between", Count::MIN, Count::MAX),
        (
            "part_types_repairable_percent_between",
            Percent::MIN,
            Percent::MAX,
        ),
        ("part_types_repair_min_between", Minutes::MIN, Minutes::MAX),
        (
            "part_types_prior_mean_between",
            FailureRate::MIN,
            FailureRate::MAX,
        ),
        (
            "part_types_prior_worst_between",
            FailureRate::MIN,
            FailureRate::MAX,
        ),
        ("part_fits_units_between", Count::MIN, Count::MAX),
        ("part_histories_failures_between", Count::MIN, Count::MAX),
        (
            "part_histories_unit_bouts_between",
            UnitBouts::MIN,
            UnitBouts::MAX,
        ),
        (
            "part_histories_weight_percent_between",
            Percent::MIN,
            Percent::MAX,
        ),
        ("bouts_number_between", Count::MIN, Count::MAX),
        // A set has at most sixteen packs: places 0 to 15.
        ("set_packs_place_between", 0, 15),
    ]
};

/// The whole numbers in a text.
fn numbers(text: &str) -> Vec<i32> {
    text.split(|c: char| !c.is_ascii_digit() && c != '-')
        .filter_map(|digits| digits.parse().ok())
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn bounds_in_the_tables_are_those_of_the_quantities() {
    let database = TestDatabase::new().await;
    let client = database.client().await;
    let rows = client
        .query(
            "SELECT conname::text, pg_get_constraintdef(oid) FROM pg_constraint
             WHERE connamespace = 'public'::regnamespace AND conname LIKE '%\\_between'",
            &[],
        )
        .await
        .unwrap();
    assert_eq!(rows.len(), BOUNDS.len());
    for row in &rows {
        let name: &str = row.get(0);
        let known = BOUNDS.iter().find(|bounds| bounds.0 == name);
        let (_, min, max) = known.unwrap_or_else(|| panic!("{name} stands for no quantity"));
        assert_eq!(numbers(row.get(1)), [*min, *max], "{name}");
    }
}
