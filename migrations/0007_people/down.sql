DROP TABLE people_names;
DROP TABLE people;
