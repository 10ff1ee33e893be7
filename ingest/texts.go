package ingest

import (
	"encoding/json"
	"sync"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"

	"github.com/zeebo/xxh3"
)

// texts reads components from cells and remembers what it read: logs repeat themselves, and a
// distinct text is read once. It is safe for concurrent use; what it returns does not depend on
// what it remembers.
type texts struct {
	reader *lexicon.Reader
	shards [textShards]textShard
}

const (
	textShards    = 64
	textsPerShard = 4096 // a full shard is emptied
)

type textShard struct {
	mu   sync.Mutex
	read map[xxh3.Uint128]cellReading
	_    [40]byte // shards apart, so that lanes don't wait for each other's cache lines
}

// cellReading is what one cell names.
type cellReading struct {
	reading
	said   bool // the cell is not blank
	unread bool // said, and no entry of the lexicon stands in it
}

// read gives the components that a cell names.
func (t *texts) read(kind lexicon.Kind, cell []byte) cellReading {
	if len(cell) == 0 {
		return cellReading{}
	}
	key := xxh3.Hash128Seed(cell, uint64(kind))
	s := &t.shards[key.Lo%textShards]
	s.mu.Lock()
	r, ok := s.read[key]
	s.mu.Unlock()
	if ok {
		return r
	}
	r = t.readAnew(kind, cell)
	s.mu.Lock()
	if s.read == nil || len(s.read) >= textsPerShard {
		s.read = make(map[xxh3.Uint128]cellReading, 64)
	}
	s.read[key] = r
	s.mu.Unlock()
	return r
}

func (t *texts) readAnew(kind lexicon.Kind, cell []byte) cellReading {
	if cells.Blank(cells.Trim(cell)) {
		return cellReading{}
	}
	got := t.reader.Read(view(cell), kind)
	r := cellReading{reading: reading{components: got.Components}, said: true, unread: len(got.Matches) == 0}
	for _, m := range got.Matches {
		r.named = r.named || m.Counted && !m.Cause
	}
	return r
}

// compiled is a lexicon ready to read with.
type compiled struct {
	reader *lexicon.Reader
	ids    []string
	sum    uint64 // of its content
}

// builtin is the lexicon that comes with the program, compiled once.
var builtin = sync.OnceValues(func() (compiled, error) { return compile(schemas.BuiltinLexicon()) })

// loadLexicon compiles the built-in lexicon with the shop's own file merged over it, if there is one.
func loadLexicon(path string) (compiled, error) {
	if path == "" {
		return builtin()
	}
	return compile(schemas.LoadLexicon(path))
}

func compile(words *schemas.Lexicon, err error) (compiled, error) {
	if err != nil {
		return compiled{}, err
	}
	h := xxh3.New()
	if err := json.NewEncoder(h).Encode(words); err != nil {
		return compiled{}, err
	}
	reader, err := lexicon.New(words)
	return compiled{reader: reader, ids: words.IDs(), sum: h.Sum64()}, err
}

// componentIDs numbers the components of a lexicon, for held records.
type componentIDs struct {
	id     []string
	number map[string]int
}

func newComponentIDs(ids []string) *componentIDs {
	c := &componentIDs{id: ids, number: make(map[string]int, len(ids))}
	for i, id := range ids {
		c.number[id] = i
	}
	return c
}
