DROP TABLE part_histories;
