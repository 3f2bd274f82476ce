DROP TABLE set_packs;
DROP TABLE sets;
DROP TABLE packs;
