package store_test

import (
	"bufio"
	"context"
	"crypto/rand"
	"fmt"
	mrand "math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"wideberth/api/store"
)

// writers is how many goroutines of the child log at the same time.
const writers = 4

// writeUntilKilled is the child: it logs as fast as it can and prints the key of
// each log once the store has acknowledged it.
func writeUntilKilled(path string) int {
	ctx := context.Background()
	s, err := store.Open(ctx, path, store.Options{Now: func() time.Time { return start }, Rand: rand.Reader, Count: countAll})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	w, err := s.Local(ctx)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	dog := os.Getenv("WIDEBERTH_KILL_DOG")
	failed := make(chan error)
	for n := range writers {
		go func() {
			for i := 0; ; i++ {
				key := fmt.Sprintf("%d/%d/%d", os.Getpid(), n, i)
				_, _, err := s.AddEncounter(ctx, w, dog, store.EncounterInput{Key: key, At: start, Kind: "dogs", Note: strings.Repeat("x", i%700)}, "")
				if err != nil {
					failed <- err
					return
				}
				os.Stdout.WriteString(key + "\n") // one write call a line: not buffered, not torn
			}
		}()
	}
	fmt.Fprintln(os.Stderr, <-failed)
	return 1
}

// TestKill kills the child at random moments and finds every log that it was
// told is kept.
func TestKill(t *testing.T) {
	kills := 8
	if os.Getenv("WIDEBERTH_SLOW") == "1" {
		kills = 200
	} else {
		t.Logf("%d kills; WIDEBERTH_SLOW=1 does 200", kills)
	}
	seed := mrand.Uint64()
	t.Logf("seed %d", seed)
	rng := mrand.New(mrand.NewPCG(seed, 0))

	ctx, path := t.Context(), newFile(t)
	o := store.Options{Now: func() time.Time { return start }, Rand: rand.Reader, Count: countAll}
	s, err := store.Open(ctx, path, o)
	if err != nil {
		t.Fatal(err)
	}
	who, err := s.Local(ctx)
	if err != nil {
		t.Fatal(err)
	}
	dog, err := s.AddDog(ctx, who, profile("Fern"), said(profile("Fern")))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	acknowledged := map[string]bool{}
	for range kills {
		for _, key := range runAndKill(t, path, dog.ID, time.Duration(30+rng.IntN(250))*time.Millisecond) {
			acknowledged[key] = true
		}
		if s, err = store.Open(ctx, path, o); err != nil {
			t.Fatalf("opening after a kill: %v", err)
		}
		list, err := s.Encounters(ctx, who, dog.ID, "", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		missing := len(acknowledged)
		for _, e := range list {
			if acknowledged[e.Key] {
				missing--
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if missing > 0 {
			t.Fatalf("%d of %d acknowledged logs are gone", missing, len(acknowledged))
		}
	}
	if len(acknowledged) < kills {
		t.Fatalf("only %d logs were acknowledged in %d runs: nothing was tested", len(acknowledged), kills)
	}
	t.Logf("%d kills, %d acknowledged logs, all found", kills, len(acknowledged))
}

// runAndKill starts the child, kills it (SIGKILL) some time after its first log,
// and gives the keys that it printed.
func runAndKill(t *testing.T, path, dog string, after time.Duration) (keys []string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), "WIDEBERTH_KILL_CHILD="+path, "WIDEBERTH_KILL_DOG="+dog)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if lines.Scan() {
		keys = append(keys, lines.Text())
	}
	time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	for lines.Scan() {
		keys = append(keys, lines.Text())
	}
	_ = cmd.Wait() // killed: that is what was asked for
	return keys
}
