-- Which dogs a document names, so that nothing is left of a dog that is deleted. Of
-- documents kept before, those whose body holds the id as a text: an id is random and
-- too long to stand there by chance.
CREATE TABLE named (
    account TEXT NOT NULL,
    kind    TEXT NOT NULL,
    id      TEXT NOT NULL,
    dog     TEXT NOT NULL REFERENCES dog (id) ON DELETE CASCADE,
    PRIMARY KEY (account, kind, id, dog),
    FOREIGN KEY (account, kind, id) REFERENCES document (account, kind, id) ON DELETE CASCADE
);
CREATE INDEX named_dog ON named (dog);
INSERT INTO named (account, kind, id, dog)
    SELECT d.account, d.kind, d.id, dog.id FROM document d JOIN dog ON dog.account = d.account
    WHERE d.dog = dog.id OR d.body LIKE '%"' || dog.id || '"%';
