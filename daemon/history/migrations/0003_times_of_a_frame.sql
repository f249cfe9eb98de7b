-- The channels that come in one frame have their samples at the same moments, which are kept once:
-- key = quarter * 2^20 + a number that counts up.
CREATE TABLE times (
	key   INTEGER PRIMARY KEY,
	bytes BLOB NOT NULL
) STRICT;

-- A block is what stands in samples, behind the times of that number of its quarter where shared names one.
ALTER TABLE block RENAME TO part;
ALTER TABLE part ADD COLUMN shared INTEGER;
CREATE VIEW block AS SELECT key, CASE WHEN shared IS NULL THEN samples ELSE CAST(
	(SELECT bytes FROM times WHERE times.key = ((part.key & 4294967295) - 2147483648) * 1048576 + shared)
	|| samples AS BLOB) END AS samples FROM part;
