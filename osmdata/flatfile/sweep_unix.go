//go:build linux || darwin || freebsd || netbsd || openbsd

package flatfile

import (
	"errors"
	"fmt"
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

// Lock keeps a folder to one process at a time, by a file of that name: it is held until
// the process ends, however it does, or the lock is released. Where another holds it the
// error is ErrInUse.
func Lock(path string) (release func() error, err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, fileMode)
	if err != nil {
		return nil, err
	}
	if err := hold(f); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = ErrInUse
		}
		return nil, errors.Join(fmt.Errorf("%s: %w", path, err), f.Close())
	}
	return f.Close, nil
}
