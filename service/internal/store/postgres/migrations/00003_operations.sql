-- +goose Up

-- Work that goes on after its call, and the queue of what is to be done: an operation that has not ended is taken by a process that holds it
-- until hold_time, and lengthens that while it works. Times are microseconds since 1970, UTC; 0 is "not yet".
CREATE TABLE operations (
	name TEXT COLLATE "C" NOT NULL,
	shop TEXT COLLATE "C" NOT NULL,
	person TEXT COLLATE "C" NOT NULL,
	request_id TEXT COLLATE "C" NOT NULL,
	hash TEXT COLLATE "C" NOT NULL,
	state TEXT COLLATE "C" NOT NULL,
	holder TEXT COLLATE "C" NOT NULL,
	hold_time BIGINT NOT NULL,
	tries BIGINT NOT NULL,
	as_of_time BIGINT NOT NULL,
	create_time BIGINT NOT NULL,
	start_time BIGINT NOT NULL,
	end_time BIGINT NOT NULL,
	expire_time BIGINT NOT NULL,
	items BIGINT NOT NULL,
	done BIGINT NOT NULL,
	ahead BIGINT NOT NULL,
	refused BIGINT NOT NULL,
	worked BIGINT NOT NULL,
	failure BYTEA,
	PRIMARY KEY (name)
);

CREATE INDEX operations_by_create_time ON operations (shop, create_time, name);
CREATE INDEX operations_by_state ON operations (state, hold_time);
CREATE INDEX operations_by_expire_time ON operations (expire_time);
CREATE UNIQUE INDEX operations_by_request_id ON operations (shop, request_id) WHERE request_id <> '';

-- What was asked, apart, so that progress is written without it.
CREATE TABLE operation_requests (
	operation TEXT COLLATE "C" NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	body BYTEA NOT NULL,
	PRIMARY KEY (operation)
);

-- What was made: volumes, each in pieces.
CREATE TABLE operation_volumes (
	operation TEXT COLLATE "C" NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	volume BIGINT NOT NULL,
	items BIGINT NOT NULL,
	bytes BIGINT NOT NULL,
	PRIMARY KEY (operation, volume)
);

CREATE TABLE operation_pieces (
	operation TEXT COLLATE "C" NOT NULL,
	volume BIGINT NOT NULL,
	piece BIGINT NOT NULL,
	data BYTEA NOT NULL,
	PRIMARY KEY (operation, volume, piece),
	FOREIGN KEY (operation, volume) REFERENCES operation_volumes (operation, volume) ON DELETE CASCADE
);

-- What could not be made, and why.
CREATE TABLE operation_refusals (
	operation TEXT COLLATE "C" NOT NULL REFERENCES operations (name) ON DELETE CASCADE,
	place BIGINT NOT NULL,
	why BYTEA NOT NULL,
	PRIMARY KEY (operation, place)
);
