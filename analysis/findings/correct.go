package findings

import (
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// Correct fills the q of a whole table: Benjamini-Hochberg over the rows whose p is known. of gives a row's p and the
// place of its q.
func Correct[R any](rows []R, of func(*R) (p schemas.Float, q *schemas.Float)) error {
	var known []float64
	var places []*schemas.Float
	for i := range rows {
		if p, q := of(&rows[i]); p.OK {
			known, places = append(known, p.V), append(places, q)
		}
	}
	if len(known) == 0 {
		return nil
	}
	q, err := stat.BenjaminiHochberg(known)
	if err != nil {
		return err
	}
	for i, place := range places {
		*place = schemas.Known(q[i])
	}
	return nil
}
