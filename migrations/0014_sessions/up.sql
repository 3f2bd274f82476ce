-- A person on a phone for one event, a program, or an organiser who has no event yet.
CREATE TABLE sessions (
    id uuid NOT NULL CONSTRAINT sessions_pkey PRIMARY KEY,
    event_id uuid CONSTRAINT sessions_event_fk REFERENCES events (id),
    person_id uuid,
    team_id uuid,
    account_id uuid CONSTRAINT sessions_account_fk REFERENCES accounts (id),
    role text NOT NULL CONSTRAINT sessions_role_known CHECK (
        role IN ('crew', 'lead', 'official', 'marshal', 'organiser', 'wall', 'program')
    ),
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    revoked_at timestamptz,
    CONSTRAINT sessions_belong CHECK (event_id IS NOT NULL OR account_id IS NOT NULL),
    CONSTRAINT sessions_person_fk FOREIGN KEY (event_id, person_id)
        REFERENCES people (event_id, id) DEFERRABLE,
    CONSTRAINT sessions_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE INDEX sessions_by_event ON sessions (event_id, person_id);
CREATE INDEX sessions_by_revocation ON sessions (revoked_at) WHERE revoked_at IS NOT NULL;

CREATE TABLE join_codes (
    event_id uuid NOT NULL CONSTRAINT join_codes_event_fk REFERENCES events (id),
    code_hash bytea NOT NULL
        CONSTRAINT join_codes_code_hash_length CHECK (octet_length(code_hash) = 32),
    team_id uuid,
    role text NOT NULL CONSTRAINT join_codes_role_known CHECK (
        role IN ('crew', 'lead', 'official', 'marshal', 'organiser', 'wall', 'program')
    ),
    expires_at timestamptz NOT NULL,
    uses_left integer CONSTRAINT join_codes_uses_left_from CHECK (uses_left >= 0),
    created_by uuid CONSTRAINT join_codes_created_by_fk REFERENCES accounts (id),
    revoked_at timestamptz,
    CONSTRAINT join_codes_pkey PRIMARY KEY (event_id, code_hash),
    CONSTRAINT join_codes_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE INDEX join_codes_by_hash ON join_codes (code_hash);
