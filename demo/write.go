package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Options of the generator.
type Options struct {
	Seed    uint64 // the same seed gives the same bytes
	Tickets int    // expected tickets over the three shops; 0 means the constant Tickets
	Null    bool   // leave the truths out: plain noise only
}

// DefaultSeed is the seed of the demo that README.md tells of.
const DefaultSeed uint64 = 81

func (o Options) withDefaults() Options {
	if o.Tickets == 0 {
		o.Tickets = Tickets
	}
	return o
}

// Files names what Write wrote, the shops in the order of Shops.
type Files struct {
	Shops []ShopFiles
}

// ShopFiles names one shop's files, by full path; empty when the shop has no such file.
type ShopFiles struct {
	Key      string
	Name     string
	Dir      string
	Logs     []string
	Settings string // shop.toml; it names stock, fleet, notes and models
	Columns  string // columns.toml
	Stock    string
	Fleet    string
	Notes    string
	Models   string

	Tickets    int // tickets with at least one good row
	Rows       int // rows over all logs, headers aside
	Broken     int // rows that must end in quarantine
	Duplicates int // rows that repeat a row exactly
	Emptied    int // tickets with one optional cell that no one can believe
	// Personal holds what must never be found in anything we write: every customer's last name,
	// phone, mail, address and serial, and every technician, as far as the logs carry them.
	Personal []string
}

// Write makes up the shops and writes each shop's files into a folder of its own under dir, which is
// created when missing. Files of the same name are overwritten.
func Write(ctx context.Context, dir string, opt Options) (Files, error) {
	var files Files
	for i, shop := range Shops(opt) {
		if err := ctx.Err(); err != nil {
			return Files{}, err
		}
		e := &exporter{shop: &shop, rand: rand.New(rand.NewPCG(opt.Seed, 1_000+uint64(i)))}
		e.files = ShopFiles{Key: shop.Key, Name: shop.Name, Dir: filepath.Join(dir, shop.Key), Tickets: len(shop.Tickets)}
		if err := os.MkdirAll(e.files.Dir, 0o755); err != nil {
			return Files{}, fmt.Errorf("demo: %w", err)
		}
		if err := e.write(); err != nil {
			return Files{}, fmt.Errorf("demo: %s: %w", shop.Key, err)
		}
		files.Shops = append(files.Shops, e.files)
	}
	return files, nil
}

// exporter writes one shop's files.
type exporter struct {
	shop  *Shop
	rand  *rand.Rand // spellings and slips
	files ShopFiles
}

func (e *exporter) write() error {
	rows := e.rows()
	var err error
	switch e.shop.language {
	case "de":
		err = e.writeGerman(rows)
	case "fr":
		err = e.writeTwoFiles(rows)
	default:
		err = e.writePlain(rows)
	}
	if err != nil {
		return err
	}
	if err := e.writeStock(); err != nil {
		return err
	}
	if e.shop.Size == 1 {
		if err := e.writeFleet(); err != nil {
			return err
		}
		if err := e.writeModels(); err != nil {
			return err
		}
		if err := e.writeNotes(); err != nil {
			return err
		}
	}
	e.files.Personal = e.personal()
	return e.writeSettings()
}

// create writes one file of the shop whole and returns its path.
func (e *exporter) create(name string, content []byte) (string, error) {
	path := filepath.Join(e.files.Dir, name)
	return path, os.WriteFile(path, content, 0o644)
}

// personal lists what privacy tests look for.
func (e *exporter) personal() []string {
	seen := map[*Customer]bool{}
	serials := map[string]bool{}
	list := append([]string(nil), e.shop.technicians...)
	for i := range e.shop.Tickets {
		d := e.shop.Tickets[i].Device
		if !serials[d.Serial] {
			serials[d.Serial] = true
			list = append(list, d.Serial)
		}
		if !seen[d.Owner] {
			seen[d.Owner] = true
			list = append(list, d.Owner.Name(), d.Owner.Phone, d.Owner.Mail, d.Owner.Street)
		}
	}
	return list
}
