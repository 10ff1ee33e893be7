package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a command is: a bar on a terminal, one plain line per stage elsewhere.
type progress struct {
	w     io.Writer
	tty   bool
	quiet bool

	mu    sync.Mutex
	stage string
	bar   *progressbar.ProgressBar
}

func newProgress(w io.Writer, quiet bool) *progress {
	f, ok := w.(*os.File)
	return &progress{w: w, quiet: quiet, tty: ok && term.IsTerminal(int(f.Fd()))}
}

// at reports that stage has done so many of total units; total 0 means unknown.
func (p *progress) at(stage string, done, total int64) {
	if p.quiet {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if stage != p.stage {
		p.finish()
		p.stage = stage
		if !p.tty {
			fmt.Fprintln(p.w, stage)
		} else {
			if total <= 0 {
				total = -1
			}
			p.bar = progressbar.NewOptions64(total,
				progressbar.OptionSetWriter(p.w), progressbar.OptionSetDescription(stage),
				progressbar.OptionSetWidth(24), progressbar.OptionThrottle(100*time.Millisecond),
				progressbar.OptionClearOnFinish(), progressbar.OptionSetPredictTime(true))
		}
	}
	if p.bar != nil {
		_ = p.bar.Set64(done) // a bar that can't draw is no reason to stop
	}
}

// close clears the bar, so that what follows stands on a clean line.
func (p *progress) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.finish()
	p.stage = ""
}

func (p *progress) finish() {
	if p.bar != nil {
		_ = p.bar.Clear()
		p.bar = nil
	}
}
