-- Accounts are global: an organiser has one before there is any event.
CREATE TABLE accounts (
    id uuid NOT NULL CONSTRAINT accounts_pkey PRIMARY KEY,
    login text NOT NULL
        CONSTRAINT accounts_login_lower CHECK (login = lower(login))
        CONSTRAINT accounts_login_length CHECK (char_length(login) BETWEEN 1 AND 60),
    password_hash text NOT NULL,
    is_organiser boolean NOT NULL,
    created_at timestamptz NOT NULL,
    disabled_at timestamptz,
    CONSTRAINT accounts_login_once UNIQUE (login)
);
