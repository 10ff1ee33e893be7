// Package demo makes up three repair shops and writes what each would export: logs in three
// dialects, shop.toml, stock.csv, fleet.csv, notes and models files.
//
// The history has a true story, stated as constants in truth.go and told in README.md, and plain
// noise elsewhere, so that tests can ask whether the software finds what is there and nothing else.
// Makers, models, suppliers and people are invented; numbers and addresses are of ranges that
// reach nobody (country code 00, example.org).
//
// It knows nothing of ingest, analysis or report: it only writes files such as strangers send.
package demo
