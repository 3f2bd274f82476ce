-- The currency that an event's prices are in.
ALTER TABLE event_details ADD COLUMN currency text
    CONSTRAINT event_details_currency_form CHECK (currency ~ '^[A-Z]{3}$');
