package logfile

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// Options override what Open would detect. The zero value detects everything.
type Options struct {
	Encoding   string // utf-8, utf-16le, utf-16be, windows-1252 or iso-8859-15; empty detects
	Delimiter  string // one of , ; | or a tab (also written \t or tab); empty detects
	Sheet      string // sheet of a workbook; empty reads all sheets
	ChunkBytes int    // target size of a chunk; 0 means 128 KiB
}

// File is an opened log: what it is and where its rows start. It holds no file handle; every pass
// over it opens the file anew.
type File struct {
	Name      string   // base name, for messages and summaries
	Path      string   // as given
	Size      int64    // bytes on disk
	Format    string   // csv, json, jsonl, xlsx or parquet
	Packing   string   // gzip, zstd, or empty
	Encoding  string   // utf-8, utf-16le, ...
	Delimiter string   // "," ";" "\t" "|"; empty where the format has none
	Backslash bool     // in quoted cells quotes are escaped by backslashes, not doubled
	Header    []string // names of the columns, trimmed
	Line      int64    // line of the header, from 1
	Skipped   []string // columns that hold lists: not read
	Sheets    []string // of a workbook, those that are this log
	Further   []*File  // the workbook's sheets under other headers, a File for each header; the others of Open have none

	further    bool // one of Further
	chunkBytes int
	dialect    dialect                                               // csv only
	start      func(ctx context.Context) (records, io.Closer, error) // opens the file for a pass
}

// defaultChunkBytes lets a chunk and the places of its cells stay in a processor's own cache while they are read.
const defaultChunkBytes = 1 << 17

// formatCSV is text with delimiters; its chunks are split into cells by the workers, all others come split.
const formatCSV = "csv"

// Open looks at the start of a file and settles packing, encoding, delimiter and header row.
//
// A missing file, a folder, an empty file, a file with nothing below its header and a file that is
// not text are errors that name the file and say what to do.
func Open(ctx context.Context, path string, opt Options) (*File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, explain(path, err)
	}
	if info.IsDir() {
		return nil, fmt.Errorf("%s: is a folder, want a file; name the files in it, such as %s", path, filepath.Join(path, "*.csv"))
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: is no regular file; save the export to disk first", path)
	}
	if info.Size() == 0 {
		return nil, fmt.Errorf("%s: the file is empty; export it again", path)
	}
	f := &File{Name: filepath.Base(path), Path: path, Size: info.Size(), chunkBytes: opt.ChunkBytes}
	if f.chunkBytes <= 0 {
		f.chunkBytes = defaultChunkBytes
	}
	if err := f.sniffPacking(); err != nil {
		return nil, err
	}
	if err := f.openFormat(ctx, opt); err != nil {
		return nil, err
	}
	return f, nil
}

// explain turns an operating system's refusal into a sentence with something to do.
func explain(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: no such file; check the name and the folder", path)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: not allowed to read it; check the file's permissions", path)
	case errors.Is(err, syscall.ELOOP):
		return fmt.Errorf("%s: a loop of symbolic links; name the file itself", path)
	}
	return fmt.Errorf("%s: %w", path, err)
}

// Hash returns the SHA-256 of the file's bytes on disk, in hex; for one of Further that of the bytes and its first sheet's name.
func (f *File) Hash(ctx context.Context) (string, error) {
	in, err := os.Open(f.Path)
	if err != nil {
		return "", explain(f.Path, err)
	}
	defer in.Close()
	h := sha256.New()
	if _, err := io.CopyBuffer(h, struct{ io.Reader }{&ctxReader{ctx, in}}, make([]byte, min(1<<20, f.Size+1))); err != nil {
		return "", fmt.Errorf("%s: %w", f.Path, err)
	}
	if f.further {
		_, _ = io.WriteString(h, "\x00"+f.Sheets[0])
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// ctxReader stops a long read soon after its context is cancelled.
type ctxReader struct {
	ctx context.Context
	r   io.Reader
}

func (c *ctxReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}

// openFormat tells the format by the first bytes, never by the file's name.
func (f *File) openFormat(ctx context.Context, opt Options) error {
	raw, err := f.unpacked(ctx)
	if err != nil {
		return err
	}
	room := f.room(sampleBytes)
	sample, err := bufio.NewReaderSize(raw, room).Peek(room)
	whole := errors.Is(err, io.EOF)
	raw.Close()
	if err != nil && !whole {
		return f.failed(err)
	}
	switch {
	case isWorkbook(sample):
		return f.openXLSX(ctx, opt)
	case isParquet(sample):
		return f.openParquet(ctx)
	case bytes.HasPrefix(sample, cfbMagic):
		return fmt.Errorf("%s: an old or locked workbook; save it as .xlsx without a password, or as CSV", f.Path)
	}
	return f.openText(ctx, sample, whole, opt)
}

// openText settles the encoding, and what kind of text it is.
func (f *File) openText(ctx context.Context, sample []byte, whole bool, opt Options) (err error) {
	if f.Encoding, err = sniffEncoding(sample, whole, opt.Encoding); err != nil {
		return fmt.Errorf("%s: %w", f.Path, err)
	}
	text, err := decodeSample(f.Encoding, sample)
	if err != nil {
		return fmt.Errorf("%s: %w", f.Path, err)
	}
	if opt.Delimiter == "" && looksLikeJSON(text) {
		return f.openJSON(ctx)
	}
	return f.openCSV(text, whole, opt)
}

// text opens the file's text for reading as UTF-8.
func (f *File) text(ctx context.Context) (io.ReadCloser, error) {
	raw, err := f.unpacked(ctx)
	if err != nil {
		return nil, err
	}
	text, err := decoded(f.Encoding, raw)
	if err != nil {
		raw.Close()
		return nil, f.failed(err)
	}
	return &stream{Reader: text, close: raw.Close}, nil
}

// openCSV settles the dialect and the header.
func (f *File) openCSV(text []byte, whole bool, opt Options) (err error) {
	if f.dialect, f.Header, err = sniffDialect(text, whole, opt.Delimiter); err != nil {
		return fmt.Errorf("%s: %w", f.Path, err)
	}
	f.Format, f.Delimiter, f.Line = formatCSV, string(f.dialect.delim), f.dialect.headerLine
	f.Backslash = f.dialect.backslash
	f.start = func(ctx context.Context) (records, io.Closer, error) {
		text, err := f.text(ctx)
		if err != nil {
			return nil, nil, err
		}
		if _, err := io.CopyN(io.Discard, text, int64(f.dialect.dataStart)); err != nil {
			text.Close()
			return nil, nil, f.failed(err)
		}
		return &cutter{src: text, d: &f.dialect, size: f.room(f.chunkBytes), line: f.dialect.dataLine}, text, nil
	}
	return nil
}

// room is most bytes, or as many as show the end of a smaller file: a run over thousands of small
// logs needs no megabytes for each.
func (f *File) room(most int) int {
	if f.Packing == "" && f.Size < int64(most) {
		return int(f.Size) + 1
	}
	return most
}
