-- Types of part, and the robots they fit.
CREATE TABLE part_types (
    event_id uuid NOT NULL CONSTRAINT part_types_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL
        CONSTRAINT part_types_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    mass_g integer CONSTRAINT part_types_mass_g_between
        CHECK (mass_g BETWEEN 0 AND 500000),
    volume_ml integer CONSTRAINT part_types_volume_ml_between
        CHECK (volume_ml BETWEEN 1 AND 100000),
    price_minor integer CONSTRAINT part_types_price_minor_between
        CHECK (price_minor BETWEEN 0 AND 100000000),
    place text CONSTRAINT part_types_place_length CHECK (char_length(place) BETWEEN 1 AND 60),
    spares integer CONSTRAINT part_types_spares_between
        CHECK (spares BETWEEN 0 AND 1000),
    repairable_percent integer CONSTRAINT part_types_repairable_percent_between
        CHECK (repairable_percent BETWEEN 0 AND 100),
    repair_min integer CONSTRAINT part_types_repair_min_between
        CHECK (repair_min BETWEEN 0 AND 1440),
    -- Failures in a thousand fitted units times bouts.
    prior_mean integer CONSTRAINT part_types_prior_mean_between
        CHECK (prior_mean BETWEEN 1 AND 20000),
    prior_worst integer CONSTRAINT part_types_prior_worst_between
        CHECK (prior_worst BETWEEN 1 AND 20000),
    retired boolean NOT NULL,
    CONSTRAINT part_types_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT part_types_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX part_types_label_once
    ON part_types (event_id, team_id, lower(label)) WHERE NOT retired;

CREATE TABLE part_fits (
    event_id uuid NOT NULL,
    part_type_id uuid NOT NULL,
    robot_id uuid NOT NULL,
    units integer NOT NULL CONSTRAINT part_fits_units_between
        CHECK (units BETWEEN 0 AND 1000),
    CONSTRAINT part_fits_pkey PRIMARY KEY (event_id, part_type_id, robot_id),
    CONSTRAINT part_fits_part_type_fk FOREIGN KEY (event_id, part_type_id)
        REFERENCES part_types (event_id, id) DEFERRABLE,
    CONSTRAINT part_fits_robot_fk FOREIGN KEY (event_id, robot_id)
        REFERENCES robots (event_id, id) DEFERRABLE
);
CREATE INDEX part_fits_by_robot ON part_fits (event_id, robot_id);
