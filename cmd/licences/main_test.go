package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestTheListIsCurrent(t *testing.T) {
	root := filepath.Join("..", "..")
	var now bytes.Buffer
	if err := list(t.Context(), root, &now); err != nil {
		t.Fatal(err)
	}
	written, err := os.ReadFile(filepath.Join(root, "docs", "licences.md"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(now.Bytes(), written) {
		t.Error("docs/licences.md is not what the program is made of; run make licences and read the difference")
	}
}

func TestRecognise(t *testing.T) {
	for text, want := range map[string][]string{
		"Apache License\n   Version 2.0, January 2004":                                                      {"Apache-2.0"},
		"under the Apache License, Version 2.0":                                                             {"Apache-2.0"},
		"Permission is hereby granted, free of charge, to\nany person obtaining a copy":                     {"MIT"},
		"* Redistribution and use in source and\n * binary forms, with or without":                          {"BSD-2-Clause"},
		"Redistribution and use in source and binary forms ... to endorse or promote products derived from": {"BSD-3-Clause"},
		"This program is free software under the GNU General Public\nLicense":                               {"GPL"},
		"all rights reserved; ask us first":                                                                 nil,
	} {
		if got := recognise(text); !slices.Equal(got, want) {
			t.Errorf("%q: got %v, want %v", text, got, want)
		}
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "LICENSE"), []byte("ask us first"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, err := licencesIn(dir); err == nil {
		t.Errorf("a licence that is not known: got %v, want an error", got)
	}
}
