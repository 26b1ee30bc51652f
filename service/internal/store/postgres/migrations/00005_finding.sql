-- +goose Up

-- What the last inspection of a station, wheel or holder found, by its number; '0' where there was none.
ALTER TABLE records ADD COLUMN finding TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE history ADD COLUMN finding TEXT COLLATE "C" NOT NULL DEFAULT '';

UPDATE records SET finding = '0' WHERE kind IN ('stations', 'wheels', 'holders');
UPDATE history SET finding = '0' WHERE kind IN ('stations', 'wheels', 'holders');

-- What was inspected before gets a version that says so: the newest inspection by its own time counts, and of two at one time the worse.
-- Bodies are changed as text, since jsonb refuses some that are kept. In a text of somebody's a quote has a backslash before it, so that a
-- field's name with its quotes is found only where it is one. The first form is of bodies that have inspections, the second of older ones.
UPDATE records SET
	version = version + 1,
	update_time = GREATEST(update_time + 1, (EXTRACT(EPOCH FROM now()) * 1000000)::BIGINT),
	finding = newest.finding,
	body = CASE WHEN body LIKE '%"Inspecting":{%'
		THEN regexp_replace(body, '("Inspecting":\{"Every":\{[^}]*\},"Last":)"[^"]*"(,"Due":"[^"]*")', '\1"' || newest.looked || '"\2,"Finding":' || newest.finding)
		ELSE regexp_replace(body, '\}$', ',"Inspecting":{"Last":"' || newest.looked || '","Finding":' || newest.finding || '}}')
	END
FROM (
	SELECT station || wheel || holder AS subject, class AS finding, substring(body FROM '"Occurred":"([^"]*)"') AS looked,
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
