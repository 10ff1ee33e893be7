package logfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// maxRecord bounds one record, in bytes: more is no log but a file with lost line ends.
const maxRecord = 64 << 20

// cutter reads text and cuts it into chunks that end where a record ends.
type cutter struct {
	src   io.Reader
	d     *dialect
	size  int // target bytes of a chunk
	line  int64
	carry []byte // read already, belongs to the next chunk
	done  bool   // src is exhausted
}

// next fills c with the text of the next chunk; io.EOF when there is none.
func (k *cutter) next(c *Chunk) error {
	c.reset()
	c.buf = append(c.buf, k.carry...)
	k.carry = k.carry[:0]
	end := 0
	for want := k.size; end == 0; want *= 2 {
		if err := k.fill(c, want); err != nil {
			return err
		}
		if len(c.buf) == 0 {
			return io.EOF
		}
		if end = k.d.lastEnd(c.buf, k.done); end == 0 && len(c.buf) > maxRecord {
			return fmt.Errorf("line %d: a record longer than %d MiB, want one row per line; export the log again", k.line, maxRecord>>20)
		}
	}
	k.carry = append(k.carry, c.buf[end:]...)
	c.buf = c.buf[:end]
	c.text, c.Bytes, c.line = end, end, k.line
	k.line += int64(bytes.Count(c.buf, []byte{k.d.eol}))
	return nil
}

// fill reads until the chunk holds want bytes or the text ends.
func (k *cutter) fill(c *Chunk, want int) error {
	if cap(c.buf) < want {
		c.buf = append(make([]byte, 0, want+want/8), c.buf...)
	}
	for !k.done && len(c.buf) < want {
		n, err := k.src.Read(c.buf[len(c.buf):want])
		c.buf = c.buf[:len(c.buf)+n]
		if errors.Is(err, io.EOF) {
			k.done = true
		} else if err != nil {
			return err
		}
	}
	return nil
}

// lastEnd returns where the last whole record of buf ends, line end included; 0 when none does.
// last says that no text follows buf, so that all of it is whole.
//
// It leaps from quote to quote: text without quotes costs one search.
func (d *dialect) lastEnd(buf []byte, last bool) int {
	if last {
		return len(buf)
	}
	s := quotes{dialect: d, record: -1}
	end := 0 // of the last whole record so far; the record at hand starts here
	for at := 0; ; {
		q := bytes.IndexByte(buf[at:], '"')
		if q < 0 {
			if e := bytes.LastIndexByte(buf[at:], d.eol); e >= 0 {
				end = at + e + 1
			}
			return end
		}
		q += at
		if e := bytes.LastIndexByte(buf[at:q], d.eol); e >= 0 {
			end = at + e + 1
		}
		if !d.opens(buf, end, q) {
			at = q + 1
			continue
		}
		_, after, how := s.at(buf, end, q, false)
		switch how {
		case needMore:
			return end
		case stray:
			at = q + 1
		case quoted:
			at = after
		}
	}
}
