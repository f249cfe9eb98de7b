-- Times are milliseconds since 1970-01-01T00:00:00Z, quarters are times divided by 900 000.

-- The record book. The columns after body repeat parts of it for queries.
CREATE TABLE record (
	number INTEGER PRIMARY KEY,
	hash   TEXT NOT NULL,
	body   TEXT NOT NULL,
	kind   TEXT NOT NULL,
	room   TEXT NOT NULL,
	at_ms  INTEGER NOT NULL
) STRICT;
CREATE INDEX record_by_time ON record(at_ms);
CREATE INDEX record_by_kind ON record(kind, number);
CREATE TRIGGER record_is_never_changed BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never changed: write a correction'); END;
CREATE TRIGGER record_is_never_deleted BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END;
CREATE TRIGGER record_is_added_at_the_end BEFORE INSERT ON record
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM record)
BEGIN SELECT RAISE(ABORT, 'a record is added at the end'); END;

-- A channel keeps its code for ever; in_service is 0 once it left the configuration.
CREATE TABLE channel (
	code       INTEGER PRIMARY KEY,
	id         TEXT NOT NULL UNIQUE,
	room       TEXT NOT NULL,
	name       TEXT NOT NULL,
	kind       TEXT NOT NULL,
	unit       TEXT NOT NULL,
	silence_ms INTEGER NOT NULL,
	in_service INTEGER NOT NULL
) STRICT;

-- Words that samples refer to by number: why a value is not good.
CREATE TABLE word (
	code INTEGER PRIMARY KEY,
	text TEXT NOT NULL UNIQUE
) STRICT;

-- Samples that are not yet sealed, many to a row, in the order of arrival within
-- their quarter of an hour: id = quarter * 2^20 + a number that counts up.
CREATE TABLE tail (
	id      INTEGER PRIMARY KEY,
	samples BLOB NOT NULL
) STRICT;

-- Sealed samples of one channel and one quarter of an hour: key = channel * 2^32 + quarter + 2^31.
CREATE TABLE block (
	key     INTEGER PRIMARY KEY,
	samples BLOB NOT NULL
) STRICT;

-- Roll-ups of the quarters of one channel and one UTC day: key = channel * 2^32 + day + 2^31.
CREATE TABLE day (
	key      INTEGER PRIMARY KEY,
	quarters BLOB NOT NULL
) STRICT;

CREATE TABLE gap (
	id      INTEGER PRIMARY KEY,
	channel INTEGER NOT NULL REFERENCES channel(code),
	from_ms INTEGER NOT NULL,
	to_ms   INTEGER,
	cause   TEXT NOT NULL
) STRICT;
CREATE INDEX gap_by_time ON gap(channel, from_ms);
CREATE INDEX gap_open ON gap(channel) WHERE to_ms IS NULL;

-- The last sign of life, so that a start knows how long the machine was off.
CREATE TABLE alive (
	only  INTEGER PRIMARY KEY CHECK (only = 1),
	at_ms INTEGER NOT NULL
) STRICT;
INSERT INTO alive VALUES (1, 0);
