DROP TABLE bottles;
