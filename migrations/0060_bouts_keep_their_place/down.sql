ALTER TABLE bouts
    DROP COLUMN fixed,
    DROP COLUMN moved_from;
