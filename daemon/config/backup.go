package config

import "time"

// Backup says where the running program copies its history to; the zero Backup copies nothing.
type Backup struct {
	Folder string
	Every  time.Duration
	// Keep is how many copies stay; older ones are removed.
	Keep int
}

func readBackup(root section) Backup {
	s, given := root.table("backup")
	if !given {
		return Backup{}
	}
	defer s.close()
	return Backup{Folder: s.text("folder", true), Every: s.duration("every", 24*time.Hour, time.Hour, 31*24*time.Hour),
		Keep: s.whole("keep", 14, 1, 1000)}
}
