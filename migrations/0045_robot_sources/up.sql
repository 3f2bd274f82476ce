-- What else of a machine has to be proved: a second transmitter, energy stored apart from the weapon.
ALTER TABLE robots
    ADD COLUMN sources jsonb NOT NULL DEFAULT '{"transmitters": 1, "stores_energy": false}';
ALTER TABLE robots ALTER COLUMN sources DROP DEFAULT;
