package main

import (
	"strings"
	"testing"
	"time"
)

func TestPlainProgress(t *testing.T) {
	var out strings.Builder
	p := newProgress(&out, false)
	p.at(step{stage: "read log.csv", done: 10, total: 100, rows: 1})
	p.at(step{stage: "read log.csv", done: 20, total: 100, rows: 2})
	p.began, p.spoken = p.began.Add(-20*time.Second), p.spoken.Add(-20*time.Second)
	p.at(step{stage: "read log.csv", done: 40, total: 100, rows: 1200})
	p.at(step{stage: "work out", detail: "pairs", done: 1, total: 3})
	p.close()
	want := "read log.csv\nread log.csv, 1200 rows, 40%, about 30s left\nwork out\n"
	if got := out.String(); got != want {
		t.Errorf("progress is\n%s\nwant\n%s", got, want)
	}
}

func TestQuietProgressSaysNothing(t *testing.T) {
	var out strings.Builder
	p := newProgress(&out, true)
	p.at(step{stage: "read log.csv", done: 10, total: 100})
	p.close()
	if out.Len() > 0 {
		t.Errorf("quiet progress says %q", out.String())
	}
}
