-- +goose Up

-- Work that goes on after its call, and the queue of what is to be done: an operation that has not ended is taken by a process that holds it
-- until hold_time, and lengthens that while it works. Times are microseconds since 1970, UTC; 0 is "not yet".
CREATE TABLE operations (
	name TEXT NOT NULL,
	shop TEXT NOT NULL,
	person TEXT NOT NULL,
	request_id TEXT NOT NULL,
	hash TEXT NOT NULL,
	state TEXT NOT NULL,
	holder TEXT NOT NULL,
	hold_time INTEGER NOT NULL,
	tries INTEGER NOT NULL,
	as_of_time INTEGER NOT NULL,
	create_time INTEGER NOT NULL,
	start_time INTEGER NOT NULL,
	end_time INTEGER NOT NULL,
	expire_time INTEGER NOT NULL,
	items INTEGER NOT NULL,
	done INTEGER NOT NULL,
	ahead INTEGER NOT NULL,
	refused INTEGER NOT NULL,
	worked INTEGER NOT NULL,
	failure BLOB,
	PRIMARY KEY (name)
) STRICT;

CREATE INDEX operations_by_create_time ON operations (shop, create_time, name);
CREATE INDEX operations_by_state ON operations (state, hold_time);
CREATE INDEX operations_by_expire_time ON operations (expire_time);
CREATE UNIQUE INDEX operations_by_request_id ON operations (shop, request_id) WHERE request_id <> '';

-- What was asked, apart, so that progress is written without it.
CREATE TABLE operation_requests (
	operation TEXT NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	body BLOB NOT NULL,
	PRIMARY KEY (operation)
) STRICT;

-- What was made: volumes, each in pieces.
CREATE TABLE operation_volumes (
	operation TEXT NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	volume INTEGER NOT NULL,
	items INTEGER NOT NULL,
	bytes INTEGER NOT NULL,
	PRIMARY KEY (operation, volume)
) STRICT;

CREATE TABLE operation_pieces (
	operation TEXT NOT NULL,
	volume INTEGER NOT NULL,
	piece INTEGER NOT NULL,
	data BLOB NOT NULL,
	PRIMARY KEY (operation, volume, piece),
	FOREIGN KEY (operation, volume) REFERENCES operation_volumes (operation, volume) ON DELETE CASCADE
) STRICT;

-- What could not be made, and why.
CREATE TABLE operation_refusals (
	operation TEXT NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	place INTEGER NOT NULL,
	why BLOB NOT NULL,
	PRIMARY KEY (operation, place)
) STRICT;
