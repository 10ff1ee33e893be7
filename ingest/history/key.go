package history

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"github.com/zeebo/xxh3"
)

const keyName = "key"

// A Key stands for a serial number or a name: the first 16 bytes of an HMAC-SHA-256 under the history's secret.
// The zero Key means none was given.
type Key [16]byte

// IsZero says that nothing was given.
func (k Key) IsZero() bool { return k == Key{} }

// secret is the content of history/key with what is derived from it. It is safe for concurrent use.
type secret struct {
	raw        [32]byte
	macs       sync.Pool // of *keyedHash
	seed       uint64    // of ticket hashes
	seedNoShop uint64    // seed of tickets without a shop
}

func newSecret(raw [32]byte) *secret {
	s := &secret{raw: raw}
	s.macs.New = func() any { return &keyedHash{hash: hmac.New(sha256.New, raw[:])} }
	sum := s.mac("ticket-hash", "")
	s.seed = binary.LittleEndian.Uint64(sum[:])
	s.seedNoShop = s.seed ^ xxh3.HashSeed(nil, s.seed)
	return s
}

// keyedHash is an HMAC under the secret, with room for what goes in and comes out.
type keyedHash struct {
	hash hash.Hash
	room []byte
}

// mac is HMAC-SHA-256 (RFC 2104, FIPS 198-1) of purpose, a zero byte and text. Purposes keep a serial number and a name that
// read alike apart.
func (s *secret) mac(purpose, text string) [sha256.Size]byte {
	m := s.macs.Get().(*keyedHash)
	defer s.macs.Put(m)
	m.hash.Reset()
	m.room = append(append(append(m.room[:0], purpose...), 0), text...)
	_, _ = m.hash.Write(m.room) // never fails (package hash)
	m.room = m.hash.Sum(m.room[:0])
	return [sha256.Size]byte(m.room)
}

func (s *secret) key(purpose, text string) Key {
	if text == "" {
		return Key{}
	}
	sum := s.mac(purpose, text)
	return Key(sum[:16])
}

// ticketHash tells tickets apart in 64 bits: among ten million, two share a hash with a chance of about 3 in a million.
func (s *secret) ticketHash(shop, ticket []byte) uint64 {
	if len(shop) == 0 {
		return xxh3.HashSeed(ticket, s.seedNoShop)
	}
	return xxh3.HashSeed(ticket, s.seed^xxh3.HashSeed(shop, s.seed))
}

func (s *secret) check() string {
	sum := s.mac("key-check", "")
	return hex.EncodeToString(sum[:8])
}

// text is the form of the key file.
func (s *secret) text() []byte { return []byte(hex.EncodeToString(s.raw[:]) + "\n") }

// freshSecret draws a new key from the system's randomness.
func freshSecret() *secret {
	var raw [32]byte
	_, _ = rand.Read(raw[:]) // never fails (crypto/rand)
	return newSecret(raw)
}

// loadSecret reads history/key. A missing file is fs.ErrNotExist; one that others may read is refused.
func loadSecret(dir string) (*secret, error) {
	path := filepath.Join(dir, keyName)
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if mode := info.Mode().Perm(); runtime.GOOS != "windows" && mode&0o077 != 0 {
		return nil, fmt.Errorf("%s can be read by others (mode %04o): it is the secret behind the device keys; run chmod 600 on it", path, mode)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the history's key: %w", err)
	}
	raw, err := hex.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(raw) != 32 {
		return nil, fmt.Errorf("%s is damaged: want 64 hexadecimal digits; put it back from a backup", path)
	}
	return newSecret([32]byte(raw)), nil
}

// openSecret loads the key that a manifest was written with, or draws one for a new history (fresh is true).
func openSecret(dir string, m *Manifest) (s *secret, fresh bool, err error) {
	s, err = loadSecret(dir)
	if errors.Is(err, fs.ErrNotExist) {
		if m.KeyCheck == "" {
			return freshSecret(), true, nil
		}
		return nil, false, fmt.Errorf("%s is missing: without it no device or ticket can be recognised again; "+
			"put it back from a backup, or ingest all logs into a new history", filepath.Join(dir, keyName))
	}
	if err != nil {
		return nil, false, err
	}
	if m.KeyCheck != "" && m.KeyCheck != s.check() {
		return nil, false, fmt.Errorf("%s is not the key this history was written with: put the right one back from a backup", filepath.Join(dir, keyName))
	}
	return s, false, nil
}
