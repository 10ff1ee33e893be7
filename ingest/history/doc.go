// Package history keeps what ingest has read: immutable Parquet segments, one manifest that says which of them
// count, and the secret that turns serial numbers into keys.
//
//	history/manifest.json                    segments, their hashes, the logs they came from, totals
//	history/key                              32 random bytes as hex, mode 0600
//	history/lock                             held while one process writes; names it
//	history/visits/seg-000001.parquet        one row per ticket version   (schemas.Visits)
//	history/faults/seg-000001.parquet        one row per visit and component (schemas.Faults)
//	history/parts/seg-000001.parquet         one row per part line        (schemas.Parts)
//	history/quarantine/seg-000001.parquet    rows not accepted            (schemas.Quarantine)
//	history/quality/seg-000001.parquet       what ingest noticed, counted (schemas.Quality)
//	history/replaced/seg-000001.parquet      visits this ingest retired, tickets it carried that had quarantined rows
//	history/index/ing-000001.idx             ticket hash -> visit, sorted; one per ingest
//
// Writing is one transaction: Begin takes the lock and opens a folder of its own beside the tables, segments are
// written there, and Commit syncs them, moves them to their places and replaces the manifest last. A process killed
// anywhere leaves the manifest as it was; what it left on disk is not part of the history, and the next Begin removes it.
//
// The current version of a ticket is the visit that no replaced file names. The package knows nothing of logs,
// columns or lexicons, and never stores a serial number, a name or free text.
package history
