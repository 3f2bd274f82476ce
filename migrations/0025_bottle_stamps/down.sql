DROP TABLE bottle_stamps;
