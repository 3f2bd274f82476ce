-- What feeds chargers: generators, mains circuits and leads, of the hall or of a team.
CREATE TABLE circuits (
    event_id uuid NOT NULL CONSTRAINT circuits_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid,
    label text NOT NULL
        CONSTRAINT circuits_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    kind text NOT NULL
        CONSTRAINT circuits_kind_known CHECK (kind IN ('generator', 'circuit', 'lead')),
    mains_mv integer NOT NULL CONSTRAINT circuits_mains_mv_between
        CHECK (mains_mv BETWEEN 1 AND 500000),
    rating_ma integer CONSTRAINT circuits_rating_ma_between
        CHECK (rating_ma BETWEEN 1 AND 500000),
    coiled_ma integer CONSTRAINT circuits_coiled_ma_between
        CHECK (coiled_ma BETWEEN 1 AND 500000),
    coiled boolean NOT NULL,
    rating_va integer CONSTRAINT circuits_rating_va_between
        CHECK (rating_va BETWEEN 100 AND 500000),
    continuous_percent integer CONSTRAINT circuits_continuous_percent_between
        CHECK (continuous_percent BETWEEN 0 AND 100),
    fed_by_id uuid,
    other_load_w integer CONSTRAINT circuits_other_load_w_between
        CHECK (other_load_w BETWEEN 1 AND 50000),
    retired boolean NOT NULL,
    CONSTRAINT circuits_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT circuits_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE,
    CONSTRAINT circuits_fed_by_fk FOREIGN KEY (event_id, fed_by_id)
        REFERENCES circuits (event_id, id) DEFERRABLE,
    CONSTRAINT circuits_not_fed_by_itself CHECK (fed_by_id <> id)
);
CREATE UNIQUE INDEX circuits_label_once
    ON circuits (event_id, team_id, lower(label)) NULLS NOT DISTINCT WHERE NOT retired;
