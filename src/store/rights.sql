-- The logbook, its photographs and its events only grow; what else there is may change.
GRANT USAGE ON SCHEMA public TO linkout_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO linkout_app;
REVOKE UPDATE, DELETE, TRUNCATE ON lines FROM linkout_app;
REVOKE UPDATE, DELETE, TRUNCATE ON photos FROM linkout_app;
REVOKE DELETE, TRUNCATE ON events FROM linkout_app;
REVOKE INSERT, UPDATE, DELETE ON __diesel_schema_migrations FROM linkout_app;
