//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakMemory is the largest resident size a finished process had, in bytes.
func peakMemory(p *os.ProcessState) int64 {
	u, ok := p.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" {
		return int64(u.Maxrss)
	}
	return int64(u.Maxrss) << 10
}
