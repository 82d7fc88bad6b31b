//go:build linux || darwin || freebsd || netbsd || openbsd

package flatfile

import (
	"os"
	"syscall"
)

// contents is what a file holds, mapped: a file that is renamed or removed meanwhile
// stays there until it is unmapped.
func contents(f *os.File, size int) (data []byte, mapped bool, err error) {
	if size == 0 {
		return nil, false, nil
	}
	data, err = syscall.Mmap(int(f.Fd()), 0, size, syscall.PROT_READ, syscall.MAP_SHARED)
	if err != nil { // a file system that cannot
		data, err = whole(f, size)
		return data, false, err
	}
	return data, true, nil
}

func unmap(data []byte) error { return syscall.Munmap(data) }
