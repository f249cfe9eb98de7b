package serialport

import (
	"slices"

	"golang.org/x/sys/windows/registry"
)

// List gives the names of the serial ports that Windows has at this moment; a
// name belongs to a socket, not to a device.
func List() []string {
	key, err := registry.OpenKey(registry.LOCAL_MACHINE, `HARDWARE\DEVICEMAP\SERIALCOMM`, registry.QUERY_VALUE)
	if err != nil {
		return nil // the key is there only with at least one port
	}
	defer key.Close()
	names, err := key.ReadValueNames(0)
	if err != nil {
		return nil
	}
	var ports []string
	for _, name := range names {
		if port, _, err := key.GetStringValue(name); err == nil {
			ports = append(ports, port)
		}
	}
	slices.Sort(ports)
	return ports
}
