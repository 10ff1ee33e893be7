// Package ingest turns the logs a shop exports into its history.
//
// In come files of any shape that logfile reads: one row per ticket, one row per part line, tickets
// and part lines in two files. Out comes one commit to the history: the tickets whose content is
// new or changed, the rows that could not be accepted, and a count of what was noticed.
//
// A run reads every log twice. The survey settles what only the whole file can tell (which of day
// and month stands first, which tickets have rows far apart) before anything is written. The
// second pass turns rows into lines, lines of one ticket into a ticket, and tickets into rows of
// the history, on several lanes at once. A ticket whose rows stood just so in an earlier
// export that this program read in the same way is passed over.
//
// Every row ends in exactly one place: accepted, quarantined with a reason, or duplicate; the
// counts of each file are checked to add up before the commit. Names, serial numbers and free text
// are used on the way and never stored.
package ingest
