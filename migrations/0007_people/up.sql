-- People without their names, which can be erased while the lines stand.
CREATE TABLE people (
    event_id uuid NOT NULL CONSTRAINT people_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid,
    skills jsonb NOT NULL,
    away jsonb NOT NULL,
    retired boolean NOT NULL,
    CONSTRAINT people_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT people_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE INDEX people_by_team ON people (event_id, team_id);

CREATE TABLE people_names (
    event_id uuid NOT NULL,
    person_id uuid NOT NULL,
    name text NOT NULL
        CONSTRAINT people_names_name_length CHECK (char_length(name) BETWEEN 1 AND 60),
    pin_hash text,
    CONSTRAINT people_names_pkey PRIMARY KEY (event_id, person_id),
    CONSTRAINT people_names_person_fk FOREIGN KEY (event_id, person_id)
        REFERENCES people (event_id, id) DEFERRABLE
);
