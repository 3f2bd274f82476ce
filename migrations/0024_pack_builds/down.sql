ALTER TABLE sets DROP COLUMN strings;
ALTER TABLE packs
    DROP COLUMN parallel_cells,
    DROP COLUMN max_charge_ma,
    DROP COLUMN cell_resistance_uohm,
    DROP COLUMN cycles_before,
    DROP COLUMN code;
