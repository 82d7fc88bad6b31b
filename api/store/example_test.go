package store_test

import (
	"context"
	"crypto/rand"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// A dog is kept in a file and read back by its handler's account.
func ExampleOpen() {
	dir, err := os.MkdirTemp("", "store")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx, now := context.Background(), time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	s, err := store.Open(ctx, filepath.Join(dir, "memory.db"), store.Options{
		Now: func() time.Time { return now }, Rand: rand.Reader,
		Count: func(expected []kept.Expected, _ []kept.Encounter) []float64 { return make([]float64, len(expected)) },
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	who, err := s.CreateAccount(ctx, "Birch House", "Robin")
	if err != nil {
		fmt.Println(err)
		return
	}
	if _, err := s.AddDog(ctx, who, kept.Profile{Name: "Fern"}, map[string]kept.Distance{
		"dogs": {Need: exposure.Need{WorkingM: 38, ReactionM: 15}, From: "said"},
	}); err != nil {
		fmt.Println(err)
		return
	}
	dogs, err := s.Dogs(ctx, who)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range dogs {
		fmt.Println(d.Profile.Name, d.Version, d.Distances["dogs"].WorkingM)
	}
	// Output: Fern 1 38
}
