// Command faultgrain turns a repair shop's own log into evidence.
//
// Results go to stdout or to files, progress and messages to stderr. It exits with 0 when done,
// 1 when something failed and 2 when it was called wrongly.
package main

import (
	"context"
	"os"
	"os/signal"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop() // not deferred: os.Exit skips defers
	os.Exit(code)
}
