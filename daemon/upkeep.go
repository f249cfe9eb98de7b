package daemon

// upkeep says how somebody looks after the program on one operating system.
type upkeep struct {
	// Restart and Reload are sentences; the others follow on something.
	Restart, Reload string
	Start           string // it, where it does not run, and where its last words stand
	Port            string // is not for this user
	File            string // is not for this user
}

// upkeepOn is for an operating system by its name in Go. Outside of Linux nothing takes a signal to
// read the configuration again, and no service manager is known to have started the program.
func upkeepOn(system string) upkeep {
	const right = "Put right what is named, try it with wetside check, and "
	const again = "wetside run --config FILE in a terminal shows its last words"
	switch system {
	case "linux":
		return upkeep{
			Restart: "Restart wetside: systemctl restart wetside.",
			Reload:  right + "tell wetside to read it again: systemctl reload wetside.",
			Start:   "start it; under systemd: systemctl status wetside, and journalctl -u wetside -n 50 for its last words",
			Port:    "put this user into the group that owns the port, often dialout, and sign in again",
			File:    "ask as the user of wetside: sudo -u wetside wetside selfcheck --config FILE",
		}
	case "windows":
		return upkeep{
			Restart: "Restart wetside: close its window, and open its shortcut in the folder that opens with Win+R and shell:startup; or sign " +
				"out of Windows and in again.",
			Reload: right + "restart wetside: close its window and open its shortcut again.",
			Start:  "open its shortcut in the folder that opens with Win+R and shell:startup; " + again,
			Port:   "sign in to Windows as the user for whom wetside starts, and see that no other program has the port open",
			File:   "sign in to Windows as the user for whom wetside starts, and ask again",
		}
	}
	return upkeep{
		Restart: "Restart wetside: stop it, and start it the way it was started.",
		Reload:  right + "restart wetside.",
		Start:   "start it; " + again,
		Port:    "let the user of wetside read and write the port",
		File:    "ask as the user of wetside",
	}
}
