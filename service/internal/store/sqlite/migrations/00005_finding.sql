-- +goose Up

-- What the last inspection of a station, wheel or holder found, by its number; '0' where there was none.
ALTER TABLE records ADD COLUMN finding TEXT NOT NULL DEFAULT '';
ALTER TABLE history ADD COLUMN finding TEXT NOT NULL DEFAULT '';

UPDATE records SET finding = '0' WHERE kind IN ('stations', 'wheels', 'holders');
UPDATE history SET finding = '0' WHERE kind IN ('stations', 'wheels', 'holders');

-- What was inspected before gets a version that says so: the newest inspection by its own time counts, and of two at one time the worse.
UPDATE records SET
	version = version + 1,
	update_time = MAX(update_time + 1, unixepoch() * 1000000),
	finding = newest.finding,
	body = json_set(body, '$.Inspecting.Last', newest.looked, '$.Inspecting.Finding', CAST(newest.finding AS INTEGER))
FROM (
	SELECT station || wheel || holder AS subject, class AS finding, json_extract(body, '$.Occurred') AS looked,
		ROW_NUMBER() OVER (PARTITION BY station || wheel || holder ORDER BY occur_time DESC, class DESC) AS place
	FROM records WHERE kind = 'inspections' AND delete_time IS NULL
) AS newest
WHERE newest.place = 1 AND newest.subject = records.name;

INSERT INTO history (name, uid, version, shop, kind, parent, display_name, class, state, station, wheel, tool, recipe, holder, external_ids, body,
	occur_time, due_time, finding, create_time, update_time, delete_time, person, method, request_id)
SELECT name, uid, version, shop, kind, parent, display_name, class, state, station, wheel, tool, recipe, holder, external_ids, body,
	occur_time, due_time, finding, create_time, update_time, delete_time, '', 'schema 5', ''
FROM records WHERE finding NOT IN ('', '0');

CREATE INDEX records_by_finding ON records (shop, kind, finding, name);
