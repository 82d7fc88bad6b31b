//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package flatfile

import "os"

// contents is what a file holds, in memory.
func contents(f *os.File, size int) (data []byte, mapped bool, err error) {
	data, err = whole(f, size)
	return data, false, err
}

func unmap([]byte) error { return nil }
