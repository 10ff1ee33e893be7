package history

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/bits"
	"os"
	"path/filepath"
	"slices"
	"sync"
)

// An index file answers "which visit is this ticket's current version?" without reading the visits. It holds entries
// sorted by ticket hash and, behind them, a fan-out table: for each value of the hash's first bits the first entry at or
// above it, so that a look-up reads one small stretch of the file. All numbers are little-endian.
//
//	"fgindex2"  bits uint64  16 unused bytes                    header, 32 bytes
//	hash uint64  digest uint64  raw uint64  visit int64  faults uint32  parts uint32      per entry, 40 bytes
//	uint32 x (2^bits + 1)                                       fan-out
//
// It is derived from the tables but for digest and raw; a lost index, or one in an older form, is rebuilt with 0 for both,
// "unknown", which makes the next export of each ticket be written once more.
type entry struct {
	hash, digest, raw uint64
	visit             int64
	faults, parts     uint32
}

const (
	indexMagic  = "fgindex2"
	indexHeader = 32
	entrySize   = 40
	bucketSize  = 128 // entries per fan-out bucket, on average at most
	// maxIndexInMemory bounds the bytes of all index files that are held in memory; larger ones are read in place.
	maxIndexInMemory = 512 << 20
)

func (e *entry) put(b []byte) {
	binary.LittleEndian.PutUint64(b, e.hash)
	binary.LittleEndian.PutUint64(b[8:], e.digest)
	binary.LittleEndian.PutUint64(b[16:], e.raw)
	binary.LittleEndian.PutUint64(b[24:], uint64(e.visit))
	binary.LittleEndian.PutUint32(b[32:], e.faults)
	binary.LittleEndian.PutUint32(b[36:], e.parts)
}

func (e *entry) get(b []byte) {
	e.hash = binary.LittleEndian.Uint64(b)
	e.digest = binary.LittleEndian.Uint64(b[8:])
	e.raw = binary.LittleEndian.Uint64(b[16:])
	e.visit = int64(binary.LittleEndian.Uint64(b[24:]))
	e.faults = binary.LittleEndian.Uint32(b[32:])
	e.parts = binary.LittleEndian.Uint32(b[36:])
}

func fanBits(n int64) uint {
	if n <= bucketSize {
		return 0
	}
	return uint(bits.Len64(uint64(n/bucketSize)) - 1)
}

// sortEntries orders by hash, then visit. Hashes are spread evenly, so that one pass over their first bits leaves little to do.
func sortEntries(es []entry) []entry {
	width := fanBits(int64(len(es))*bucketSize/16) + 1
	starts := make([]int32, 1<<width+1)
	for i := range es {
		starts[bucket(es[i].hash, width)+1]++
	}
	for i := 1; i < len(starts); i++ {
		starts[i] += starts[i-1]
	}
	out := make([]entry, len(es))
	next := slices.Clone(starts)
	for i := range es {
		b := bucket(es[i].hash, width)
		out[next[b]] = es[i]
		next[b]++
	}
	for b := range starts[1:] {
		slices.SortFunc(out[starts[b]:starts[b+1]], func(a, b entry) int {
			if c := cmp.Compare(a.hash, b.hash); c != 0 {
				return c
			}
			return cmp.Compare(a.visit, b.visit)
		})
	}
	return out
}

// writeRun writes sorted entries to a file of their own, to be merged at commit. It need not reach the disk.
func writeRun(path string, es []entry, wrap func(io.Writer) io.Writer) error {
	out, err := create(path, wrap)
	if err != nil {
		return err
	}
	var b [entrySize]byte
	for i := range es {
		es[i].put(b[:])
		if _, err = out.Write(b[:]); err != nil {
			break
		}
	}
	return errors.Join(err, out.flush(), out.f.Close())
}

// A run reads sorted entries one after the other.
type run struct {
	r   *bufio.Reader
	c   io.Closer
	cur entry
	n   int64 // entries, cur included, not yet consumed
	age int   // runs later in the list are newer and win over equal hashes
}

// openRun reads n entries from offset.
func openRun(path string, offset, n int64, age int) (*run, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	r := &run{r: bufio.NewReaderSize(io.NewSectionReader(f, offset, n*entrySize), 1<<16), c: f, n: n, age: age}
	if n > 0 {
		if err := r.read(); err != nil {
			_ = f.Close()
			return nil, err
		}
	}
	return r, nil
}

func (r *run) read() error {
	b, err := r.r.Peek(entrySize)
	if err != nil {
		return fmt.Errorf("index is shorter than it says: %w", err)
	}
	r.cur.get(b)
	_, err = r.r.Discard(entrySize)
	return err
}

func (r *run) advance() error {
	if r.n--; r.n == 0 {
		return nil
	}
	return r.read()
}

// mergeRuns calls emit for every entry in order of hash; of equal hashes only the newest.
func mergeRuns(runs []*run, emit func(*entry) error) error {
	heap := slices.DeleteFunc(slices.Clone(runs), func(r *run) bool { return r.n == 0 })
	before := func(a, b *run) bool {
		return a.cur.hash < b.cur.hash || a.cur.hash == b.cur.hash && a.age < b.age
	}
	down := func(i int) {
		for {
			l := 2*i + 1
			if l >= len(heap) {
				return
			}
			if l+1 < len(heap) && before(heap[l+1], heap[l]) {
				l++
			}
			if !before(heap[l], heap[i]) {
				return
			}
			heap[i], heap[l] = heap[l], heap[i]
			i = l
		}
	}
	for i := len(heap)/2 - 1; i >= 0; i-- {
		down(i)
	}
	var held entry
	holding := false
	for len(heap) > 0 {
		top := heap[0]
		if holding && held.hash != top.cur.hash {
			if err := emit(&held); err != nil {
				return err
			}
		}
		held, holding = top.cur, true
		if err := top.advance(); err != nil {
			return err
		}
		if top.n == 0 {
			heap[0] = heap[len(heap)-1]
			heap = heap[:len(heap)-1]
		}
		down(0)
	}
	if holding {
		return emit(&held)
	}
	return nil
}

// writeIndex merges runs into an index file. It is on the disk once settle is through with it.
func writeIndex(path string, runs []*run, wrap func(io.Writer) io.Writer, settle func(*output)) (IndexRecord, error) {
	out, err := create(path, wrap)
	if err != nil {
		return IndexRecord{}, err
	}
	var most int64
	for _, r := range runs {
		most += r.n
	}
	n, err := writeIndexTo(out, runs, fanBits(most))
	if err == nil {
		err = out.flush()
	}
	if err != nil {
		return IndexRecord{}, errors.Join(err, out.f.Close())
	}
	settle(out)
	return IndexRecord{Name: filepath.Base(path), SHA256: out.hash(), Rows: n, Bytes: out.size}, nil
}

func writeIndexTo(out *output, runs []*run, width uint) (int64, error) {
	fan := make([]uint32, 1<<width+1)
	var b [entrySize]byte
	copy(b[:], indexMagic)
	binary.LittleEndian.PutUint64(b[8:], uint64(width))
	if _, err := out.Write(b[:indexHeader]); err != nil {
		return 0, err
	}
	var n int64
	err := mergeRuns(runs, func(e *entry) error {
		fan[bucket(e.hash, width)+1]++
		n++
		e.put(b[:])
		_, err := out.Write(b[:])
		return err
	})
	if err != nil {
		return n, err
	}
	for i := 1; i < len(fan); i++ {
		fan[i] += fan[i-1]
	}
	return n, binary.Write(out, binary.LittleEndian, fan)
}

func bucket(hash uint64, width uint) uint64 {
	if width == 0 {
		return 0
	}
	return hash >> (64 - width)
}

// An index is an open index file. It is safe for concurrent use.
type index struct {
	path    string
	n       int64
	width   uint
	fan     []uint32
	entries []byte // nil when the file is read in place
	f       *os.File
	room    sync.Pool // of *[]byte, for reading in place
}

// openIndex reads the file whole when inMemory, and then checks its hash, else only its fan-out.
func openIndex(path string, rec IndexRecord, inMemory bool) (*index, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	x, err := readIndex(f, rec, inMemory)
	if err != nil {
		_ = f.Close()
		return nil, fmt.Errorf("index %s: %w", path, err)
	}
	x.path = path
	if inMemory {
		return x, f.Close()
	}
	x.f = f
	return x, nil
}

var errIndexForm = errors.New("not an index, or cut short")

func readIndex(f *os.File, rec IndexRecord, inMemory bool) (*index, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	var head [indexHeader]byte
	if _, err := f.ReadAt(head[:], 0); err != nil || !bytes.HasPrefix(head[:], []byte(indexMagic)) {
		return nil, errIndexForm
	}
	width := binary.LittleEndian.Uint64(head[8:])
	if width > 32 || info.Size() != rec.Bytes || rec.Bytes != indexHeader+rec.Rows*entrySize+4*(1<<width+1) {
		return nil, errIndexForm
	}
	x := &index{n: rec.Rows, width: uint(width), fan: make([]uint32, 1<<width+1)}
	tail := io.NewSectionReader(f, indexHeader+x.n*entrySize, 4*int64(len(x.fan)))
	if err := binary.Read(tail, binary.LittleEndian, x.fan); err != nil {
		return nil, err
	}
	if !slices.IsSorted(x.fan) || int64(x.fan[len(x.fan)-1]) != x.n {
		return nil, errIndexForm
	}
	if !inMemory {
		return x, nil
	}
	whole := make([]byte, rec.Bytes)
	if _, err := f.ReadAt(whole, 0); err != nil {
		return nil, err
	}
	if sum := sha256.Sum256(whole); hex.EncodeToString(sum[:]) != rec.SHA256 {
		return nil, errors.New("not the bytes that were written")
	}
	x.entries = whole[indexHeader : indexHeader+x.n*entrySize]
	return x, nil
}

func (x *index) close() {
	if x.f != nil {
		_ = x.f.Close() // only read
	}
}

// find returns the entry of a hash.
func (x *index) find(hash uint64) (e entry, ok bool, err error) {
	b := bucket(hash, x.width)
	from, to := int64(x.fan[b]), int64(x.fan[b+1])
	if from == to {
		return e, false, nil
	}
	var span []byte
	if x.entries != nil {
		span = x.entries[from*entrySize : to*entrySize]
	} else {
		room, _ := x.room.Get().(*[]byte)
		if room == nil {
			room = new([]byte)
		}
		defer x.room.Put(room)
		*room = slices.Grow((*room)[:0], int(to-from)*entrySize)[:(to-from)*entrySize]
		if _, err := x.f.ReadAt(*room, indexHeader+from*entrySize); err != nil {
			return e, false, fmt.Errorf("index %s: %w", x.path, err)
		}
		span = *room
	}
	lo, hi := 0, len(span)/entrySize
	for lo < hi {
		mid := (lo + hi) / 2
		if binary.LittleEndian.Uint64(span[mid*entrySize:]) < hash {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo*entrySize == len(span) {
		return e, false, nil
	}
	e.get(span[lo*entrySize:])
	return e, e.hash == hash, nil
}

// run reads the index's entries in order.
func (x *index) run(age int) (*run, error) { return openRun(x.path, indexHeader, x.n, age) }
