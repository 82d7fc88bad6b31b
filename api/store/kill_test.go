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
	"wideberth/api/wire/kept"
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
				_, _, err := s.AddEncounter(ctx, w, dog, kept.EncounterInput{Key: key, At: start, Kind: "dogs", Note: strings.Repeat("x", i%700)}, "")
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

// TestKill kills the child at random moments, on either database, and finds every log
// that it was told is kept.
func TestKill(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes of its own")
	}
	kills := 8
	if os.Getenv("WIDEBERTH_SLOW") == "1" {
		kills = 1000
	} else {
		t.Logf("%d kills on each; WIDEBERTH_SLOW=1 does 1000", kills)
	}
	t.Run("sqlite", func(t *testing.T) { killed(t, newFile(t), kills) })
	t.Run("postgres", func(t *testing.T) { killed(t, postgres(t), kills) })
}

// killed kills writers to one database so many times.
func killed(t *testing.T, path string, kills int) {
	t.Helper()
	seed := mrand.Uint64()
	t.Logf("seed %d", seed)
	rng := mrand.New(mrand.NewPCG(seed, 0))

	ctx := t.Context()
	o := store.Options{Now: func() time.Time { return start }, Rand: rand.Reader, Count: countAll}
	s, err := store.Open(ctx, path, o)
	if err != nil {
		t.Fatal(err)
	}
	who, err := s.Local(ctx)
	if err != nil {
		t.Fatal(err)
	}
	acknowledged, sum := map[string]map[string]bool{}, 0 // keys by dog
	dog := ""
	for i := range kills {
		if i%killsOfADog == 0 {
			d, err := s.AddDog(ctx, who, profile("Fern"), said(profile("Fern")))
			if err != nil {
				t.Fatal(err)
			}
			dog, acknowledged[d.ID] = d.ID, map[string]bool{}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		for _, key := range runAndKill(t, path, dog, time.Duration(30+rng.IntN(250))*time.Millisecond) {
			acknowledged[dog][key] = true
			sum++
		}
		if s, err = store.Open(ctx, path, o); err != nil {
			t.Fatalf("opening after a kill: %v", err)
		}
		allKept(t, s, who, dog, acknowledged[dog])
	}
	for dog, keys := range acknowledged {
		allKept(t, s, who, dog, keys)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if sum < kills {
		t.Fatalf("only %d logs were acknowledged in %d runs: nothing was tested", sum, kills)
	}
	t.Logf("%d kills, %d acknowledged logs, all found", kills, sum)
}

// killsOfADog keeps the logs of one dog well below what can be kept of it.
const killsOfADog = 25

// allKept finds every log of a dog that was acknowledged.
func allKept(t *testing.T, s *store.Store, who store.Who, dog string, acknowledged map[string]bool) {
	t.Helper()
	list, err := s.Encounters(t.Context(), who, dog, "", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	missing := len(acknowledged)
	for _, e := range list {
		if acknowledged[e.Key] {
			missing--
		}
	}
	if missing > 0 {
		t.Fatalf("%d of %d acknowledged logs are gone", missing, len(acknowledged))
	}
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
