-- Gas bottles, with what is stamped on them.
CREATE TABLE bottles (
    event_id uuid NOT NULL CONSTRAINT bottles_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL
        CONSTRAINT bottles_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    gas text NOT NULL CONSTRAINT bottles_gas_known CHECK (gas IN ('co2', 'nitrogen', 'air')),
    volume_ml integer NOT NULL
        CONSTRAINT bottles_volume_ml_between CHECK (volume_ml BETWEEN 1 AND 100000),
    tare_g integer NOT NULL CONSTRAINT bottles_tare_g_between CHECK (tare_g BETWEEN 0 AND 500000),
    permitted_fill_g integer
        CONSTRAINT bottles_permitted_fill_g_between CHECK (permitted_fill_g BETWEEN 0 AND 500000),
    tested_on date,
    test_pressure_mbar_gauge integer CONSTRAINT bottles_test_pressure_mbar_gauge_between
        CHECK (test_pressure_mbar_gauge BETWEEN 0 AND 1000000),
    retired boolean NOT NULL,
    CONSTRAINT bottles_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT bottles_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX bottles_label_once
    ON bottles (event_id, team_id, lower(label)) WHERE NOT retired;
