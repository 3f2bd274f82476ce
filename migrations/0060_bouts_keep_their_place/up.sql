-- A bout may keep its place in the running order, and remembers the call it had before the order
-- changed.
ALTER TABLE bouts
    ADD COLUMN fixed boolean NOT NULL DEFAULT false,
    ADD COLUMN moved_from timestamptz;
ALTER TABLE bouts ALTER COLUMN fixed DROP DEFAULT;
