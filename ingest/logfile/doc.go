// Package logfile reads a shop's exported log, whatever program wrote it, as chunks of rows and cells.
//
// In comes a file; out come its header and, on several goroutines at once, chunks of a megabyte or
// so that each end where a record ends. Cells are UTF-8 and unquoted; every row knows the line it
// starts on and how it stood.
//
// It knows nothing of repairs: which column means what is for ingest/columns, what a cell says for
// ingest/cells.
package logfile
