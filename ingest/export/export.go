// Package export writes the current visits, faults and parts of a history, and the rows in quarantine, as files that
// other programs open.
//
// In: a history folder. Out: visits, faults, parts as CSV, Parquet or Arrow IPC files with the schemas of package
// schemas, and quarantine.csv. Keys are written as they are stored, keyed hashes; there is nothing else to write.
//
// It refuses to leave half a file under its final name.
package export

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"

	"github.com/apache/arrow-go/v18/arrow"

	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// Formats that Write knows.
const (
	CSV     = "csv"
	Parquet = "parquet"
	Arrow   = "arrow"
)

// A File is one file written.
type File struct {
	Path string `json:"path"`
	Rows int64  `json:"rows"`
}

// A sink takes the batches of one table. Close ends the file's content; it does not close the writer beneath.
type sink struct {
	write func(arrow.RecordBatch) error
	close func() error
}

// Write writes the tables of the history in dir to out, which is made when missing, in one of the Formats.
func Write(ctx context.Context, dir, out, format string) ([]File, error) {
	open := map[string]func(io.Writer, *arrow.Schema) (sink, error){CSV: csvSink, Parquet: parquetSink, Arrow: arrowSink}[format]
	if open == nil {
		return nil, fmt.Errorf("found format %q, want %s, %s or %s", format, CSV, Parquet, Arrow)
	}
	h, err := history.Open(dir)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return nil, err
	}
	var files []File
	for _, t := range []struct {
		name   string
		schema *arrow.Schema
	}{{history.VisitsTable, schemas.Visits()}, {history.FaultsTable, schemas.Faults()}, {history.PartsTable, schemas.Parts()}} {
		f := File{Path: filepath.Join(out, t.name+"."+format)}
		err := aside(f.Path, func(w io.Writer) error {
			s, err := open(w, t.schema)
			if err != nil {
				return err
			}
			err = h.Current(ctx, t.name, func(b arrow.RecordBatch) error {
				f.Rows += b.NumRows()
				return s.write(b)
			})
			return errors.Join(err, s.close())
		})
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	refused, err := writeQuarantine(ctx, h, filepath.Join(out, "quarantine.csv"))
	if err != nil {
		return nil, err
	}
	return append(files, refused), nil
}

func writeQuarantine(ctx context.Context, h *history.History, path string) (File, error) {
	f := File{Path: path}
	return f, aside(path, func(w io.Writer) error {
		out := csvLines(w)
		if err := out.Write([]string{"file", "line", "column", "reason", "found", "want", "raw"}); err != nil {
			return err
		}
		err := h.Refusals(ctx, func(q *history.Refusal) error {
			f.Rows++
			line := []string{q.File, "", q.Column, q.Reason, q.Found, q.Want, q.Raw}
			for i, cell := range line {
				line[i] = schemas.Disarm(cell)
			}
			line[1] = strconv.FormatInt(q.Line, 10)
			return out.Write(line)
		})
		out.Flush()
		return errors.Join(err, out.Error())
	})
}

// aside writes a file under a temporary name and renames it when it is whole.
func aside(path string, fill func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.tmp")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if err := errors.Join(fill(f), f.Chmod(0o644), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
