DROP TABLE supplies;
