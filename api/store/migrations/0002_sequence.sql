-- A training visit is a walk that names its sequence, a document of the kind
-- visits. No reference: what was logged stays when the sequence is deleted.
ALTER TABLE walk ADD COLUMN sequence TEXT;
CREATE INDEX walk_sequence ON walk (dog, sequence);
