-- Chargers, whose outputs the channels are.
CREATE TABLE chargers (
    event_id uuid NOT NULL CONSTRAINT chargers_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL
        CONSTRAINT chargers_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    circuit_id uuid,
    input_limit_w integer CONSTRAINT chargers_input_limit_w_between
        CHECK (input_limit_w BETWEEN 1 AND 50000),
    efficiency_percent integer CONSTRAINT chargers_efficiency_percent_between
        CHECK (efficiency_percent BETWEEN 0 AND 100),
    power_factor_percent integer CONSTRAINT chargers_power_factor_percent_between
        CHECK (power_factor_percent BETWEEN 0 AND 100),
    power_factor_corrected boolean NOT NULL,
    retired boolean NOT NULL,
    CONSTRAINT chargers_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT chargers_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE,
    CONSTRAINT chargers_circuit_fk FOREIGN KEY (event_id, circuit_id)
        REFERENCES circuits (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX chargers_label_once
    ON chargers (event_id, team_id, lower(label)) WHERE NOT retired;

ALTER TABLE channels
    ADD COLUMN charger_id uuid,
    ADD COLUMN most_cells integer CONSTRAINT channels_most_cells_between
        CHECK (most_cells BETWEEN 0 AND 1000),
    ADD CONSTRAINT channels_charger_fk FOREIGN KEY (event_id, charger_id)
        REFERENCES chargers (event_id, id) DEFERRABLE;
