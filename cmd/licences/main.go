// Command licences writes docs/licences.md: what others wrote and is part of the program or of its reports, and under
// which licence. It reads the go command's list of the program's modules, the licence files they bring, and the lock
// file of the report's assets.
//
//	go run ./cmd/licences > docs/licences.md
//
// A licence it cannot name is an error: somebody has to read it.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := list(ctx, ".", os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "licences:", err)
		os.Exit(1)
	}
}

// A part is a module or package of others.
type part struct {
	name, version string
	licences      []string
}

// list writes the document about the repository in root.
func list(ctx context.Context, root string, w io.Writer) error {
	modules, err := goModules(ctx, root)
	if err != nil {
		return err
	}
	packages, err := npmPackages(filepath.Join(root, "report", "assets", "package-lock.json"))
	if err != nil {
		return err
	}
	fmt.Fprint(w, "# What others wrote, and its licences\n\nWritten by `make licences`; do not edit. Faultgrain's own licence is in LICENSE.\n")
	for _, t := range []struct {
		title string
		parts []part
	}{
		{"In the program (Go modules, as built for Linux on amd64)", modules},
		{"In the reports (npm packages)", packages},
	} {
		fmt.Fprintf(w, "\n## %s\n\n| what | version | licence |\n|---|---|---|\n", t.title)
		for _, p := range t.parts {
			if _, err := fmt.Fprintf(w, "| %s | %s | %s |\n", p.name, p.version, strings.Join(p.licences, ", ")); err != nil {
				return err
			}
		}
	}
	return nil
}

// goModules are the modules that packages of the program come from.
func goModules(ctx context.Context, root string) ([]part, error) {
	cmd := exec.CommandContext(ctx, "go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/faultgrain")
	cmd.Dir, cmd.Env = root, append(os.Environ(), "GOOS=linux", "GOARCH=amd64", "CGO_ENABLED=1")
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w: %s", err, said.String())
	}
	lines := strings.Fields(strings.ReplaceAll(string(out), "\t", "\x00"))
	slices.Sort(lines)
	var parts []part
	for _, line := range slices.Compact(lines) {
		field := strings.Split(line, "\x00")
		if len(field) != 3 {
			return nil, fmt.Errorf("go list: %q: want a path, a version and a folder", line)
		}
		names, err := licencesIn(field[2])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", field[0], err)
		}
		parts = append(parts, part{field[0], field[1], names})
	}
	return parts, nil
}

// licencesIn names the licences in the files of a folder that are called so.
func licencesIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		name := strings.ToLower(e.Name())
		if e.IsDir() || !strings.HasPrefix(name, "licen") && !strings.HasPrefix(name, "copying") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		names = append(names, recognise(string(text))...)
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("no licence in it that is known here; read it and add its words to cmd/licences")
	}
	slices.Sort(names)
	return slices.Compact(names), nil
}

// marks are words that stand in one licence only, for those met so far, by SPDX identifier.
var marks = []struct{ id, words string }{
	{"Apache-2.0", "apache license version 2.0"},
	{"MIT", "permission is hereby granted, free of charge, to any person obtaining a copy"},
	{"ISC", "permission to use, copy, modify, and/or distribute this software for any purpose"},
	{"MPL-2.0", "mozilla public license version 2.0"},
	{"CC0-1.0", "cc0 1.0 universal"},
	{"Unlicense", "this is free and unencumbered software released into the public domain"},
	{"Zlib", "altered source versions must be plainly marked as such"},
	{"GPL", "gnu general public license"},
	{"LGPL", "gnu lesser general public license"},
}

// recognise names the licences whose words a text holds, however it is broken into lines.
func recognise(text string) []string {
	plain := strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r <= ' ' || r == '*' || r == '#' }), " ")
	plain = strings.ReplaceAll(plain, "license, version", "license version")
	var ids []string
	for _, m := range marks {
		if strings.Contains(plain, m.words) {
			ids = append(ids, m.id)
		}
	}
	if strings.Contains(plain, "redistribution and use in source and binary forms") {
		id := "BSD-2-Clause"
		if strings.Contains(plain, "endorse or promote products derived") {
			id = "BSD-3-Clause"
		}
		ids = append(ids, id)
	}
	return ids
}

// npmPackages are the packages of a lock file that are not for development alone.
func npmPackages(lock string) ([]part, error) {
	text, err := os.ReadFile(lock)
	if err != nil {
		return nil, err
	}
	var file struct {
		Packages map[string]struct {
			Version, License string
			Dev              bool
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return nil, fmt.Errorf("%s: %w", lock, err)
	}
	var parts []part
	for where, p := range file.Packages {
		if where == "" || p.Dev {
			continue
		}
		name := path.Base(where)
		if p.License == "" {
			return nil, fmt.Errorf("%s: %s names no licence", lock, name)
		}
		parts = append(parts, part{name, p.Version, []string{p.License}})
	}
	slices.SortFunc(parts, func(a, b part) int { return strings.Compare(a.name, b.name) })
	return parts, nil
}
