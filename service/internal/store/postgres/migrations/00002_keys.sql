-- +goose Up

-- What other systems call a record; kept while it is deleted, so that it can come back.
CREATE TABLE external_ids (
	shop TEXT COLLATE "C" NOT NULL,
	system TEXT COLLATE "C" NOT NULL,
	value TEXT COLLATE "C" NOT NULL,
	name TEXT COLLATE "C" NOT NULL,
	PRIMARY KEY (shop, system, value)
);

CREATE INDEX external_ids_by_name ON external_ids (name);

-- Requests that were answered: the hash of the body, and the versions that were written, as JSON.
CREATE TABLE requests (
	shop TEXT COLLATE "C" NOT NULL,
	id TEXT COLLATE "C" NOT NULL,
	hash TEXT COLLATE "C" NOT NULL,
	wrote TEXT COLLATE "C" NOT NULL,
	answer_time BIGINT NOT NULL,
	PRIMARY KEY (shop, id)
);

-- Groups of three letters of what search looks at, without case and accents.
CREATE TABLE trigrams (
	shop TEXT COLLATE "C" NOT NULL,
	kind TEXT COLLATE "C" NOT NULL,
	gram TEXT COLLATE "C" NOT NULL,
	name TEXT COLLATE "C" NOT NULL,
	PRIMARY KEY (shop, kind, gram, name)
);

CREATE INDEX trigrams_by_name ON trigrams (name);
