-- Addresses of calendar feeds, for programs that carry no cookie. The secret in an address is not
-- kept, only its hash.
CREATE TABLE calendars (
    event_id uuid NOT NULL CONSTRAINT calendars_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    secret_hash bytea NOT NULL
        CONSTRAINT calendars_secret_hash_length CHECK (octet_length(secret_hash) = 32),
    team_id uuid,
    robot_id uuid,
    made_by uuid NOT NULL,
    made_at timestamptz NOT NULL,
    ended_at timestamptz,
    CONSTRAINT calendars_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT calendars_secret_once UNIQUE (event_id, secret_hash),
    CONSTRAINT calendars_of_one CHECK (num_nonnulls(team_id, robot_id) <= 1),
    CONSTRAINT calendars_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE,
    CONSTRAINT calendars_robot_fk FOREIGN KEY (event_id, robot_id)
        REFERENCES robots (event_id, id) DEFERRABLE
);
