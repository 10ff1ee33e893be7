package ingest

import (
	"bytes"
	"unicode"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/history"
	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"
)

// readings remember what the cells of columns whose cells come again stand for. Blank cells stand for nothing.
type readings struct {
	makers, families, classes, currencies memo[string]
	partNos, lots, suppliers              memo[string]
	models                                memo[modelName]
	outcomes, grades, weeks               memo[wordRead]
	technicians                           memo[history.Key]
	components, findings                  memo[cellReading] // part cells and findings, most of which come again
}

// modelName is the cell of a model, and the class that it names, if it names one.
type modelName struct{ name, class string }

// wordRead is the word that a cell stands for; unread when nothing knows the cell.
type wordRead struct {
	word   string
	unread bool
}

func newReadings(r *run) readings {
	w := r.sources[0].columns.Words
	home := r.opt.Settings.Currency
	reads := func(kind lexicon.Kind) memo[cellReading] {
		return newMemo(func(cell []byte) cellReading { return r.texts.of(kind, cell) })
	}
	return readings{
		components: reads(lexicon.Part), findings: reads(lexicon.Found),
		makers: newMemo(plain), families: newMemo(plain), partNos: newMemo(plain), lots: newMemo(plain), suppliers: newMemo(plain),
		models: newMemo(func(cell []byte) modelName {
			m := modelName{name: plain(cell)}
			if class, known := w.Class(cell); known && m.name != "" {
				m.class = class
			}
			return m
		}),
		classes: newMemo(func(cell []byte) string {
			if cells.Blank(cell) {
				return ""
			}
			class, _ := w.Class(cell)
			return class
		}),
		currencies: newMemo(func(cell []byte) string { return cells.Currency(plain(cell), home) }),
		outcomes: newMemo(func(cell []byte) wordRead {
			if cells.Blank(cell) {
				return wordRead{}
			}
			word, known := w.Outcome(cell)
			return wordRead{word, !known}
		}),
		grades: newMemo(func(cell []byte) wordRead {
			grade, known := w.Grade(cell)
			if !known {
				return wordRead{schemas.GradeUnknown, true}
			}
			return wordRead{grade, false}
		}),
		weeks: newMemo(func(cell []byte) wordRead {
			if cells.Blank(cell) {
				return wordRead{}
			}
			year, week, ok := cells.Week(cells.Trim(cell))
			if !ok {
				return wordRead{unread: true}
			}
			return wordRead{word: string(cells.AppendWeek(nil, year, week))}
		}),
		technicians: newMemo(func(cell []byte) history.Key {
			if cells.Blank(cell) {
				return history.Key{}
			}
			return r.tx.TechnicianKey(tidyName(cell))
		}),
	}
}

// plain is a cell as it stands, trimmed; empty when it is blank.
func plain(cell []byte) string {
	if cell = cells.Trim(cell); cells.Blank(cell) {
		return ""
	}
	return string(cell)
}

// tidyName makes the spellings of a name one, however it is cased and spaced.
func tidyName(cell []byte) string {
	return string(bytes.ToLower(bytes.Join(bytes.FieldsFunc(cells.Trim(cell), unicode.IsSpace), []byte{' '})))
}
