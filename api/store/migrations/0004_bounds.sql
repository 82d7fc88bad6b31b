-- What must outlive the account that it came from. Of the name key: that a key was
-- ever made. From then on nobody is let in without one, whatever becomes of it.
CREATE TABLE mark (
    name TEXT PRIMARY KEY,
    at   BIGINT NOT NULL
);
INSERT INTO mark (name, at) SELECT 'key', created FROM token ORDER BY created, id LIMIT 1;
-- How long bodies are, so that they can be counted and listed without being read.
ALTER TABLE plan ADD COLUMN bytes BIGINT NOT NULL DEFAULT 0;
UPDATE plan SET bytes = octet_length(body);
CREATE INDEX plan_list ON plan (dog, created, id, person, bytes);
DROP INDEX plan_dog;
ALTER TABLE document ADD COLUMN bytes BIGINT NOT NULL DEFAULT 0;
UPDATE document SET bytes = octet_length(body);
CREATE INDEX document_list ON document (account, kind, updated, id, dog, version, created, bytes);
ALTER TABLE track ADD COLUMN bytes BIGINT NOT NULL DEFAULT 0;
UPDATE track SET bytes = octet_length(points);
CREATE INDEX track_bytes ON track (account, walk, bytes);
