package daemon

import "os"

// mayUse says whether a path is there; a port such as COM3 has none and is tried at the start.
func mayUse(path string) error {
	if len(path) > 3 && path[:3] == "COM" {
		return nil
	}
	_, err := os.Stat(path)
	return err
}
