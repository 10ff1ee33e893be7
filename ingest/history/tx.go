package history

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"
)

// A Tx is one ingest being written. Its look-ups and hashes may be used by many goroutines at once; each segment by one.
// End it with Commit or Rollback.
type Tx struct {
	dir        string
	temp       string   // the transaction's own folder in dir
	made       []string // folders Begin created, innermost last
	log        *slog.Logger
	lock       *lock
	secret     *secret
	fresh      bool // the key is new and not yet on disk
	base       *Manifest
	next       int                       // number of the next segment
	indexes    []*index                  // newest first
	rebuilt    bool                      // the indexes were counted anew and stand in the temp folder
	superseded []int64                   // visits to be retired because the file that did so is lost
	sound      map[int]bool              // segments that were hashed again and found whole
	compacting *compaction               // set when this is no ingest
	wrap       func(io.Writer) io.Writer // put between every file and its hash; nil but in tests

	settling errgroup.Group // files on their way to the disk

	mu       sync.Mutex
	segments []*Segment
	rooms    []*room             // that closed segments have left
	refused  map[uint64]int64    // current quarantined rows of earlier ingests, by key
	touched  map[uint64]struct{} // of these, the keys this ingest carries
	refusals int64               // rows this ingest quarantined
	ended    bool
}

// A Version is the current visit of a ticket.
type Version struct {
	Visit         int64
	Digest        uint64 // what AppendVisit was given; 0 when it is no longer known
	Raw           uint64 // that of Visit; 0 when it is not known
	faults, parts uint32
}

// Begin opens the history in dir for writing, creating the folder when there is none. It returns ErrLocked, wrapped, while another
// process writes. What an interrupted ingest left behind is removed. log may be nil.
func Begin(ctx context.Context, dir string, log *slog.Logger) (*Tx, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	tx := &Tx{dir: dir, log: log, sound: map[int]bool{}, refused: map[uint64]int64{}, touched: map[uint64]struct{}{}}
	if err := tx.begin(ctx); err != nil {
		tx.Rollback()
		return nil, err
	}
	return tx, nil
}

func (tx *Tx) begin(ctx context.Context) error {
	var err error
	if tx.made, err = makeDirs(tx.dir); err != nil {
		return explain(err)
	}
	if tx.lock, err = takeLock(tx.dir, tx.log); err != nil {
		return explain(err)
	}
	tx.base, err = loadManifest(tx.dir)
	if errors.Is(err, ErrNoHistory) {
		tx.base, err = &Manifest{Version: manifestVersion, Next: 1}, nil
	}
	if err != nil {
		return err
	}
	if err := sweep(tx.dir, tx.base, tx.log); err != nil {
		return explain(err)
	}
	if tx.secret, tx.fresh, err = openSecret(tx.dir, tx.base); err != nil {
		return err
	}
	if tx.next, err = freeNumber(tx.dir, tx.base); err != nil {
		return err
	}
	if tx.temp, err = os.MkdirTemp(tx.dir, tempPrefix+"*"); err != nil {
		return explain(err)
	}
	if tx.refused, err = currentRefusals(ctx, tx.dir, tx.base); err != nil {
		return fmt.Errorf("%w; faultgrain verify says which log to ingest again", err)
	}
	if err := tx.openIndexes(); err != nil {
		tx.log.Warn("counting the index anew", "reason", err)
		return tx.rebuild(ctx, tx.base.clone())
	}
	return nil
}

// makeDirs creates dir and returns the folders it made.
func makeDirs(dir string) ([]string, error) {
	var missing []string
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		info, err := os.Stat(d)
		if err == nil && !info.IsDir() {
			return nil, fmt.Errorf("%s is a file, want a folder for the history (see --history)", d)
		}
		if err == nil {
			break
		}
		if !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			return nil, err
		}
		missing = append(missing, d)
	}
	slices.Reverse(missing)
	for i, d := range missing {
		if err := os.Mkdir(d, 0o700); err != nil {
			return missing[:i], err
		}
	}
	return missing, nil
}

func (tx *Tx) openIndexes() error {
	var bytes int64
	for _, rec := range tx.base.Indexes {
		bytes += rec.Bytes
	}
	for _, rec := range slices.Backward(tx.base.Indexes) {
		x, err := openIndex(filepath.Join(tx.dir, indexDir, rec.Name), rec, bytes <= maxIndexInMemory)
		if err != nil {
			return err
		}
		tx.indexes = append(tx.indexes, x)
	}
	return nil
}

// Manifest is the history as it was when the transaction began. It must not be changed.
func (tx *Tx) Manifest() *Manifest { return tx.base }

// Source returns the record of a log with this content hash (SHA-256, hex), the latest if it was ingested more than once. It does not
// look at the files; Known does.
func (tx *Tx) Source(sha string) (SourceRecord, bool) { return tx.base.source(sha) }

// DeviceKey stands for a serial number. Empty gives the zero Key. The caller brings spellings together first.
func (tx *Tx) DeviceKey(serial string) Key { return tx.secret.key("device", serial) }

// TechnicianKey stands for a technician's name. Empty gives the zero Key.
func (tx *Tx) TechnicianKey(name string) Key { return tx.secret.key("technician", name) }

// TicketHash is what a ticket is looked up by. It differs between histories.
func (tx *Tx) TicketHash(shop, ticket []byte) uint64 { return tx.secret.ticketHash(shop, ticket) }

// Lookup returns the current version of a ticket among earlier ingests. Asking says that this ingest carries the ticket: rows of it
// that earlier ingests quarantined no longer count, whether the ticket is written again or found unchanged.
func (tx *Tx) Lookup(ticketHash uint64) (Version, bool, error) {
	tx.touch(ticketHash)
	e, err := tx.find(ticketHash)
	return Version{Visit: e.visit, Digest: e.digest, Raw: e.raw, faults: e.faults, parts: e.parts}, e.visit != 0, err
}

// find returns the index entry of a ticket's current version; its visit is 0 when there is none.
func (tx *Tx) find(ticketHash uint64) (entry, error) {
	for _, x := range tx.indexes {
		if e, ok, err := x.find(ticketHash); ok || err != nil {
			return e, err
		}
	}
	return entry{}, nil
}

func (tx *Tx) touch(key uint64) {
	if len(tx.refused) == 0 {
		return
	}
	if _, ok := tx.refused[key]; ok {
		tx.mu.Lock()
		tx.touched[key] = struct{}{}
		tx.mu.Unlock()
	}
}

func (tx *Tx) refuse(q *Refusal) {
	tx.touch(q.key())
	tx.mu.Lock()
	tx.refusals++
	tx.mu.Unlock()
}

// NewSegment starts a segment. Numbers are handed out in call order.
func (tx *Tx) NewSegment() (*Segment, error) {
	tx.mu.Lock()
	defer tx.mu.Unlock()
	if tx.ended {
		return nil, errors.New("the transaction has ended")
	}
	s := newSegment(tx, tx.next)
	tx.next++
	tx.segments = append(tx.segments, s)
	return s, nil
}

// takeRoom gives a new segment room to gather rows in; tx.mu is held.
func (tx *Tx) takeRoom() *room {
	if len(tx.rooms) == 0 {
		return &room{}
	}
	r := tx.rooms[len(tx.rooms)-1]
	tx.rooms = tx.rooms[:len(tx.rooms)-1]
	return r
}

func (tx *Tx) leaveRoom(r *room) {
	r.entries = nil // large, and made anew in no time
	tx.mu.Lock()
	defer tx.mu.Unlock()
	tx.rooms = append(tx.rooms, r)
}

// settle sees to it that the disk has a file by the time the transaction is committed. The writer of a segment need not wait.
func (tx *Tx) settle(o *output) { tx.settling.Go(o.settle) }

// Temp is a folder on the history's own disk for what does not fit in memory. It goes with the transaction.
func (tx *Tx) Temp() string { return tx.temp }

// Rollback ends the transaction and leaves the history as it was. After Commit it does nothing.
func (tx *Tx) Rollback() {
	if tx.ended {
		return
	}
	tx.end()
	for _, d := range slices.Backward(tx.made) {
		_ = os.Remove(d) // fails, rightly, when something else stands in it
	}
}

// end closes what is open, removes the transaction's folder and frees the lock.
func (tx *Tx) end() {
	tx.ended = true
	_ = tx.settling.Wait() // Commit has asked how it went
	for _, s := range tx.segments {
		s.abandon()
	}
	for _, x := range tx.indexes {
		x.close()
	}
	if tx.temp != "" {
		if err := os.RemoveAll(tx.temp); err != nil {
			tx.log.Warn("the next ingest has to remove what this one left", "folder", tx.temp, "error", err)
		}
	}
	if tx.lock != nil {
		if err := tx.lock.release(); err != nil {
			tx.log.Warn("the lock could not be removed", "error", err)
		}
	}
}
