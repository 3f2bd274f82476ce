-- What else is stamped on a bottle or hangs on it, one row for each bottle.
CREATE TABLE bottle_stamps (
    event_id uuid NOT NULL,
    bottle_id uuid NOT NULL,
    filling_ratio_g_per_l integer CONSTRAINT bottle_stamps_filling_ratio_g_per_l_between
        CHECK (filling_ratio_g_per_l BETWEEN 300 AND 800),
    test_due date,
    service_pressure_mbar_gauge integer CONSTRAINT bottle_stamps_service_pressure_mbar_gauge_between
        CHECK (service_pressure_mbar_gauge BETWEEN 0 AND 1000000),
    disc_pressure_mbar_gauge integer CONSTRAINT bottle_stamps_disc_pressure_mbar_gauge_between
        CHECK (disc_pressure_mbar_gauge BETWEEN 0 AND 1000000),
    dip_tube boolean NOT NULL,
    wall text CONSTRAINT bottle_stamps_wall_known CHECK (wall IN ('aluminium', 'steel')),
    fittings_g integer CONSTRAINT bottle_stamps_fittings_g_between
        CHECK (fittings_g BETWEEN 0 AND 500000),
    CONSTRAINT bottle_stamps_pkey PRIMARY KEY (event_id, bottle_id),
    CONSTRAINT bottle_stamps_bottle_fk FOREIGN KEY (event_id, bottle_id)
        REFERENCES bottles (event_id, id) DEFERRABLE
);
INSERT INTO bottle_stamps (event_id, bottle_id, dip_tube)
    SELECT event_id, id, false FROM bottles;
