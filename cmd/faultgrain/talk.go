package main

import (
	"encoding/json"
	"io"
	"log/slog"

	"github.com/spf13/pflag"
)

// talk is how a verb speaks.
type talk struct{ json, quiet bool }

func (t *talk) add(f *pflag.FlagSet) {
	f.BoolVar(&t.json, "json", false, "give the summary as JSON")
	f.BoolVar(&t.quiet, "quiet", false, "no progress")
}

func logger(w io.Writer, quiet bool) *slog.Logger {
	level := slog.LevelInfo
	if quiet {
		level = slog.LevelWarn
	}
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: level, ReplaceAttr: func(_ []string, a slog.Attr) slog.Attr {
		if a.Key == slog.TimeKey {
			return slog.Attr{}
		}
		return a
	}}))
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
