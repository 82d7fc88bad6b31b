-- What people of an account counted on the ground, by place and time. Who counted may
-- leave; what they counted stays the account's.
CREATE TABLE counted (
    id      TEXT PRIMARY KEY,
    account TEXT NOT NULL REFERENCES account (id) ON DELETE CASCADE,
    person  TEXT REFERENCES person (id) ON DELETE SET NULL,
    key     TEXT NOT NULL,
    start   BIGINT NOT NULL,
    body    TEXT NOT NULL,
    created BIGINT NOT NULL
);
CREATE INDEX counted_account ON counted (account, start);
CREATE UNIQUE INDEX counted_key ON counted (account, key) WHERE key <> '';
