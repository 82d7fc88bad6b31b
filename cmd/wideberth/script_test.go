package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"wideberth/testdata"
)

// TestMain lets scripts call the program by its name, with a clock that stands
// still, and lets tests start it as it is in a process of its own.
func TestMain(m *testing.M) {
	if os.Getenv(asCutter) != "" {
		os.Exit(cutAlone(os.Args[1], os.Args[2]))
	}
	if os.Getenv(asProgram) != "" {
		main()
	}
	testscript.Main(m, map[string]func(){"wideberth": func() {
		w := &world{out: os.Stdout, err: os.Stderr, now: standing}
		os.Exit(run(context.Background(), w, os.Args[1:]))
	}})
}

// TestScripts runs the commands as a stranger would type them: every file in
// testdata/script is one session with what it must print.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", Setup: func(e *testscript.Env) error {
		if err := writeWorlds(e.WorkDir); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(e.WorkDir, "kessa.json"), testdata.Dog(), 0o600); err != nil {
			return err
		}
		e.Setenv("DOOR", fmt.Sprintf("%g,%g", testdata.DoorLat, testdata.DoorLon))
		return nil
	}})
}

// writeWorlds puts the small worlds beside a script.
func writeWorlds(dir string) error {
	return fs.WalkDir(testdata.Worlds(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(testdata.Worlds(), path)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, path), b, 0o600)
	})
}
