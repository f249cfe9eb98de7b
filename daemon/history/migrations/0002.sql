-- What the record book does not attest yet, or no longer, because something was
-- added: key = channel * 2^32 + UTC day + 2^31; changes counts what was added.
CREATE TABLE unattested (
	key     INTEGER PRIMARY KEY,
	changes INTEGER NOT NULL
) STRICT;
INSERT INTO unattested SELECT key, 1 FROM day;
-- A gap belongs to the day in which it ended. A division rounds towards zero.
INSERT OR IGNORE INTO unattested
	SELECT channel * 4294967296 + (to_ms - CASE WHEN to_ms < 0 THEN 86399999 ELSE 0 END) / 86400000 + 2147483648, 1
	FROM gap WHERE to_ms IS NOT NULL;
CREATE INDEX gap_by_end ON gap(channel, to_ms);
