-- What a robot's packs feed, its gas system, and every configuration it can be in.
ALTER TABLE robots
    ADD COLUMN configurations jsonb NOT NULL DEFAULT '[]',
    ADD COLUMN electrics jsonb,
    ADD COLUMN gas_system jsonb;
ALTER TABLE robots ALTER COLUMN configurations DROP DEFAULT;
