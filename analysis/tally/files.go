package tally

import (
	"database/sql/driver"

	"faultgrain/ingest/history"
)

// fileLists are the Parquet files that count, oldest segment first; empty ones are left out.
type fileLists struct {
	visits, faults, parts, replaced, quality []string

	segments [][]driver.Value // number, first visit id
}

func listFiles(dir string) (fileLists, []history.SourceRecord, error) {
	h, err := history.Open(dir)
	if err != nil {
		return fileLists{}, nil, err
	}
	var f fileLists
	for table, list := range map[string]*[]string{
		history.VisitsTable: &f.visits, history.FaultsTable: &f.faults, history.PartsTable: &f.parts,
		history.ReplacedTable: &f.replaced, history.QualityTable: &f.quality,
	} {
		paths := h.Files(table)
		for _, s := range h.Manifest.Segments {
			if r, ok := s.Files[table]; ok {
				if r.Rows > 0 {
					*list = append(*list, paths[0])
				}
				paths = paths[1:]
			}
		}
	}
	var visits int64
	for _, s := range h.Manifest.Segments {
		f.segments = append(f.segments, []driver.Value{int64(s.Number), visits})
		visits += s.Files[history.VisitsTable].Rows
	}
	return f, h.Manifest.Sources, nil
}
