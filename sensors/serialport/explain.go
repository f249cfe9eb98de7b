package serialport

import (
	"errors"
	"io/fs"

	"wetside/sensors/quantity/phrase"
)

// explain turns an error of opening into a sentence with the path, the kind of
// trouble and what to do. The library gives some errors without any name.
func explain(path string, err error) error {
	hint, kind := kindOf(path, err)
	var named *fs.PathError
	if errors.As(err, &named) {
		err = named.Err
	}
	if kind == nil {
		return phrase.Errorf("can't open %s: %w", path, err)
	}
	return phrase.Errorf("can't open %s: %w: %s (%w)", path, kind, hint, err)
}
