package ingest

// wordCache remembers what the words of a column stand for. Columns of outcomes, grades and classes
// hold few distinct cells.
type wordCache struct {
	read func([]byte) (string, bool)
	seen map[string]word
}

type word struct {
	text string
	ok   bool
}

// maxWords bounds a cache; a column with more distinct cells is read anew each time.
const maxWords = 4096

func (c *wordCache) get(cell []byte) (string, bool) {
	if w, ok := c.seen[string(cell)]; ok {
		return w.text, w.ok
	}
	text, ok := c.read(cell)
	if len(c.seen) < maxWords {
		if c.seen == nil {
			c.seen = map[string]word{}
		}
		c.seen[string(cell)] = word{text, ok}
	}
	return text, ok
}
