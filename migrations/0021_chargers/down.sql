ALTER TABLE channels DROP COLUMN charger_id, DROP COLUMN most_cells;
DROP TABLE chargers;
