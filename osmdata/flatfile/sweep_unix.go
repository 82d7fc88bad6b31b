//go:build linux || darwin || freebsd || netbsd || openbsd

package flatfile

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// hold marks an unfinished file as somebody's for as long as they live: the mark goes
// with the process, however it ends.
func hold(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }

// sweep removes the unfinished files of a path that nobody holds: of writers that were
// killed. What cannot be looked at stays.
func sweep(path string) {
	dir, prefix := filepath.Dir(path), unfinished(path)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		random, ours := strings.CutPrefix(e.Name(), prefix)
		if !ours || !e.Type().IsRegular() || random == "" || strings.Trim(random, "0123456789") != "" {
			continue
		}
		f, err := os.OpenFile(filepath.Join(dir, e.Name()), os.O_RDWR, 0)
		if err != nil {
			continue
		}
		if hold(f) == nil {
			_ = os.Remove(f.Name())
		}
		_ = f.Close()
	}
}
