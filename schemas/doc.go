// Package schemas says what every table means: the Arrow schemas of the history, the typed rows
// of every table we write as CSV, the finding and its JSON Schema, the component lexicon and the
// shop's own settings.
//
// It refuses to compute: no counting, no statistics, no drawing. ingest, analysis and report all
// stand on it and never on each other.
package schemas
