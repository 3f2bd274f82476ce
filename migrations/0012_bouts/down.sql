DROP TABLE bouts;
