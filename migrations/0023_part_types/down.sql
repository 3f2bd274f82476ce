DROP TABLE part_fits;
DROP TABLE part_types;
