-- Listing what is known about one thing, or one kind of line, in order.
CREATE INDEX lines_by_subject ON lines (event_id, subject, seq);
CREATE INDEX lines_by_kind ON lines (event_id, kind, seq);
