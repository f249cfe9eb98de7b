package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wetside/daemon"
	"wetside/daemon/config"
)

// foldersPlace is what the unit may write to beyond its own folders, as the configuration
// asks for.
const foldersPlace = "/etc/systemd/system/wetside.service.d/folders.conf"

// folders lets the unit write to the folders that the configuration names. An installation
// without a configuration, or with one that needs nothing more, has no such file.
func (p placing) folders() error {
	site, err := config.Load(p.at(configFolder + "/site.toml"))
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return writeLine(p.out, fmt.Sprintf("The configuration can't be used, so no folder was added to the service; correct it and install "+
			"again: %v", err))
	}
	beyond, err := beyondUnit(site)
	if err != nil {
		return err
	}
	if len(beyond) == 0 {
		return p.remove(foldersPlace)
	}
	text := "# Written by wetside install from the configuration.\n[Service]\n"
	for _, folder := range beyond {
		text += "ReadWritePaths=-" + folder + "\n"
	}
	return p.write(foldersPlace, []byte(text), 0o644)
}

// beyondUnit are the folders that a site writes to and the unit alone does not allow. The
// configuration belongs to the program's own user and the unit to root: nothing but a
// plain folder may get from one into the other.
func beyondUnit(site config.Config) (list []string, err error) {
	for _, folder := range []string{site.Backup.Folder} {
		if folder == "" || isWithin(folder, dataFolder) || isWithin(folder, configFolder) {
			continue
		}
		plain := func(r rune) bool {
			return r == '/' || r == '-' || r == '_' || r == '.' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z'
		}
		odd := strings.ContainsFunc(folder, func(r rune) bool { return !plain(r) })
		if odd || folder != filepath.Clean(folder) || !filepath.IsAbs(folder) || strings.Count(folder, "/") < 2 {
			return nil, fmt.Errorf("the folder of the backups, %q, can't be allowed to the service: expected one such as /media/disk/wetside, "+
				"of letters, digits, hyphens and dots", folder)
		}
		list = append(list, folder)
	}
	return list, nil
}

func isWithin(folder, above string) bool {
	return folder == above || strings.HasPrefix(folder, above+"/")
}

// checkService says whether the installed service may write where the configuration wants
// to: what this user may do says nothing of it. It is empty where there is no such service.
func checkService(root, configuration string) []daemon.SelfCheck {
	place := placing{root: root}
	installed := there(place.at(ownPlaces().unit)) || there(place.at(packagePlaces().unit))
	if !installed || filepath.Clean(configuration) != place.at(configFolder+"/site.toml") {
		return nil
	}
	site, err := config.Load(configuration)
	if err != nil {
		return nil // another check says so
	}
	c := daemon.SelfCheck{What: "service", Good: true, Detail: "it may write to the folders of the configuration"}
	beyond, err := beyondUnit(site)
	allowed, _ := os.ReadFile(place.at(foldersPlace))
	lines := strings.Split(string(allowed), "\n")
	for _, folder := range beyond {
		if !slices.Contains(lines, "ReadWritePaths=-"+folder) {
			err = errors.Join(err, fmt.Errorf("it may not write to %s", folder))
		}
	}
	if err != nil {
		c.Good, c.Detail, c.Do = false, err.Error(), "run sudo wetside install: it allows the folders that the configuration names"
	}
	return []daemon.SelfCheck{c}
}
