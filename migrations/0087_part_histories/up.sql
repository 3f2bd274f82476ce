-- What a type of part showed at earlier events, and what a bout there counts for here.
CREATE TABLE part_histories (
    event_id uuid NOT NULL,
    part_type_id uuid NOT NULL,
    failures integer NOT NULL CONSTRAINT part_histories_failures_between
        CHECK (failures BETWEEN 0 AND 1000),
    unit_bouts integer NOT NULL CONSTRAINT part_histories_unit_bouts_between
        CHECK (unit_bouts BETWEEN 1 AND 100000),
    weight_percent integer CONSTRAINT part_histories_weight_percent_between
        CHECK (weight_percent BETWEEN 0 AND 100),
    CONSTRAINT part_histories_pkey PRIMARY KEY (event_id, part_type_id),
    CONSTRAINT part_histories_part_type_fk FOREIGN KEY (event_id, part_type_id)
        REFERENCES part_types (event_id, id) DEFERRABLE
);
