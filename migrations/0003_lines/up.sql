-- The logbook: everything that is known about an event.
CREATE TABLE lines (
    event_id uuid NOT NULL CONSTRAINT lines_event_fk REFERENCES events (id),
    seq bigint NOT NULL CONSTRAINT lines_seq_from CHECK (seq > 0),
    id uuid NOT NULL,
    kind text NOT NULL CONSTRAINT lines_kind_length CHECK (char_length(kind) BETWEEN 1 AND 40),
    version smallint NOT NULL CONSTRAINT lines_version_from CHECK (version > 0),
    at timestamptz NOT NULL,
    claimed_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    clock_doubtful boolean NOT NULL,
    seen_by uuid,
    entered_by uuid,
    entered_as text NOT NULL CONSTRAINT lines_entered_as_known CHECK (
        entered_as IN ('crew', 'lead', 'official', 'marshal', 'organiser', 'wall', 'program')
    ),
    subject text NOT NULL CONSTRAINT lines_subject_form CHECK (
        subject ~ '^(event|[a-z]{1,20}:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12})$'
    ),
    how text CONSTRAINT lines_how_known CHECK (how IN ('did', 'saw')),
    corrects uuid,
    body jsonb NOT NULL CONSTRAINT lines_body_object CHECK (jsonb_typeof(body) = 'object'),
    CONSTRAINT lines_pkey PRIMARY KEY (event_id, seq),
    CONSTRAINT lines_id_once UNIQUE (event_id, id),
    CONSTRAINT lines_corrects_fk FOREIGN KEY (event_id, corrects) REFERENCES lines (event_id, id),
    CONSTRAINT lines_at_not_ahead CHECK (at <= recorded_at)
);
