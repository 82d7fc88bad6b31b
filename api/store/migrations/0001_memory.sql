-- Moments are milliseconds since 1970 in UTC, bodies are JSON in text, ids are
-- random text: the same schema serves both databases. What is looked for has a
-- column of its own; what is only read back stays in the body.

CREATE TABLE account (
    id       TEXT PRIMARY KEY,
    name     TEXT NOT NULL UNIQUE,
    settings TEXT NOT NULL,
    created  BIGINT NOT NULL
);

CREATE TABLE person (
    id      TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    name    TEXT NOT NULL,
    role    TEXT NOT NULL CHECK (role IN ('handler', 'trainer', 'keeper')),
    created BIGINT NOT NULL
);
CREATE INDEX person_account ON person (account);

CREATE TABLE token (
    id      TEXT PRIMARY KEY,
    hash    TEXT NOT NULL UNIQUE,
    person  TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    label   TEXT NOT NULL,
    created BIGINT NOT NULL,
    expires BIGINT NOT NULL,
    revoked BIGINT NOT NULL DEFAULT 0,
    seen    BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX token_person ON token (person);

CREATE TABLE dog (
    id      TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    version BIGINT NOT NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL,
    updated BIGINT NOT NULL
);
CREATE INDEX dog_account ON dog (account);

-- Which dogs a handler is given.
CREATE TABLE given (
    person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    dog    TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    PRIMARY KEY (person, dog)
);
CREATE INDEX given_dog ON given (dog);

CREATE TABLE distance_change (
    id     TEXT PRIMARY KEY,
    dog    TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    seq    BIGINT NOT NULL,
    at     BIGINT NOT NULL,
    person TEXT REFERENCES person (id) ON DELETE SET NULL,
    body   TEXT NOT NULL,
    UNIQUE (dog, seq)
);

CREATE TABLE plan (
    id      TEXT PRIMARY KEY,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    person  TEXT REFERENCES person (id) ON DELETE SET NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL
);
CREATE INDEX plan_dog ON plan (dog, created);

-- A key is chosen by the client, so that what is sent twice is stored once; the
-- print is of what was sent under it.
CREATE TABLE walk (
    id      TEXT PRIMARY KEY,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    key     TEXT NOT NULL,
    print   TEXT NOT NULL,
    person  TEXT REFERENCES person (id) ON DELETE SET NULL,
    started BIGINT NOT NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL,
    UNIQUE (dog, key)
);
CREATE INDEX walk_started ON walk (dog, started);

-- An encounter names its walk by the walk's key, as it may arrive before it.
CREATE TABLE encounter (
    id      TEXT PRIMARY KEY,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    key     TEXT NOT NULL,
    print   TEXT NOT NULL,
    walk    TEXT NOT NULL,
    person  TEXT REFERENCES person (id) ON DELETE SET NULL,
    at      BIGINT NOT NULL,
    removed BIGINT NOT NULL DEFAULT 0,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL,
    UNIQUE (dog, key)
);
CREATE INDEX encounter_at ON encounter (dog, at);
CREATE INDEX encounter_walk ON encounter (dog, walk);

CREATE TABLE track (
    walk    TEXT PRIMARY KEY REFERENCES walk (id) ON DELETE CASCADE,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    begun   BIGINT NOT NULL,
    points  TEXT NOT NULL,
    created BIGINT NOT NULL
);
CREATE INDEX track_begun ON track (account, begun);

-- What one walk found of what was expected of it; made anew with each change of
-- the walk or its encounters.
CREATE TABLE tally (
    walk     TEXT NOT NULL REFERENCES walk (id) ON DELETE CASCADE,
    account  TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    kind     TEXT NOT NULL,
    place    TEXT NOT NULL,
    part     TEXT NOT NULL,
    observed DOUBLE PRECISION NOT NULL,
    expected DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (walk, kind, place, part)
);
CREATE INDEX tally_account ON tally (account);

CREATE TABLE report (
    id      TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    mapped  TEXT NOT NULL,
    ends    BIGINT NOT NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL
);
CREATE INDEX report_account ON report (account);
CREATE UNIQUE INDEX report_mapped ON report (account, mapped) WHERE mapped <> '';

-- The latest word of each person on a source.
CREATE TABLE statement (
    report TEXT NOT NULL REFERENCES report (id) ON DELETE CASCADE,
    person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    at     BIGINT NOT NULL,
    there  BIGINT NOT NULL,
    PRIMARY KEY (report, person)
);

CREATE TABLE document (
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    kind    TEXT NOT NULL,
    id      TEXT NOT NULL,
    dog     TEXT REFERENCES dog (id) ON DELETE CASCADE,
    version BIGINT NOT NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL,
    updated BIGINT NOT NULL,
    PRIMARY KEY (account, kind, id)
);
CREATE INDEX document_dog ON document (dog);
