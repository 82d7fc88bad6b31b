package flatfile

import "syscall"

// rest unmaps the pages that are in memory; they belong to the file and are found there
// again. An error means that they stay.
func rest(data []byte) { _ = syscall.Madvise(data, syscall.MADV_DONTNEED) }
