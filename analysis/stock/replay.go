package stock

import (
	"fmt"

	"faultgrain/analysis/stat"
)

// A Course is one part's demand by day with how it is ordered.
type Course struct {
	Demand       []int // pieces by day, oldest first, whole weeks
	Lead, Review int   // days; review at least 1
	Pack, Least  int   // pieces in a pack, and the smallest order the supplier takes; 0 means 1
}

func (c Course) weeks() int { return len(c.Demand) / 7 }

// weekly adds the days up.
func (c Course) weekly() []int {
	list := make([]int, c.weeks())
	for i, d := range c.Demand {
		list[i/7] += d
	}
	return list
}

// horizon is how long what is ordered now has to last: until the order after this one arrives.
func (c Course) horizon() int { return c.Lead + c.Review }

// A Record is what the replay of one rule saw.
type Record struct {
	Policy    string
	Days      int
	Demand    int
	Short     int // pieces asked for and not on the shelf; the job is lost
	Stockouts int // weeks with a piece short
	PieceDays int // pieces on the shelf at the end of each day, added up
	Looks     int // reviews whose horizon ended within the days
	Lasted    int // of them, those whose on hand and on order lasted until the order after that arrived
}

// Replay orders for the part from week from on, as if the future were not known: level is asked at every review, told
// how many weeks are known by then. The shelf starts at its level. Orders arrive in the morning of the day they are due.
func (c Course) Replay(from int, level func(weeksKnown int) (int, error)) (Record, error) {
	first := from * 7
	r := Record{Days: len(c.Demand) - first}
	due := make([]int, len(c.Demand)+c.Lead+1)
	onHand, onOrder := 0, 0
	shortWeek := -1
	for day := first; day < len(c.Demand); day++ {
		onHand, onOrder = onHand+due[day], onOrder-due[day]
		if (day-first)%c.Review == 0 {
			up, err := level(day / 7)
			if err != nil {
				return Record{}, err
			}
			if day == first {
				onHand = up
			}
			n := lotSize{c.Pack, c.Least}.order(up, onHand+onOrder)
			due[day+c.Lead] += n
			onOrder += n
			if c.Lead == 0 {
				onHand, onOrder = onHand+n, onOrder-n
			}
			r.look(c, day, onHand+onOrder)
		}
		asked := c.Demand[day]
		r.Demand += asked
		if lost := asked - onHand; lost > 0 {
			r.Short += lost
			if week := day / 7; week != shortWeek {
				shortWeek = week
				r.Stockouts++
			}
		}
		onHand = max(onHand-asked, 0)
		r.PieceDays += onHand
	}
	return r, nil
}

// look notes whether the position after ordering would last until the order after this one arrives.
func (r *Record) look(c Course, day, position int) {
	end := day + c.horizon()
	if end > len(c.Demand) {
		return
	}
	r.Looks++
	for _, d := range c.Demand[day:end] {
		position -= d
	}
	if position >= 0 {
		r.Lasted++
	}
}

// Compare replays this forecast and the ones it is measured against from week from on, in the order of the table.
// prior is what was thought of the weekly rate before the first week; aim is the chance of not running out.
func (c Course) Compare(from int, prior stat.GammaPrior, aim Target) ([]Record, error) {
	list, err := rules(c.weekly(), prior, c.horizon(), aim)
	if err != nil {
		return nil, err
	}
	var records []Record
	for _, r := range list {
		record, err := c.Replay(from, r.level)
		if err != nil {
			return nil, fmt.Errorf("replay %s: %w", r.name, err)
		}
		record.Policy = r.name
		records = append(records, record)
	}
	return records, nil
}
