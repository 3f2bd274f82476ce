-- The machines. Bounds are those of the quantities in calc::units.
CREATE TABLE robots (
    event_id uuid NOT NULL CONSTRAINT robots_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    name text NOT NULL CONSTRAINT robots_name_length CHECK (char_length(name) BETWEEN 1 AND 60),
    machine text NOT NULL CONSTRAINT robots_machine_known CHECK (
        machine IN ('flipper_heavyweight', 'spinner_heavyweight', 'small_machine')
    ),
    bench integer CONSTRAINT robots_bench_between CHECK (bench BETWEEN 0 AND 1000),
    configuration text
        CONSTRAINT robots_configuration_length CHECK (char_length(configuration) BETWEEN 1 AND 60),
    driver_id uuid,
    links integer NOT NULL CONSTRAINT robots_links_between CHECK (links BETWEEN 0 AND 1000),
    limit_g integer CONSTRAINT robots_limit_g_between CHECK (limit_g BETWEEN 0 AND 500000),
    retired boolean NOT NULL,
    CONSTRAINT robots_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT robots_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE,
    CONSTRAINT robots_driver_fk FOREIGN KEY (event_id, driver_id)
        REFERENCES people (event_id, id) DEFERRABLE
);
CREATE INDEX robots_by_team ON robots (event_id, team_id);
CREATE UNIQUE INDEX robots_name_once ON robots (event_id, lower(name)) WHERE NOT retired;
