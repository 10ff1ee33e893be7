// Command faultgrain turns a repair shop's own log into evidence.
//
// Results go to stdout or to files, progress and messages to stderr. It exits with 0 when done,
// 1 when something failed and 2 when it was called wrongly.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"time"
)

// patience is how long a run that is told to stop may take to tidy up after itself.
const patience = 500 * time.Millisecond

func main() {
	heap := spareCollections()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	done := context.AfterFunc(ctx, leave)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	done()
	stop() // not deferred: os.Exit skips defers
	runtime.KeepAlive(heap)
	os.Exit(code)
}

// leave ends a stopped run that is too deep in its sums to hear of it. Whatever it is at, history and report are
// written aside and take their places by renaming, so that nothing is left half done.
func leave() {
	time.Sleep(patience)
	fmt.Fprintln(os.Stderr, "faultgrain: stopped; the history is whole")
	os.Exit(exitFailed)
}

// spareCollections lets the heap grow to two and a half times what lives in it before it is swept, which saves time and
// keeps ten million rows below 1 GiB. There is no fixed limit: a heap that needs more would be swept all the time.
// A small shop's heap would be swept a dozen times while it grows; what is returned counts as part of the heap, so that
// it is first swept at 40 MB, and takes no memory, for nothing is written to it.
func spareCollections() []byte {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(150)
	}
	return make([]byte, 16<<20)
}
