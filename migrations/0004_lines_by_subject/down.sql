DROP INDEX lines_by_kind;
DROP INDEX lines_by_subject;
