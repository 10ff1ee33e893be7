package report

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"faultgrain/report/wording"

	"golang.org/x/text/unicode/norm"
)

// place is a link to a place on a page. In a single file the page is a part of it.
func (s *site) place(page, id string) string {
	switch {
	case page == "":
		return ""
	case s.single:
		return "#" + cmp.Or(id, page)
	case id == "":
		return s.root + page + ".html"
	}
	return s.root + page + ".html#" + id
}

// sheet is a link to a model's bench sheet; "" where there is none.
func (s *site) sheet(model string) string {
	slug, ok := s.slugs[model]
	if !ok || s.single {
		return ""
	}
	return s.root + "sheets/" + slug + ".html"
}

// csv is a link to a table's file; "" where there is none to link to.
func (s *site) csv(table string) string {
	if s.single || !s.Has(table) {
		return ""
	}
	return s.root + "tables/" + table + ".csv"
}

// beside is a link to a file that stands beside the report; "" where it does not.
func (s *site) beside(name string) string {
	if s.single {
		return ""
	}
	if _, err := os.Stat(filepath.Join(s.out, filepath.FromSlash(name))); err != nil {
		return ""
	}
	return s.root + name
}

const slugLetters = 48

// slug makes a file name of a model's name: small ASCII letters, digits and hyphens.
func slug(name string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(strings.ToLower(name)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == '+':
			b.WriteString("-plus")
		case r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r):
			gap = true
		default:
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(r)
		}
		if b.Len() >= slugLetters {
			break
		}
	}
	return cmp.Or(strings.Trim(b.String(), "-"), "model")
}

// slugs gives each name a slug of its own: those that would share one carry eight hexadecimal digits of
// the exact name, so that a sheet keeps its file name whatever else is in the log.
func slugs(names []string) map[string]string {
	taken := map[string]int{}
	for _, n := range names {
		taken[slug(n)]++
	}
	of := make(map[string]string, len(names))
	for _, n := range names {
		of[n] = slug(n)
		if taken[of[n]] > 1 || windowsName(of[n]) {
			h := fnv.New32a()
			h.Write([]byte(n))
			of[n] = fmt.Sprintf("%s-%08x", of[n], h.Sum32())
		}
	}
	return of
}

// windowsName tells whether Windows keeps the name for a device.
func windowsName(slug string) bool {
	switch {
	case slices.Contains([]string{"con", "prn", "aux", "nul"}, slug):
		return true
	case len(slug) == 4 && (strings.HasPrefix(slug, "com") || strings.HasPrefix(slug, "lpt")):
		return slug[3] >= '0' && slug[3] <= '9'
	}
	return false
}

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

// dayWords writes 2026-05-31 as a person does; "" when it is no day.
func dayWords(day string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return ""
	}
	return wording.Date(t)
}
