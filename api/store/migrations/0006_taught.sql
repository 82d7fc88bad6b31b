-- A mark that is new with each change of what an account's walks and reports teach,
-- so that what follows from them can be kept as long as it stands. It refers to no
-- account: giving a new one must wait for nobody but others who do.
CREATE TABLE taught (
    account TEXT PRIMARY KEY,
    mark    TEXT NOT NULL
);
