-- How a pack is built, what it may be charged with, and how a set is wired.
ALTER TABLE packs
    ADD COLUMN parallel_cells integer NOT NULL DEFAULT 1 CONSTRAINT packs_parallel_cells_between
        CHECK (parallel_cells BETWEEN 0 AND 1000),
    ADD COLUMN max_charge_ma integer CONSTRAINT packs_max_charge_ma_between
        CHECK (max_charge_ma BETWEEN 1 AND 500000),
    ADD COLUMN cell_resistance_uohm integer CONSTRAINT packs_cell_resistance_uohm_between
        CHECK (cell_resistance_uohm BETWEEN 1 AND 10000000),
    ADD COLUMN cycles_before integer CONSTRAINT packs_cycles_before_between
        CHECK (cycles_before BETWEEN 0 AND 1000),
    ADD COLUMN code text CONSTRAINT packs_code_length CHECK (char_length(code) BETWEEN 1 AND 40);
ALTER TABLE packs ALTER COLUMN parallel_cells DROP DEFAULT;
ALTER TABLE sets ADD COLUMN strings integer CONSTRAINT sets_strings_between
        CHECK (strings BETWEEN 0 AND 1000);
