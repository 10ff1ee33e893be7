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

// progress shows how far a command is: a bar with the time left on a terminal; elsewhere a plain line per stage, and one
// every now and then in stages that take long.
type progress struct {
	w     io.Writer
	tty   bool
	quiet bool

	mu     sync.Mutex
	stage  string
	bar    *progressbar.ProgressBar
	began  time.Time // the stage
	spoken time.Time // the last plain line
}

// A step is how far a stage is.
type step struct {
	stage       string
	detail      string // what is at work within the stage; may be empty
	done, total int64  // of any unit; total 0 means unknown
	rows        int64  // read so far; 0 says nothing
}

// between is how often a plain line is written.
const between = 10 * time.Second

func newProgress(w io.Writer, quiet bool) *progress {
	f, ok := w.(*os.File)
	return &progress{w: w, quiet: quiet, tty: ok && term.IsTerminal(int(f.Fd()))}
}

// at reports a step.
func (p *progress) at(s step) {
	if p.quiet {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now := time.Now()
	if s.stage != p.stage {
		p.finish()
		p.stage, p.began, p.spoken = s.stage, now, now
		if p.tty {
			p.bar = newBar(p.w, s.total)
		} else {
			fmt.Fprintln(p.w, s.stage)
		}
	}
	if p.bar != nil {
		p.bar.Describe(s.what())
		_ = p.bar.Set64(s.done) // a bar that can't draw is no reason to stop
	} else if !p.tty && now.Sub(p.spoken) >= between {
		p.spoken = now
		fmt.Fprintln(p.w, s.what()+s.left(now.Sub(p.began)))
	}
}

func newBar(w io.Writer, total int64) *progressbar.ProgressBar {
	if total <= 0 {
		total = -1
	}
	return progressbar.NewOptions64(total, progressbar.OptionSetWriter(w), progressbar.OptionSetWidth(16),
		progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), progressbar.OptionSetPredictTime(true))
}

// what names the step: "read log.csv, 120000 rows".
func (s step) what() string {
	text := s.stage
	if s.detail != "" {
		text += ": " + s.detail
	}
	if s.rows > 0 {
		text += fmt.Sprintf(", %d rows", s.rows)
	}
	return text
}

// left says how much is done and how long the rest takes at the pace so far.
func (s step) left(gone time.Duration) string {
	if s.total <= 0 || s.done <= 0 || s.done > s.total {
		return ""
	}
	rest := time.Duration(float64(gone) * float64(s.total-s.done) / float64(s.done))
	return fmt.Sprintf(", %d%%, about %s left", 100*s.done/s.total, rest.Round(time.Second))
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
