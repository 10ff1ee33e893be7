// Package cells reads single cells of a repair log: dates, numbers, money, durations, weeks,
// quantities and serial numbers, as people and their programs write them in six languages.
//
// What one cell can't settle (03/04/2026, 1.234) is settled by votes over the whole column:
// OrderVote for dates, MarkVote for decimal marks. A cell that stays ambiguous is refused, never
// guessed. All functions take UTF-8 bytes, keep none of them, and return ok = false rather than
// a made-up value; the caller names file, line and column.
package cells
