ALTER TABLE robots DROP COLUMN sources;
