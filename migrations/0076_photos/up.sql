-- The bytes of photographs, each under the line that says it was taken. They only grow, as the
-- logbook does.
CREATE TABLE photos (
    event_id uuid NOT NULL,
    line_id uuid NOT NULL,
    jpeg bytea NOT NULL
        CONSTRAINT photos_jpeg_size CHECK (octet_length(jpeg) BETWEEN 1 AND 307200),
    recorded_at timestamptz NOT NULL,
    CONSTRAINT photos_pkey PRIMARY KEY (event_id, line_id),
    CONSTRAINT photos_line_fk FOREIGN KEY (event_id, line_id) REFERENCES lines (event_id, id)
);
CREATE TRIGGER lines_only_grow
    BEFORE UPDATE OR DELETE OR TRUNCATE ON photos
    FOR EACH STATEMENT EXECUTE FUNCTION lines_only_grow();
ALTER TABLE photos ENABLE ALWAYS TRIGGER lines_only_grow;
