-- One row an event: whoever holds its lock gives out the next places in the logbook.
CREATE TABLE events (
    id uuid NOT NULL CONSTRAINT events_pkey PRIMARY KEY,
    last_seq bigint NOT NULL CONSTRAINT events_last_seq_from CHECK (last_seq >= 0),
    created_at timestamptz NOT NULL,
    created_by uuid CONSTRAINT events_created_by_fk REFERENCES accounts (id)
);
