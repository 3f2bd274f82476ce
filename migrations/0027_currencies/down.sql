ALTER TABLE event_details DROP COLUMN currency;
