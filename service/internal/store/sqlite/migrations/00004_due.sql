-- +goose Up

-- When something is to be inspected, in microseconds since 1970, UTC; what never is comes after every time.
ALTER TABLE records ADD COLUMN due_time INTEGER NOT NULL DEFAULT 9223372036854775807;
ALTER TABLE history ADD COLUMN due_time INTEGER NOT NULL DEFAULT 9223372036854775807;

CREATE INDEX records_by_due_time ON records (shop, kind, due_time, name);
