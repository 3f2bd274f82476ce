-- Outputs of chargers.
CREATE TABLE channels (
    event_id uuid NOT NULL CONSTRAINT channels_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL
        CONSTRAINT channels_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    max_current_ma integer NOT NULL
        CONSTRAINT channels_max_current_ma_between CHECK (max_current_ma BETWEEN 1 AND 500000),
    max_power_w integer NOT NULL
        CONSTRAINT channels_max_power_w_between CHECK (max_power_w BETWEEN 1 AND 50000),
    retired boolean NOT NULL,
    CONSTRAINT channels_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT channels_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX channels_label_once
    ON channels (event_id, team_id, lower(label)) WHERE NOT retired;
