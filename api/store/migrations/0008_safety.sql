-- What a trainer said in writing of a meeting that the rule of bites and muzzles would
-- refuse. Who said it stands in the body too, by name: it is kept when they have left.
CREATE TABLE word (
    id      TEXT PRIMARY KEY,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL
);
CREATE INDEX word_dog ON word (dog, created);

-- A key that opens one dog to be read, for somebody outside the account.
CREATE TABLE share (
    id      TEXT PRIMARY KEY,
    hash    TEXT NOT NULL UNIQUE,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    person  TEXT REFERENCES person (id) ON DELETE SET NULL,
    label   TEXT NOT NULL,
    created BIGINT NOT NULL,
    expires BIGINT NOT NULL,
    revoked BIGINT NOT NULL DEFAULT 0,
    seen    BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX share_dog ON share (dog, created);
