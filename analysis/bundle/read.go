package bundle

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"
)

// What a stranger's bundle may hold at most.
const (
	maxFile   = 64 << 20 // bytes of the zip file
	maxEntry  = 32 << 20 // bytes of one file in it, unpacked
	maxCount  = 100_000_000
	maxText   = 200 // bytes of a name
	maxRemark = 2000
)

// ErrRefused: the file is no bundle that can be trusted to be whole; the message says why.
var ErrRefused = errors.New("refused")

// Open reads a bundle from a file; see Read.
func Open(ctx context.Context, path string) (*Bundle, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the bundle: %w", err)
	}
	defer f.Close()
	name := filepath.Base(path)
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("read the bundle: %w", err)
	}
	return Read(ctx, name, data)
}

// Read takes a bundle apart. Whatever does not add up is ErrRefused with the reason: a truncated file, another version, files
// that don't belong, sizes beyond all reason, wrong types, counts below 0, below the bundle's own threshold or above their visits,
// spans that overlap or don't fit together. Nothing is written anywhere.
func Read(ctx context.Context, name string, data []byte) (*Bundle, error) {
	b, err := read(ctx, data)
	switch {
	case err == nil:
		return b, nil
	case ctx.Err() != nil:
		return nil, ctx.Err()
	}
	return nil, fmt.Errorf("%s: %w: %w", name, ErrRefused, err)
}

func read(ctx context.Context, data []byte) (*Bundle, error) {
	if len(data) > maxFile {
		return nil, fmt.Errorf("larger than %d MiB", maxFile>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, fmt.Errorf("no whole zip file (%w); ask for it again", err)
	}
	entries, err := unpack(z)
	if err != nil {
		return nil, err
	}
	b := &Bundle{}
	if err := b.Manifest.decode(entries[manifestName]); err != nil {
		return nil, err
	}
	if b.Visits, err = readTable(ctx, visitsTable(), entries); err != nil {
		return nil, err
	}
	if b.Faults, err = readTable(ctx, faultsTable(), entries); err != nil {
		return nil, err
	}
	if b.Pairs, err = readTable(ctx, pairsTable(), entries); err != nil {
		return nil, err
	}
	if b.Parts, err = readTable(ctx, partsTable(), entries); err != nil {
		return nil, err
	}
	return b, b.check()
}

func readTable[R any](ctx context.Context, t tableOf[R], entries map[string][]byte) ([]R, error) {
	rows, err := t.read(ctx, entries[t.name])
	if err != nil {
		return nil, fmt.Errorf("%s: %w", t.name, err)
	}
	return rows, nil
}

// unpack reads the files that make a bundle and refuses any other.
func unpack(z *zip.Reader) (map[string][]byte, error) {
	entries := map[string][]byte{manifestName: nil, pageName: nil, visitsTable().name: nil, faultsTable().name: nil, pairsTable().name: nil, partsTable().name: nil}
	for _, f := range z.File {
		have, belongs := entries[f.Name]
		switch {
		case !belongs:
			return nil, fmt.Errorf("holds a file %q that is no part of a bundle", clip(f.Name))
		case have != nil:
			return nil, fmt.Errorf("holds %s twice", f.Name)
		case f.UncompressedSize64 > maxEntry:
			return nil, fmt.Errorf("%s would unpack to %d bytes, want at most %d", f.Name, f.UncompressedSize64, maxEntry)
		case f.Name == pageName:
			entries[f.Name] = []byte{} // for people; never read
			continue
		}
		r, err := f.Open()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		data, err := io.ReadAll(io.LimitReader(r, maxEntry+1)) // what the header says may be a lie
		if err := errors.Join(err, r.Close()); err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		if len(data) > maxEntry {
			return nil, fmt.Errorf("%s unpacks to more than %d bytes", f.Name, maxEntry)
		}
		entries[f.Name] = data
	}
	for _, name := range []string{manifestName, visitsTable().name, faultsTable().name, pairsTable().name, partsTable().name} {
		if len(entries[name]) == 0 {
			return nil, fmt.Errorf("holds no %s", name)
		}
	}
	return entries, nil
}

func (m *Manifest) decode(data []byte) error {
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return fmt.Errorf("%s: %w", manifestName, err)
	}
	if head.Format != format {
		return fmt.Errorf("%s: found format %q, want %q", manifestName, clip(head.Format), format)
	}
	if head.Version != version {
		return fmt.Errorf("%s: version %d, this faultgrain reads version %d; make it again with the same release", manifestName, head.Version, version)
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(m); err != nil {
		return fmt.Errorf("%s: %w", manifestName, err)
	}
	if mark, err := hex.DecodeString(m.Shop); err != nil || len(mark) != 16 {
		return fmt.Errorf("%s: no mark of a shop", manifestName)
	}
	if m.Threshold < LeastThreshold || m.Threshold > maxCount {
		return fmt.Errorf("%s: threshold %d, want %d or more", manifestName, m.Threshold, LeastThreshold)
	}
	if err := checkText(m.Name); err != nil {
		return fmt.Errorf("%s: name: %w", manifestName, err)
	}
	for i, n := range m.Notes {
		if err := errors.Join(checkText(n.Model), checkText(n.Family), checkText(n.Component), checkRemark(n.Text)); err != nil {
			return fmt.Errorf("%s: note %d: %w", manifestName, i+1, err)
		}
	}
	from, err := ParseMonth(m.From)
	if err != nil {
		return fmt.Errorf("%s: %w", manifestName, err)
	}
	to, err := ParseMonth(m.To)
	if err != nil || to < from {
		return fmt.Errorf("%s: period %s to %s, want months in order", manifestName, clip(m.From), clip(m.To))
	}
	return nil
}

// checkText refuses what is no name.
func checkText(s string) error { return checkLength(s, maxText) }

// checkRemark refuses what is no short remark on one line.
func checkRemark(s string) error { return checkLength(s, maxRemark) }

func checkLength(s string, most int) error {
	if len(s) > most {
		return fmt.Errorf("a text of %d bytes, want at most %d", len(s), most)
	}
	if !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return fmt.Errorf("the text %q is no name", s)
	}
	return nil
}

// clip shortens a stranger's text for a message.
func clip(s string) string {
	if len(s) > 60 {
		return strings.ToValidUTF8(s[:60], "") + "..."
	}
	return s
}
