package store_test

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// inFiles gives the name of the database file or side file that holds a text.
func inFiles(t *testing.T, path, text string) string {
	t.Helper()
	for _, side := range []string{"", "-wal", "-shm"} {
		raw, err := os.ReadFile(path + side)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		if bytes.Contains(raw, []byte(text)) {
			return filepath.Base(path + side)
		}
	}
	return ""
}
