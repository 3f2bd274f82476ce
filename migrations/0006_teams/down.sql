DROP TABLE teams;
DROP TABLE event_details;
