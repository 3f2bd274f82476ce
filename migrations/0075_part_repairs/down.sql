ALTER TABLE part_types DROP COLUMN repair;
