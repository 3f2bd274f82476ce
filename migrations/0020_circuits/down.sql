DROP TABLE circuits;
