DROP TABLE lines;
