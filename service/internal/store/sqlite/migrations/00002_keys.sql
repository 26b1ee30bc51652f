-- +goose Up

-- What other systems call a record; kept while it is deleted, so that it can come back.
CREATE TABLE external_ids (
	shop TEXT NOT NULL,
	system TEXT NOT NULL,
	value TEXT NOT NULL,
	name TEXT NOT NULL,
	PRIMARY KEY (shop, system, value)
) STRICT;

CREATE INDEX external_ids_by_name ON external_ids (name);

-- Requests that were answered: the hash of the body, and the versions that were written, as JSON.
CREATE TABLE requests (
	shop TEXT NOT NULL,
	id TEXT NOT NULL,
	hash TEXT NOT NULL,
	wrote TEXT NOT NULL,
	answer_time INTEGER NOT NULL,
	PRIMARY KEY (shop, id)
) STRICT;

-- Groups of three letters of what search looks at, without case and accents.
CREATE TABLE trigrams (
	shop TEXT NOT NULL,
	kind TEXT NOT NULL,
	gram TEXT NOT NULL,
	name TEXT NOT NULL,
	PRIMARY KEY (shop, kind, gram, name)
) STRICT, WITHOUT ROWID;

CREATE INDEX trigrams_by_name ON trigrams (name);
