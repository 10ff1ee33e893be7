package ingest

import (
	"fmt"
	"os"

	"github.com/zeebo/xxh3"
)

// readingVersion changes when this program reads the same cells otherwise than before.
const readingVersion = 3

// fingerprint is a hash of everything but the logs that decides how they are read: another
// columns.toml or lexicon makes a log that was ingested before worth reading again.
func fingerprint(opt Options, tree string) (string, error) {
	h := xxh3.New()
	add := func(parts ...any) {
		for _, p := range parts {
			fmt.Fprintf(h, "%v\x00", p)
		}
	}
	add(readingVersion, opt.Dates, opt.Encoding, opt.Delimiter, opt.Sheet, opt.Settings.Zone, opt.Settings.Currency, opt.Settings.SerialPrefix)
	for _, path := range []string{opt.Columns, tree} {
		if path == "" {
			add("")
			continue
		}
		raw, err := os.ReadFile(path)
		if err != nil {
			return "", err
		}
		add(string(raw))
	}
	return fmt.Sprintf("%016x", h.Sum64()), nil
}
