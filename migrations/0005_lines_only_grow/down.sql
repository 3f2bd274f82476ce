DROP TRIGGER lines_only_grow ON lines;
DROP FUNCTION lines_only_grow();
