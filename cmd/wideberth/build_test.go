package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestFiguresBuilds builds the program twice, in two folders and the second time with
// nothing built before: not a byte differs, so that who has the sources can tell whether
// a program is theirs. And it prints how large the container's image is: what its file
// copies into nothing.
func TestFiguresBuilds(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" && os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("builds the program twice; set WIDEBERTH_FIGURES=1 (make figures) or WIDEBERTH_SLOW=1 (make slow)")
	}
	root, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	copied := t.TempDir()
	if err := copySources(root, copied); err != nil {
		t.Fatal(err)
	}
	first, second := built(t, root), built(t, copied, "GOCACHE="+t.TempDir())
	if !bytes.Equal(first, second) {
		t.Errorf("two builds of the same sources differ: %d bytes %x, %d bytes %x", len(first), sha256.Sum256(first), len(second), sha256.Sum256(second))
	}
	fmt.Printf("  two builds in two folders, the second from nothing: %d bytes each, sha256 %x\n", len(first), sha256.Sum256(first))
	size := imageBytes(t, root, len(first))
	fmt.Printf("  container image, computed from the COPY lines of its file: %.1f MB\n", float64(size)/1e6)
}

// copySources copies all that a build reads.
func copySources(from, to string) error {
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			if rel != "." && (strings.HasPrefix(d.Name(), ".") || slices.Contains([]string{"node_modules", "bin", "demo"}, d.Name())) {
				return filepath.SkipDir
			}
			return os.MkdirAll(filepath.Join(to, rel), 0o755)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(to, rel), b, 0o600)
	})
}

// built is the program, as make build makes it.
func built(t *testing.T, dir string, env ...string) []byte {
	t.Helper()
	out := filepath.Join(t.TempDir(), "wideberth")
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags", "-X main.version=test", "-o", out, "./cmd/wideberth")
	cmd.Dir, cmd.Env = dir, append(append(os.Environ(), "CGO_ENABLED=0"), env...)
	if said, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	b, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// imageBytes is the sum of what the container file copies into an image that begins with
// nothing.
func imageBytes(t *testing.T, root string, program int) (sum int64) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("service", "Containerfile"))
	if err != nil {
		t.Fatal(err)
	}
	copies := 0
	for line := range strings.Lines(string(raw)) {
		f := strings.Fields(line)
		switch {
		case len(f) == 2 && f[0] == "FROM" && f[1] != "scratch":
			t.Errorf("the image begins with %s", f[1])
		case len(f) == 3 && f[0] == "COPY" && f[1] == "bin/wideberth":
			copies, sum = copies+1, sum+int64(program)
		case len(f) == 3 && f[0] == "COPY":
			info, err := os.Stat(filepath.Join(root, f[1]))
			if err != nil {
				t.Fatal(err)
			}
			copies, sum = copies+1, sum+info.Size()
		}
	}
	if copies == 0 {
		t.Error("the container file copies nothing")
	}
	return sum
}
