package main

import (
	"os"
	"strconv"
	"testing"
)

// tortureEnv is how many times as much the tests of stopping do as they do by default; make torture sets it.
const tortureEnv = "FAULTGRAIN_TORTURE"

// torture is how many times the usual number of cases to do.
func torture(t *testing.T) int {
	t.Helper()
	text := os.Getenv(tortureEnv)
	if text == "" {
		return 1
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("%s is %q, want a number from 1 on", tortureEnv, text)
	}
	return n
}

// moments is how often to stop a run.
func moments(t *testing.T) int {
	t.Helper()
	if testing.Short() {
		return 2
	}
	return 6 * torture(t)
}
