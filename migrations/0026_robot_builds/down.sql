ALTER TABLE robots
    DROP COLUMN configurations,
    DROP COLUMN electrics,
    DROP COLUMN gas_system;
