-- +goose Up

-- What a shop keeps, each record as it is. Empty text is "not said"; times are microseconds since 1970, UTC.
CREATE TABLE records (
	name TEXT NOT NULL,
	uid TEXT NOT NULL,
	version INTEGER NOT NULL,
	shop TEXT NOT NULL,
	kind TEXT NOT NULL,
	parent TEXT NOT NULL,
	display_name TEXT NOT NULL,
	class TEXT NOT NULL,
	state TEXT NOT NULL,
	station TEXT NOT NULL,
	wheel TEXT NOT NULL,
	tool TEXT NOT NULL,
	recipe TEXT NOT NULL,
	holder TEXT NOT NULL,
	external_ids TEXT NOT NULL,
	body TEXT NOT NULL,
	occur_time INTEGER NOT NULL,
	create_time INTEGER NOT NULL,
	update_time INTEGER NOT NULL,
	delete_time INTEGER,
	PRIMARY KEY (name)
) STRICT;

-- Every version that was ever written and by whom: the audit, what counted at a time, and what to roll back to.
CREATE TABLE history (
	seq INTEGER PRIMARY KEY AUTOINCREMENT,
	name TEXT NOT NULL,
	uid TEXT NOT NULL,
	version INTEGER NOT NULL,
	shop TEXT NOT NULL,
	kind TEXT NOT NULL,
	parent TEXT NOT NULL,
	display_name TEXT NOT NULL,
	class TEXT NOT NULL,
	state TEXT NOT NULL,
	station TEXT NOT NULL,
	wheel TEXT NOT NULL,
	tool TEXT NOT NULL,
	recipe TEXT NOT NULL,
	holder TEXT NOT NULL,
	external_ids TEXT NOT NULL,
	body TEXT NOT NULL,
	occur_time INTEGER NOT NULL,
	create_time INTEGER NOT NULL,
	update_time INTEGER NOT NULL,
	delete_time INTEGER,
	person TEXT NOT NULL,
	method TEXT NOT NULL,
	request_id TEXT NOT NULL,
	UNIQUE (name, version)
) STRICT;

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
