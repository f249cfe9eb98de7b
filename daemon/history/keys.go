package history

import "database/sql"

// keyBias makes numbers before 1970 sort before those after it.
const keyBias = 1 << 31

// blockKey is where a channel's block of a quarter of an hour is kept, or its
// roll-up of a day; both are numbered from 1970.
func blockKey(code, number int64) int64 { return code<<32 + number + keyBias }

// blockNumber is the quarter or the day of a key.
func blockNumber(key int64) int64 { return key&(1<<32-1) - keyBias }

// keyRange is the keys from low to high-1.
type keyRange struct{ low, high int64 }

// keysOf is the keys of a channel from number first to end-1.
func keysOf(code, first, end int64) keyRange {
	return keyRange{blockKey(code, max(first, -keyBias)), blockKey(code, min(end, keyBias))}
}

// eachStored hands on the stored bytes that a query gives for a range of keys.
// They are good until the next ones.
func (v view) eachStored(query string, keys keyRange, each func(key int64, data []byte) error) error {
	rows, err := v.db.QueryContext(v.ctx, query, keys.low, keys.high)
	if err != nil {
		return err
	}
	return scanStored(rows, each)
}

func scanStored(rows *sql.Rows, each func(key int64, data []byte) error) error {
	return scanAll(rows, func(rows *sql.Rows) error {
		var key int64
		var data sql.RawBytes
		if err := rows.Scan(&key, &data); err != nil {
			return err
		}
		return each(key, data)
	})
}
