-- Supply cylinders that bottles are filled from, of the event or of a team.
CREATE TABLE supplies (
    event_id uuid NOT NULL CONSTRAINT supplies_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid,
    label text NOT NULL
        CONSTRAINT supplies_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    gas text NOT NULL CONSTRAINT supplies_gas_known CHECK (gas IN ('co2', 'nitrogen', 'air')),
    volume_ml integer NOT NULL CONSTRAINT supplies_volume_ml_between
        CHECK (volume_ml BETWEEN 1 AND 100000),
    tare_g integer CONSTRAINT supplies_tare_g_between
        CHECK (tare_g BETWEEN 0 AND 500000),
    contents_g integer CONSTRAINT supplies_contents_g_between
        CHECK (contents_g BETWEEN 0 AND 500000),
    pressure_mbar_gauge integer CONSTRAINT supplies_pressure_mbar_gauge_between
        CHECK (pressure_mbar_gauge BETWEEN 0 AND 1000000),
    dip_tube boolean NOT NULL,
    heel_g integer CONSTRAINT supplies_heel_g_between
        CHECK (heel_g BETWEEN 0 AND 500000),
    tested_on date,
    place text CONSTRAINT supplies_place_length CHECK (char_length(place) BETWEEN 1 AND 60),
    retired boolean NOT NULL,
    CONSTRAINT supplies_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT supplies_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX supplies_label_once
    ON supplies (event_id, team_id, lower(label)) NULLS NOT DISTINCT WHERE NOT retired;
