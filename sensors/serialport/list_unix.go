//go:build unix

package serialport

import (
	"path/filepath"
)

// List gives the paths of devices that may be serial lines, best names first:
// by the identity of the device, else by the socket it is plugged into, else by
// number. Each device appears once. Two adapters without a serial number of
// their own can share an identity; name such by their socket.
func List() []string {
	return list("/dev")
}

func list(dev string) []string {
	var found []string
	seen := map[string]bool{}
	for _, pattern := range []string{"serial/by-id/*", "serial/by-path/*", "ttyUSB*", "ttyACM*", "ttyAMA*", "cu.*"} {
		paths, err := filepath.Glob(filepath.Join(dev, pattern))
		if err != nil {
			continue // only for a pattern that is wrong, and these are not
		}
		for _, path := range paths {
			node, err := filepath.EvalSymlinks(path)
			if err == nil && !seen[node] {
				seen[node] = true
				found = append(found, path)
			}
		}
	}
	return found
}
