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
