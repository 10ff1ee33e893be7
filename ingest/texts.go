package ingest

import (
	"encoding/json"
	"sync"
	"sync/atomic"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"

	"github.com/zeebo/xxh3"
)

// texts reads components from cells and remembers what it read, for logs repeat themselves. A place
// is found by the text's hash and given to the next text that needs it, so that memory is bounded
// and texts that come once cost little. It is safe for concurrent use, and what it returns does not
// depend on what it remembers.
type texts struct {
	reader *lexicon.Reader
	read   []atomic.Pointer[rememberedText] // 2 to the textBits
}

const textBits = 18

type rememberedText struct {
	key xxh3.Uint128
	cellReading
}

// cellReading is what one cell names.
type cellReading struct {
	reading
	said   bool // the cell is not blank
	unread bool // said, and no component of the lexicon stands in it, nor that all is well
}

func newTexts(r *lexicon.Reader) *texts {
	return &texts{reader: r, read: make([]atomic.Pointer[rememberedText], 1<<textBits)}
}

// of gives the components that a cell names.
func (t *texts) of(kind lexicon.Kind, cell []byte) cellReading {
	if len(cell) == 0 {
		return cellReading{}
	}
	key := xxh3.Hash128Seed(cell, uint64(kind))
	place := &t.read[key.Lo>>(64-textBits)]
	if r := place.Load(); r != nil && r.key == key {
		return r.cellReading
	}
	r := &rememberedText{key, t.readAnew(kind, cell)}
	place.Store(r)
	return r.cellReading
}

func (t *texts) readAnew(kind lexicon.Kind, cell []byte) cellReading {
	if cells.Blank(cells.Trim(cell)) {
		return cellReading{}
	}
	got := t.reader.Names(view(cell), kind)
	return cellReading{reading: reading{components: got.Components, named: got.Component, clear: got.Clear}, said: true, unread: !got.Mentioned && !got.Fine}
}

// compiled is a lexicon ready to read with.
type compiled struct {
	reader *lexicon.Reader
	ids    []string
	vague  []string
	causes []string
	on     map[string]map[string]string // what a component is on a class of device
	sum    uint64                       // of its content
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
	return compiled{reader: reader, ids: words.IDs(), vague: words.Vague(), causes: words.Causes(), on: words.On(), sum: h.Sum64()}, err
}

// componentIDs numbers the components of a lexicon, for held records.
type componentIDs struct {
	id     []string
	number map[string]int
	vague  []string // given up where a ticket names another
	causes []string
	on     map[string]map[string]string // what a component is on a class of device
}

func newComponentIDs(ids []string) *componentIDs {
	c := &componentIDs{id: ids, number: make(map[string]int, len(ids))}
	for i, id := range ids {
		c.number[id] = i
	}
	return c
}
