//go:build unix

package osmdata_test

import (
	"os"
	"syscall"
)

// maxRSSKB is the peak memory of a process that has ended, in kB as Linux counts.
func maxRSSKB(p *os.ProcessState) int64 { return int64(p.SysUsage().(*syscall.Rusage).Maxrss) } //nolint:unconvert // 32 bits on some systems
