-- +goose Up

-- What a shop keeps, each record as it is. Empty text is "not said"; times are microseconds since 1970, UTC.
CREATE TABLE records (
	name TEXT COLLATE "C" NOT NULL,
	uid TEXT COLLATE "C" NOT NULL,
	version BIGINT NOT NULL,
	shop TEXT COLLATE "C" NOT NULL,
	kind TEXT COLLATE "C" NOT NULL,
	parent TEXT COLLATE "C" NOT NULL,
	display_name TEXT COLLATE "C" NOT NULL,
	class TEXT COLLATE "C" NOT NULL,
	state TEXT COLLATE "C" NOT NULL,
	station TEXT COLLATE "C" NOT NULL,
	wheel TEXT COLLATE "C" NOT NULL,
	tool TEXT COLLATE "C" NOT NULL,
	recipe TEXT COLLATE "C" NOT NULL,
	holder TEXT COLLATE "C" NOT NULL,
	external_ids TEXT COLLATE "C" NOT NULL,
	body TEXT COLLATE "C" NOT NULL,
	occur_time BIGINT NOT NULL,
	create_time BIGINT NOT NULL,
	update_time BIGINT NOT NULL,
	delete_time BIGINT,
	PRIMARY KEY (name)
);

-- Every version that was ever written and by whom: the audit, what counted at a time, and what to roll back to.
CREATE TABLE history (
	seq BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	name TEXT COLLATE "C" NOT NULL,
	uid TEXT COLLATE "C" NOT NULL,
	version BIGINT NOT NULL,
	shop TEXT COLLATE "C" NOT NULL,
	kind TEXT COLLATE "C" NOT NULL,
	parent TEXT COLLATE "C" NOT NULL,
	display_name TEXT COLLATE "C" NOT NULL,
	class TEXT COLLATE "C" NOT NULL,
	state TEXT COLLATE "C" NOT NULL,
	station TEXT COLLATE "C" NOT NULL,
	wheel TEXT COLLATE "C" NOT NULL,
	tool TEXT COLLATE "C" NOT NULL,
	recipe TEXT COLLATE "C" NOT NULL,
	holder TEXT COLLATE "C" NOT NULL,
	external_ids TEXT COLLATE "C" NOT NULL,
	body TEXT COLLATE "C" NOT NULL,
	occur_time BIGINT NOT NULL,
	create_time BIGINT NOT NULL,
	update_time BIGINT NOT NULL,
	delete_time BIGINT,
	person TEXT COLLATE "C" NOT NULL,
	method TEXT COLLATE "C" NOT NULL,
	request_id TEXT COLLATE "C" NOT NULL,
	UNIQUE (name, version)
);

CREATE INDEX records_by_name ON records (shop, kind, name);
CREATE INDEX records_by_parent ON records (parent, kind, name);
CREATE INDEX records_by_display_name ON records (shop, kind, display_name, name);
CREATE INDEX records_by_class ON records (shop, kind, class, name);
CREATE INDEX records_by_state ON records (shop, kind, state, name);
CREATE INDEX records_by_station ON records (shop, kind, station, name);
CREATE INDEX records_by_wheel ON records (shop, kind, wheel, name);
CREATE INDEX records_by_tool ON records (shop, kind, tool, name);
CREATE INDEX records_by_recipe ON records (shop, kind, recipe, name);
CREATE INDEX records_by_holder ON records (shop, kind, holder, name);
CREATE INDEX records_by_occur_time ON records (shop, kind, occur_time, name);
CREATE INDEX records_by_create_time ON records (shop, kind, create_time, name);
CREATE INDEX records_by_update_time ON records (shop, kind, update_time, name);
CREATE INDEX history_by_kind ON history (shop, kind, name, update_time);
CREATE INDEX history_by_seq ON history (shop, seq);
