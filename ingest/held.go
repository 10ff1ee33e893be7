package ingest

import (
	"bufio"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
)

// held keeps records that must wait for others of the same key: lines of tickets whose rows are
// scattered, and refused rows, which are compared with each other. Records lie in partitions by
// key, in memory up to a limit and then in files of the transaction's temporary folder.
type held struct {
	dir   string
	name  string // of its files
	parts [heldParts]heldPart

	mu    sync.Mutex
	used  int64 // bytes in memory
	limit int64
	least int // a partition smaller than this is not worth a write
}

const (
	heldParts  = 64
	heldLimit  = 192 << 20 // bytes held in memory before the first spill
	heldHeader = 8 + 4 + 8 + 4
)

type heldPart struct {
	mu   sync.Mutex
	buf  []byte
	file *os.File
}

func newHeld(dir, name string, limit int64) *held {
	if limit <= 0 {
		limit = heldLimit
	}
	return &held{dir: dir, name: name, limit: limit, least: int(min(64<<10, limit/4))}
}

// add keeps a record under its key. file and line say where it stood and order the records of one key.
func (h *held) add(key uint64, file int32, line int64, record []byte) error {
	p := &h.parts[key>>58]
	p.mu.Lock()
	defer p.mu.Unlock()
	before := cap(p.buf)
	p.buf = binary.LittleEndian.AppendUint64(p.buf, key)
	p.buf = binary.LittleEndian.AppendUint32(p.buf, uint32(file))
	p.buf = binary.LittleEndian.AppendUint64(p.buf, uint64(line))
	p.buf = binary.LittleEndian.AppendUint32(p.buf, uint32(len(record)))
	p.buf = append(p.buf, record...)
	if !h.grow(int64(cap(p.buf)-before)) || len(p.buf) < h.least {
		return nil
	}
	return h.write(int(key>>58), p)
}

// grow counts memory and says whether it is above the limit.
func (h *held) grow(by int64) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.used += by
	return h.used > h.limit
}

// write moves a partition's memory to its file.
func (h *held) write(n int, p *heldPart) error {
	if p.file == nil {
		f, err := os.OpenFile(filepath.Join(h.dir, fmt.Sprintf("%s-%02d", h.name, n)), os.O_CREATE|os.O_RDWR|os.O_EXCL, 0o600)
		if err != nil {
			return fmt.Errorf("hold rows back: %w", err)
		}
		p.file = f
	}
	if _, err := p.file.Write(p.buf); err != nil {
		return fmt.Errorf("hold rows back: %w; is the disk full?", err)
	}
	h.mu.Lock()
	h.used -= int64(cap(p.buf))
	h.mu.Unlock()
	p.buf = nil
	return nil
}

// heldRecord is one record of a partition.
type heldRecord struct {
	key  uint64
	line int64
	file int32
	body []byte
}

// take returns the records of a partition ordered by key, file and line, and forgets them.
func (h *held) take(n int) ([]heldRecord, error) {
	p := &h.parts[n]
	data, err := p.read()
	if err != nil {
		return nil, fmt.Errorf("read back held rows: %w", err)
	}
	h.grow(-int64(cap(p.buf)))
	p.buf = nil
	count := 0
	for rest := data; len(rest) > 0; count++ {
		rest = rest[heldHeader+int(binary.LittleEndian.Uint32(rest[20:])):]
	}
	out := make([]heldRecord, 0, count)
	for rest := data; len(rest) > 0; {
		size := int(binary.LittleEndian.Uint32(rest[20:]))
		out = append(out, heldRecord{
			key:  binary.LittleEndian.Uint64(rest),
			file: int32(binary.LittleEndian.Uint32(rest[8:])),
			line: int64(binary.LittleEndian.Uint64(rest[12:])),
			body: rest[heldHeader : heldHeader+size : heldHeader+size],
		})
		rest = rest[heldHeader+size:]
	}
	slices.SortFunc(out, func(a, b heldRecord) int {
		return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.file, b.file), cmp.Compare(a.line, b.line))
	})
	return out, nil
}

// read returns a partition's bytes, those of its file first.
func (p *heldPart) read() ([]byte, error) {
	if p.file == nil {
		return p.buf, nil
	}
	defer func() { p.file = nil }()
	size, err := p.file.Seek(0, io.SeekCurrent)
	if err == nil {
		_, err = p.file.Seek(0, io.SeekStart)
	}
	data := make([]byte, size+int64(len(p.buf)))
	if err == nil {
		_, err = io.ReadFull(bufio.NewReaderSize(p.file, 1<<20), data[:size])
	}
	copy(data[size:], p.buf)
	return data, errors.Join(err, p.close())
}

func (p *heldPart) close() error {
	if p.file == nil {
		return nil
	}
	return errors.Join(p.file.Close(), os.Remove(p.file.Name()))
}

// any says whether records are held.
func (h *held) any() bool {
	for n := range h.parts {
		if len(h.parts[n].buf) > 0 || h.parts[n].file != nil {
			return true
		}
	}
	return false
}

// close drops what is left and its files.
func (h *held) close() {
	for n := range h.parts {
		_ = h.parts[n].close() // the folder goes with the transaction
		h.parts[n] = heldPart{}
	}
}
