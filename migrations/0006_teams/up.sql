-- What exists: each row is the last after-image a register line carried; revision is its seq.
CREATE TABLE event_details (
    event_id uuid NOT NULL CONSTRAINT event_details_pkey PRIMARY KEY
        CONSTRAINT event_details_event_fk REFERENCES events (id),
    revision bigint NOT NULL,
    name text NOT NULL
        CONSTRAINT event_details_name_length CHECK (char_length(name) BETWEEN 1 AND 60),
    hall text CONSTRAINT event_details_hall_length CHECK (char_length(hall) BETWEEN 1 AND 60),
    time_zone text NOT NULL
        CONSTRAINT event_details_time_zone_length CHECK (char_length(time_zone) BETWEEN 1 AND 60),
    first_day date NOT NULL,
    last_day date NOT NULL,
    settings jsonb NOT NULL,
    emergency jsonb NOT NULL,
    CONSTRAINT event_details_days_in_order CHECK (first_day <= last_day)
);

CREATE TABLE teams (
    event_id uuid NOT NULL CONSTRAINT teams_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    name text NOT NULL CONSTRAINT teams_name_length CHECK (char_length(name) BETWEEN 1 AND 60),
    retired boolean NOT NULL,
    CONSTRAINT teams_pkey PRIMARY KEY (event_id, id)
);
CREATE UNIQUE INDEX teams_name_once ON teams (event_id, lower(name)) WHERE NOT retired;
