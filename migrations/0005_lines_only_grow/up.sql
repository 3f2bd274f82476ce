-- No account may change what was written, the owner of the table included.
CREATE FUNCTION lines_only_grow() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the logbook only grows: % is refused', TG_OP
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'lines_only_grow';
END;
$$;
CREATE TRIGGER lines_only_grow
    BEFORE UPDATE OR DELETE OR TRUNCATE ON lines
    FOR EACH STATEMENT EXECUTE FUNCTION lines_only_grow();
ALTER TABLE lines ENABLE ALWAYS TRIGGER lines_only_grow;
