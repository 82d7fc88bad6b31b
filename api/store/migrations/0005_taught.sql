-- A mark that is new with each change of what an account's walks and reports teach,
-- so that what follows from them can be kept as long as it stands.
ALTER TABLE account ADD COLUMN taught TEXT NOT NULL DEFAULT '';
