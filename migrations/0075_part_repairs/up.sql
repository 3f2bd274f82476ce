-- The repair that takes a part, so that a swap finds its spare without being asked.
ALTER TABLE part_types ADD COLUMN repair text
    CONSTRAINT part_types_repair_length CHECK (char_length(repair) BETWEEN 1 AND 40);
