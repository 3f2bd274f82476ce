DROP TABLE join_codes;
DROP TABLE sessions;
