package logfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Encodings a log may stand in.
const (
	UTF8        = "utf-8"
	UTF16LE     = "utf-16le"
	UTF16BE     = "utf-16be"
	Windows1252 = "windows-1252"
	Latin9      = "iso-8859-15"
)

// sampleBytes is how much of a file Open looks at.
const sampleBytes = 1 << 20

var (
	bomUTF8    = []byte{0xef, 0xbb, 0xbf}
	bomUTF16LE = []byte{0xff, 0xfe}
	bomUTF16BE = []byte{0xfe, 0xff}
)

var errNotText = errors.New("this is no text file; export the log as CSV and try again")

// sniffEncoding settles the encoding from the first bytes; whole says that they are all there is.
//
// A byte order mark decides; then zero bytes at odd or even places (UTF-16 of Western text); then
// valid UTF-8. What is left is an 8-bit encoding: bytes 0x80 to 0x9f are letters and quotes only
// in Windows-1252; without them 0xa4 is the euro sign of ISO-8859-15, and 0xbd amid letters its
// oe ligature, where Windows-1252 has the general currency sign and one half.
func sniffEncoding(sample []byte, whole bool, want string) (string, error) {
	if want != "" {
		name := strings.ToLower(strings.TrimSpace(want))
		switch name {
		case "utf8":
			name = UTF8
		case "cp1252", "windows1252", "latin1", "iso-8859-1":
			name = Windows1252 // a superset of the printable part of ISO-8859-1
		case "latin9", "iso8859-15":
			name = Latin9
		case "utf-16":
			if name = UTF16LE; bytes.HasPrefix(sample, bomUTF16BE) {
				name = UTF16BE
			}
		}
		switch name {
		case UTF8, UTF16LE, UTF16BE, Windows1252, Latin9:
			return name, nil
		}
		return "", fmt.Errorf("encoding %q is not known, want utf-8, utf-16le, utf-16be, windows-1252 or iso-8859-15", want)
	}
	switch {
	case bytes.HasPrefix(sample, bomUTF8):
		return UTF8, nil
	case bytes.HasPrefix(sample, bomUTF16LE):
		return UTF16LE, nil
	case bytes.HasPrefix(sample, bomUTF16BE):
		return UTF16BE, nil
	}
	var zero [2]int
	for i, b := range sample {
		if b == 0 {
			zero[i&1]++
		}
	}
	switch half := len(sample) / 2; {
	case zero[1] > half*7/10 && zero[0] < half/10:
		return UTF16LE, nil
	case zero[0] > half*7/10 && zero[1] < half/10:
		return UTF16BE, nil
	case zero[0]+zero[1] > len(sample)/100: // a stray one is some old system's padding, and harmless
		return "", errNotText
	}
	if !whole {
		sample = trimRune(sample)
	}
	if utf8.Valid(sample) {
		return UTF8, nil
	}
	latin9 := false
	for i, b := range sample {
		if b >= 0x80 && b <= 0x9f {
			return Windows1252, nil
		}
		latin9 = latin9 || b == 0xa4 || b == 0xbd && i > 0 && i+1 < len(sample) && isLetter(sample[i-1]) && isLetter(sample[i+1])
	}
	if latin9 {
		return Latin9, nil
	}
	return Windows1252, nil
}

func isLetter(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' }

// trimRune drops a rune that the end of the sample has cut.
func trimRune(b []byte) []byte {
	for i := 1; i <= utf8.UTFMax && i <= len(b); i++ {
		if utf8.RuneStart(b[len(b)-i]) {
			if !utf8.FullRune(b[len(b)-i:]) {
				return b[:len(b)-i]
			}
			return b
		}
	}
	return b
}

// decoder gives the transformation of an encoding to UTF-8; nil when there is nothing to do.
func decoder(name string) transform.Transformer {
	var e encoding.Encoding
	switch name {
	case UTF16LE:
		e = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	case UTF16BE:
		e = unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
	case Windows1252:
		e = charmap.Windows1252
	case Latin9:
		e = charmap.ISO8859_15
	default:
		return nil
	}
	return e.NewDecoder()
}

// decoded reads r as UTF-8, without a byte order mark.
func decoded(name string, r io.Reader) (io.Reader, error) {
	if t := decoder(name); t != nil {
		return transform.NewReader(r, t), nil
	}
	head := make([]byte, len(bomUTF8))
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if bytes.Equal(head[:n], bomUTF8) {
		return r, nil
	}
	return io.MultiReader(bytes.NewReader(head[:n]), r), nil
}

func decodeSample(name string, sample []byte) ([]byte, error) {
	if name == UTF16LE || name == UTF16BE {
		sample = sample[:len(sample)&^1]
	}
	r, err := decoded(name, bytes.NewReader(sample))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// repair reads bytes that are no valid UTF-8 as Windows-1252, appending to dst. Files put
// together from two programs hold such lines amid good ones.
func repair(dst, src []byte) []byte {
	for len(src) > 0 {
		r, n := utf8.DecodeRune(src)
		if r == utf8.RuneError && n == 1 {
			dst = utf8.AppendRune(dst, charmap.Windows1252.DecodeByte(src[0]))
		} else {
			dst = append(dst, src[:n]...)
		}
		src = src[n:]
	}
	return dst
}
