package ingest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime"
	"sync"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/history"
	"faultgrain/ingest/models"
	"faultgrain/schemas"
)

// Options say how to read the logs and where the history is. Empty paths mean "none".
type Options struct {
	History    string           // folder of the history; created when there is none
	Settings   schemas.Settings // shop.toml
	Columns    string           // columns.toml
	Components string           // the shop's own lexicon; empty means that of Settings
	Models     string           // models.toml; empty means that of Settings
	Dates      string           // day-first, month-first or year-first; empty is settled per file
	Encoding   string           // empty is detected
	Delimiter  string           // empty is detected
	Sheet      string           // sheet of a workbook; empty reads all
	Workers    int              // goroutines at work at once; 0 means one per processor
	ChunkBytes int              // 0 means what logfile takes; the history does not depend on it
	HoldBytes  int64            // memory for rows held back before they go to disk; 0 means 192 MiB
	Progress   func(Progress)   // called after every chunk, by one goroutine at a time; may be nil
	Log        *slog.Logger     // may be nil
}

// Run ingests logs into the history as one transaction and says what it did.
//
// Rows of one ticket are put together, whichever of the logs they stand in. A log that was ingested
// before, byte for byte and with the same way of reading, adds nothing. On any error the history
// is as it was.
func Run(ctx context.Context, logs []string, opt Options) (Summary, error) {
	r, err := prepare(opt)
	if err != nil {
		return Summary{}, err
	}
	if err := r.open(ctx, logs); err != nil {
		return Summary{}, err
	}
	if err := r.survey(ctx); err != nil {
		return Summary{}, err
	}
	if err := r.learnWords(); err != nil {
		return Summary{}, err
	}
	r.tx, err = history.Begin(ctx, opt.History, r.log)
	if err != nil {
		return Summary{}, err
	}
	defer r.tx.Rollback()
	nothing, err := r.recognise(ctx)
	if err != nil {
		return Summary{}, err
	}
	if nothing {
		return r.nothingNew(), nil
	}
	r.findScattered()
	if err := r.normalise(ctx); err != nil {
		return Summary{}, err
	}
	return r.commit(ctx)
}

// run is one ingest at work.
type run struct {
	opt     Options
	log     *slog.Logger
	workers int
	turns   chan struct{} // bounds the goroutines at work

	columns  *columns.Config
	folder   *models.Folder
	accents  models.Accents           // how the logs write words of makers and models
	lexicon  func() (compiled, error) // once it is compiled
	texts    *texts
	ids      *componentIDs
	zone     *cells.Zone
	reading  string // fingerprint of all that shapes the reading but the logs
	prefixes map[string]int

	sources      []*source
	joinByTicket bool // a log of part lines names no shop, but a log of tickets does
	scattered    hashSet
	holdAll      bool
	heldAny      bool // some rows were held back

	tx       *history.Tx
	lanes    []*lane
	lines    *held // lines of tickets that are not whole yet
	refusals *held // rows not accepted
	notices  map[notice]int64

	mu       sync.Mutex
	rounds   [][]*history.Segment // by round and lane
	progress Progress
}

// prepare loads everything but the logs.
func prepare(opt Options) (*run, error) {
	r := &run{opt: opt, log: opt.Log, workers: opt.Workers, notices: map[notice]int64{}}
	if r.log == nil {
		r.log = slog.New(slog.DiscardHandler)
	}
	if r.workers <= 0 {
		r.workers = runtime.GOMAXPROCS(0)
	}
	r.turns = make(chan struct{}, r.workers)
	loc, err := opt.Settings.Location()
	if err != nil {
		return nil, err
	}
	r.zone = cells.NewZone(loc)
	if r.columns, err = columns.LoadConfig(opt.Columns); err != nil {
		return nil, err
	}
	own := cmp.Or(opt.Components, opt.Settings.Components)
	r.lexicon = sync.OnceValues(func() (compiled, error) { return loadLexicon(own) })
	if own == "" {
		go r.lexicon() // takes longer than the survey of a small log
	} else if _, err := r.lexicon(); err != nil {
		return nil, err // at once, for a person wrote it
	}
	tree := cmp.Or(opt.Models, opt.Settings.Models)
	names, err := models.LoadConfig(tree)
	if err != nil {
		return nil, err
	}
	if r.folder, err = models.New(names); err != nil {
		return nil, err
	}
	r.prefixes = map[string]int{}
	for maker, n := range opt.Settings.SerialPrefix {
		r.prefixes[cells.Key(maker)] = n
	}
	r.reading, err = fingerprint(opt, tree)
	return r, err
}

// learnWords waits for the lexicon.
func (r *run) learnWords() error {
	words, err := r.lexicon()
	if err != nil {
		return err
	}
	r.texts = newTexts(words.reader)
	r.ids = newComponentIDs(words.ids)
	r.ids.vague, r.ids.causes, r.ids.on = words.vague, words.causes, words.on
	r.reading = fmt.Sprintf("%s-%016x", r.reading, words.sum)
	return nil
}

// recognise marks the logs that the history has already, whole, and those named twice. all says that none is new.
func (r *run) recognise(ctx context.Context) (all bool, err error) {
	all = true
	first := map[string]bool{}
	for _, s := range r.sources {
		rec, ok, err := r.tx.Known(ctx, s.sha)
		if err != nil {
			return false, err
		}
		s.known = ok && rec.Reading == r.reading
		s.again = first[s.sha]
		first[s.sha] = true
		all = all && s.known
	}
	return all, nil
}

// nothingNew is the summary where every log is known.
func (r *run) nothingNew() Summary {
	t := r.tx.Manifest().Totals
	out := Summary{Visits: t.Visits, Faults: t.Faults, Parts: t.Parts, Quarantined: t.Quarantined, Files: []FileSummary{}, Notes: []Note{}}
	for _, s := range r.sources {
		f := s.summary()
		f.Read, f.Duplicate = s.rows, s.rows
		out.Files = append(out.Files, f)
	}
	return out
}

// findScattered learns which tickets have rows that do not stand together.
func (r *run) findScattered() {
	var collected []*runHashes
	for _, s := range r.sources {
		if !s.again {
			collected = append(collected, s.hashes...)
		}
		s.hashes = nil
	}
	r.scattered, r.holdAll = scattered(collected, r.workers)
}

// tell reports progress.
func (r *run) tell(stage string, s *source, bytes, rows int64) {
	if r.opt.Progress == nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if name := s.file.Name; r.progress.Stage != stage || r.progress.File != name {
		r.progress = Progress{Stage: stage, File: name, Total: s.file.Size}
	}
	r.progress.Done += bytes
	r.progress.Rows += rows
	r.opt.Progress(r.progress)
}

// tellJoined reports that one more of the parts in which rows were held back is joined.
func (r *run) tellJoined(rows int) {
	if r.opt.Progress == nil || !r.heldAny {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.progress.Stage != "join" {
		r.progress = Progress{Stage: "join", Total: heldParts}
	}
	r.progress.Done++
	r.progress.Rows += int64(rows)
	r.opt.Progress(r.progress)
}

var errNoLogs = errors.New("no log named; give the file your shop's program exported, such as log.csv")
