-- Bouts: each corner is a robot, or the winner or the loser of another bout. Their numbers may
-- repeat, because a running order is renumbered bout by bout.
CREATE TABLE bouts (
    event_id uuid NOT NULL CONSTRAINT bouts_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    number integer NOT NULL CONSTRAINT bouts_number_between CHECK (number BETWEEN 0 AND 1000),
    first_robot_id uuid,
    first_winner_of uuid,
    first_loser_of uuid,
    second_robot_id uuid,
    second_winner_of uuid,
    second_loser_of uuid,
    call_at timestamptz NOT NULL,
    retired boolean NOT NULL,
    CONSTRAINT bouts_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT bouts_first_one CHECK (
        num_nonnulls(first_robot_id, first_winner_of, first_loser_of) = 1
    ),
    CONSTRAINT bouts_second_one CHECK (
        num_nonnulls(second_robot_id, second_winner_of, second_loser_of) = 1
    ),
    CONSTRAINT bouts_two_robots CHECK (first_robot_id <> second_robot_id),
    CONSTRAINT bouts_not_after_itself CHECK (
        first_winner_of <> id AND first_loser_of <> id
        AND second_winner_of <> id AND second_loser_of <> id
    ),
    CONSTRAINT bouts_first_robot_fk FOREIGN KEY (event_id, first_robot_id)
        REFERENCES robots (event_id, id) DEFERRABLE,
    CONSTRAINT bouts_first_winner_fk FOREIGN KEY (event_id, first_winner_of)
        REFERENCES bouts (event_id, id) DEFERRABLE,
    CONSTRAINT bouts_first_loser_fk FOREIGN KEY (event_id, first_loser_of)
        REFERENCES bouts (event_id, id) DEFERRABLE,
    CONSTRAINT bouts_second_robot_fk FOREIGN KEY (event_id, second_robot_id)
        REFERENCES robots (event_id, id) DEFERRABLE,
    CONSTRAINT bouts_second_winner_fk FOREIGN KEY (event_id, second_winner_of)
        REFERENCES bouts (event_id, id) DEFERRABLE,
    CONSTRAINT bouts_second_loser_fk FOREIGN KEY (event_id, second_loser_of)
        REFERENCES bouts (event_id, id) DEFERRABLE
);
CREATE INDEX bouts_by_call ON bouts (event_id, call_at);
