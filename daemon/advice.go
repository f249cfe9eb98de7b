package daemon

import (
	"maps"
	"runtime"
)

// adviceOn says what to do about a warning or an error of the log, by its words.
func adviceOn(message string) string {
	if advice, known := advices(upkeepOn(runtime.GOOS))[message]; known {
		return advice
	}
	return "Keep this line, and give it to whoever looks after the program."
}

const (
	adviseDisk = "Check the free space on the disk and who owns the data folder: wetside selfcheck shows both."
	// adviseHistory is for a line that says itself what to do where the file is gone.
	adviseHistory = "Do what this line says; where it names no cause, check the free space on the disk and who owns the data folder: " +
		"wetside selfcheck shows both."
	adviseAgain  = "Load the page again; if it fails again, keep this line and give it to whoever looks after the program."
	adviseBook   = "Run wetside verify; if the record book fails verification, restore a backup into another folder."
	adviseLine   = "Check the line in the configuration and its plug, then restart."
	advisePeople = "Check the free space on the disk and who owns people.json in the data folder."
)

// advices has one for every warning and error that the program can log.
func advices(keep upkeep) map[string]string {
	all := keepingAdvice(keep)
	for _, more := range []map[string]string{outsideAdvice(), peopleAdvice(), pagesAdvice()} {
		maps.Copy(all, more)
	}
	return all
}

// keepingAdvice is for the history, its backups, the configuration and the lines.
func keepingAdvice(keep upkeep) map[string]string {
	return map[string]string{
		"the record book fails verification": "Leave the data folder as it is, run " +
			"wetside verify, and compare the history with the last backup.",
		"history is not being kept": adviseHistory,
		"the last errors of the run before are not known": "Delete faults.json in the data folder; " +
			"wetside makes it again.",
		"the wall clock was stepped": "Compare the clock with an accurate one, and " +
			"confirm the time under Probes.",
		"listen and data are taken at a start only: restart to change them": keep.Restart,
		"the old configuration stays in force":                              keep.Reload,
		"the watchdog got no sign of life": "Nothing: the service manager starts " +
			"wetside again. Keep this line if it comes back.",
		"a line can't be watched":     adviseLine,
		"a line is no longer watched": adviseLine,
		"no backup was made": "Check that the disk of the backups is " +
			"there and has room, then press for a backup on this page.",
		"old backups can't be listed": "Check that the disk of the backups is " +
			"there and may be read.",
		"an old backup can't be removed": "Remove the oldest copies by hand, and " +
			"let the user of wetside write to the folder of backups.",
		"a backup disagrees with the record book": "Leave the data folder and the backup as " +
			"they are, and run wetside verify with --backup: it names the record that differs.",
		"an older backup can't be compared with the record book": "Check that the disk of the backups is " +
			"there and may be read; run wetside verify with --backup on the backup that is named.",
		"the duties can't be counted":         adviseBook,
		"the open alarms can't be read":       adviseBook,
		"the book of the shelf can't be read": adviseBook,
		"a record of the shelf no longer makes sense and is skipped": "Look at the record in the history, then enter on the Shelf page " +
			"what really happened.",
		"the session of the room is not in the book of the shelf": "Open the session on the Shelf page as well, so that its trays " +
			"belong to it.",
		"the room was not set up for the session of the shelf": "Start the session on the Air " +
			"page of the room as well.",
		"a record of the shelf can't be read and is skipped":               adviseBook,
		"records of the book can't be read":                                adviseBook,
		"the weeks can't be read":                                          adviseBook,
		"the duties can't be read":                                         adviseBook,
		"the alarms of the book can't be read":                             adviseBook,
		"which records the next start must read could not be written down": adviseDisk,
	}
}

// outsideAdvice is for what is sent to other programs and to people outside.
func outsideAdvice() map[string]string {
	return map[string]string{
		"the webhook does not take messages; they wait": "Check that the program behind the webhook " +
			"runs; what waits is sent by itself.",
		"a message to somebody outside could not be delivered": "Check that the network is up and that the " +
			"server and the address are right; what waits is sent by itself.",
		"a message may be sent twice":                   adviseDisk,
		"the messages that are due can't be worked out": adviseBook,
		"the record book was not stamped": "Check that the network is up and that the " +
			"address of the authority is right; the stamp is asked for again by itself.",
		"the webhook refused a message": "Read the log of the program behind " +
			"the webhook, and at the secret that both have; the message is not sent again.",
		"the centre can't be reached; records wait at this site": "Check that the network is up and that the " +
			"address under [centre] is right; what waits is sent by itself.",
		"the centre refuses this site's book": "Read why, and run wetside verify " +
			"--centre: it names the first record that differs. Tell the manager.",
		"the centre refuses a day of samples": "Run wetside verify: it names what " +
			"differs. If the file is damaged, restore the last backup into another folder and compare.",
		"remote write does not get through; readings wait in the history": "Check that the receiver runs and that the address under " +
			"[remote-write] is right; what waits is sent by itself.",
		"the receiver of remote write refused samples": "Read in the log of the receiver why: " +
			"often it takes nothing that is old. wetside keeps the readings itself.",
	}
}

func peopleAdvice() map[string]string {
	return map[string]string{
		"a code that was used is not kept over a restart": advisePeople,
		"the house could not say who somebody is": "Check that the network is up and that the issuer and " +
			"the client of the configuration are right; own accounts sign in meanwhile.",
		"the house does not answer for who is signed in": "Check that the network is up: who came in by the " +
			"house is asked to sign in again after some hours; own accounts are not touched.",
		"a sign-out that the identity provider reported is not valid": "Compare the issuer and the client of the configuration " +
			"with those of the house; keep this line if they are right.",
		"nobody can sign in yet: make the first keeper with wetside people invite --role keeper": "Run wetside people invite " +
			"--role keeper on this computer.",
		"passwords and pages go over the network without encryption, because plain-http-on-the-network is set": "Take " +
			"plain-http-on-the-network out of the configuration, unless another program encrypts.",
		"a change of accounts will be recorded twice":           advisePeople,
		"sign-ins and changes of accounts are not recorded yet": adviseDisk,
		"sessions are not kept over a restart":                  advisePeople,
		"the people known before stay in force": "Bring back a copy of " +
			"people.json, or delete it and invite people again.",
	}
}

// pagesAdvice is for pages, labels, forms and the programming interface.
func pagesAdvice() map[string]string {
	return map[string]string{
		"a label has no square: its address is too long": "Shorten the name of the vessel or the address " +
			"under [site]; the label is good without the square.",
		"a simulated tray does not follow the book":                     adviseAgain,
		"earlier readings of a tray are missing on the board":           adviseAgain,
		"the evening's records are missing on the board":                adviseBook,
		"the board at an earlier time could not be worked out":          adviseAgain,
		"the chart of a probe could not be drawn":                       adviseAgain,
		"the last readings of a probe could not be read":                adviseAgain,
		"the history of a channel could not be shown":                   adviseAgain,
		"the flow of an evening could not be shown":                     adviseAgain,
		"labels can't be drawn":                                         adviseAgain,
		"a series could not be read for a program":                      adviseBook,
		"a series ended early: its reader sees that its end is missing": adviseAgain,
		"a report failed":       adviseAgain,
		"a page failed":         adviseAgain,
		"the error page failed": adviseAgain,
		"a form failed": "Check in the history whether it was recorded before you enter it again; keep this line and give it to " +
			"whoever looks after the program.",
	}
}

// upkeep says how somebody looks after the program on one operating system.
type upkeep struct {
	// Restart and Reload are sentences; the others follow on something.
	Restart, Reload string
	Start           string // it, where it does not run, and where its last words stand
	Port            string // is not for this user
	File            string // is not for this user
}

// upkeepOn is for an operating system by its name in Go. Outside of Linux nothing takes a signal to
// read the configuration again.
func upkeepOn(system string) upkeep {
	const right = "Put right what is named, try it with wetside check, and "
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
			Restart: "Restart wetside: open Services from the start menu, choose wetside and Restart.",
			Reload:  right + "restart wetside: open Services from the start menu, choose wetside and Restart.",
			Start: "open Services from the start menu, choose wetside and Start; its last words are in wetside.log beside the folder of " +
				"the data",
			Port: "see that no other program has the port open",
			File: "open the window with \"Run as administrator\" and ask again",
		}
	}
	return upkeep{
		Restart: "Restart wetside: stop it, and start it the way it was started.",
		Reload:  right + "restart wetside.",
		Start:   "start it; wetside run --config FILE in a terminal shows its last words",
		Port:    "let the user of wetside read and write the port",
		File:    "ask as the user of wetside",
	}
}
