DROP TABLE libraries;
