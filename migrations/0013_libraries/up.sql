-- A team's own changes to the task library of a type of machine.
CREATE TABLE libraries (
    event_id uuid NOT NULL CONSTRAINT libraries_event_fk REFERENCES events (id),
    team_id uuid NOT NULL,
    machine text NOT NULL CONSTRAINT libraries_machine_known CHECK (
        machine IN ('flipper_heavyweight', 'spinner_heavyweight', 'small_machine')
    ),
    revision bigint NOT NULL,
    changes jsonb NOT NULL,
    CONSTRAINT libraries_pkey PRIMARY KEY (event_id, team_id, machine),
    CONSTRAINT libraries_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
