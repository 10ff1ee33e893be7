package logfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"
)

// A jsonScanner finds the objects of a JSON text, one after the other, without understanding them: objects that follow each
// other (JSON Lines, with or without line ends), an array of objects, or an array that is a member of one object.
//
// A string never goes over a line end in JSON, so one that does marks a damaged object; what is left of its line is skipped and
// the next line is read as usual. Where objects stand on a line each, an object that goes on over the line end is damaged as well.
type jsonScanner struct {
	src    *bufio.Reader
	form   jsonForm
	line   int64 // of the next byte, from 1
	opened bool  // the array was reached
	closed bool  // and left
	buf    []byte
	broken bool // the object at hand is damaged
}

// A jsonForm is how the objects stand in the text.
type jsonForm struct {
	member string // of the one outer object, whose array holds the objects
	array  bool   // they are elements of an array
	lines  bool   // one object a line
}

var (
	errNoObjects  = errors.New("no JSON objects in it, want one object per row; export the log again")
	errLongObject = fmt.Errorf("an object longer than %d MiB, want one object per row; export the log again", maxRecord>>20)
)

func newJSONScanner(src io.Reader, form jsonForm) *jsonScanner {
	return &jsonScanner{src: bufio.NewReaderSize(src, 1<<16), form: form, line: 1}
}

// next returns the bytes of the next object, valid until the next call, and the line it starts on; io.EOF after the last. What is no
// object, or a damaged one, is returned with broken set.
func (s *jsonScanner) next() (text []byte, line int64, err error) {
	if s.closed {
		return nil, 0, io.EOF
	}
	if s.form.array && !s.opened {
		if err := s.open(); err != nil {
			return nil, 0, err
		}
	}
	b, err := s.skip()
	if err != nil {
		if errors.Is(err, io.EOF) && s.form.array {
			err = io.ErrUnexpectedEOF // the bracket is not closed
		}
		return nil, 0, err
	}
	if s.form.array && b == ']' {
		s.closed = true
		return nil, 0, io.EOF
	}
	s.buf, s.broken = append(s.buf[:0], b), b != '{'
	line = s.line
	if s.broken {
		return s.buf, line, s.toLineEnd()
	}
	return s.buf, line, s.object()
}

// object reads on to the bracket that closes the object in buf.
func (s *jsonScanner) object() error {
	depth, quoted := 1, false
	for depth > 0 {
		b, err := s.byte()
		if err != nil {
			return unexpected(err)
		}
		s.buf = append(s.buf, b)
		if len(s.buf) > maxRecord {
			return fmt.Errorf("line %d: %w", s.line, errLongObject)
		}
		switch {
		case b == '\n' && (quoted || s.form.lines):
			s.broken = true
			return nil
		case quoted && b == '\\':
			next, err := s.byte()
			if err != nil {
				return unexpected(err)
			}
			s.buf = append(s.buf, next)
		case b == '"':
			quoted = !quoted
		case quoted:
		case b == '{' || b == '[':
			depth++
		case b == '}' || b == ']':
			depth--
		}
	}
	return nil
}

func (s *jsonScanner) toLineEnd() error {
	for {
		b, err := s.byte()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil || b == '\n' {
			return err
		}
		if len(s.buf) < maxRecord {
			s.buf = append(s.buf, b)
		}
	}
}

// open goes to the first element of the array.
func (s *jsonScanner) open() error {
	s.opened = true
	b, err := s.skip()
	if err != nil {
		return unexpected(err)
	}
	if s.form.member == "" {
		if b != '[' {
			return errNoObjects
		}
		return nil
	}
	if b != '{' {
		return errNoObjects
	}
	for depth := 1; ; {
		if b, err = s.skip(); err != nil {
			return unexpected(err)
		}
		switch b {
		case '{', '[':
			depth++
		case '}', ']':
			depth--
		case '"':
			name, err := s.stringRest()
			if err != nil {
				return err
			}
			if depth != 1 || name != s.form.member {
				continue
			}
			if b, err = s.skip(); err != nil || b != ':' {
				continue // the word as a value; its comma was skipped
			}
			if b, err = s.skip(); err == nil && b == '[' {
				return nil
			}
			return errNoObjects
		}
	}
}

// stringRest reads a string behind its opening quote, as it is written.
func (s *jsonScanner) stringRest() (string, error) {
	s.buf = s.buf[:0]
	for {
		b, err := s.byte()
		if err != nil {
			return "", unexpected(err)
		}
		if b == '"' {
			return string(s.buf), nil
		}
		s.buf = append(s.buf, b)
		if b == '\\' {
			if b, err = s.byte(); err != nil {
				return "", unexpected(err)
			}
			s.buf = append(s.buf, b)
		}
	}
}

// skip returns the next byte that is no blank, comma or record separator (RFC 7464).
func (s *jsonScanner) skip() (byte, error) {
	for {
		b, err := s.byte()
		if err != nil {
			return 0, err
		}
		switch b {
		case ' ', '\t', '\r', '\n', ',', 0x1e:
		default:
			return b, nil
		}
	}
}

func (s *jsonScanner) byte() (byte, error) {
	b, err := s.src.ReadByte()
	if b == '\n' && err == nil {
		s.line++
	}
	return b, err
}

func unexpected(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}
