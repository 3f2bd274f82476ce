-- Batteries, and which of them are used together.
CREATE TABLE packs (
    event_id uuid NOT NULL CONSTRAINT packs_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL CONSTRAINT packs_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    chemistry text NOT NULL
        CONSTRAINT packs_chemistry_known CHECK (chemistry IN ('lipo', 'nmc', 'lfp')),
    cells integer NOT NULL CONSTRAINT packs_cells_between CHECK (cells BETWEEN 0 AND 1000),
    capacity_mah integer NOT NULL
        CONSTRAINT packs_capacity_mah_between CHECK (capacity_mah BETWEEN 1 AND 200000),
    retired boolean NOT NULL,
    CONSTRAINT packs_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT packs_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX packs_label_once ON packs (event_id, team_id, lower(label)) WHERE NOT retired;

CREATE TABLE sets (
    event_id uuid NOT NULL CONSTRAINT sets_event_fk REFERENCES events (id),
    id uuid NOT NULL,
    revision bigint NOT NULL,
    team_id uuid NOT NULL,
    label text NOT NULL CONSTRAINT sets_label_length CHECK (char_length(label) BETWEEN 1 AND 60),
    robot_id uuid,
    retired boolean NOT NULL,
    CONSTRAINT sets_pkey PRIMARY KEY (event_id, id),
    CONSTRAINT sets_team_fk FOREIGN KEY (event_id, team_id)
        REFERENCES teams (event_id, id) DEFERRABLE,
    CONSTRAINT sets_robot_fk FOREIGN KEY (event_id, robot_id)
        REFERENCES robots (event_id, id) DEFERRABLE
);
CREATE UNIQUE INDEX sets_label_once ON sets (event_id, team_id, lower(label)) WHERE NOT retired;

CREATE TABLE set_packs (
    event_id uuid NOT NULL,
    set_id uuid NOT NULL,
    pack_id uuid NOT NULL,
    place integer NOT NULL CONSTRAINT set_packs_place_between CHECK (place BETWEEN 0 AND 15),
    CONSTRAINT set_packs_pkey PRIMARY KEY (event_id, set_id, pack_id),
    CONSTRAINT set_packs_set_fk FOREIGN KEY (event_id, set_id)
        REFERENCES sets (event_id, id) DEFERRABLE,
    CONSTRAINT set_packs_pack_fk FOREIGN KEY (event_id, pack_id)
        REFERENCES packs (event_id, id) DEFERRABLE
);
CREATE INDEX set_packs_by_pack ON set_packs (event_id, pack_id);
