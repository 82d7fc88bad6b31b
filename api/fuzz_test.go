package api_test

import (
	"context"
	"crypto/rand"
	"path/filepath"
	"testing"

	"wideberth/api"
	"wideberth/api/store"
)

// FuzzBodies sends whatever comes to any operation that takes a body: an answer or
// a problem, never a fault of ours, never a long answer to what is refused, and never
// one without bound to what is taken.
func FuzzBodies(f *testing.F) {
	m, err := store.Open(context.Background(), filepath.Join(f.TempDir(), "memory.db"), store.Options{Now: noon, Rand: rand.Reader})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { m.Close() })
	local, err := m.Local(context.Background())
	if err != nil {
		f.Fatal(err)
	}
	h := server(f, api.Options{Store: m, Local: local}).Handler()
	list := taking(f, h)
	plans := 0
	for i, op := range list {
		f.Add(uint(i), op.example)
		if op.path == "/v1/plans" {
			plans = i
		}
	}
	for _, seed := range []string{wish(`,"minutes":12,"shape":"there_and_back"`), wish(`,"to":{"lat":47.205,"lon":-6.999}`),
		wish(`,"shape":"longest_calm","max_expected_reactions":0.3,"minutes":12`),
		wish(`,"minutes":10,"limits":{"no_steps":true,"never_nearer":[{"from":"school","m":60}],"avoid":[{"at":{"lat":47.2,"lon":-7},"radius_m":50}]}`),
		`{}`, `[]`, `null`, `{"from":null}`, `{"from":{"lat":1e308,"lon":-1e308},"minutes":1e308}`, unknownKeys(3000)} {
		f.Add(uint(plans), seed)
	}
	f.Fuzz(func(t *testing.T, which uint, body string) {
		list[which%uint(len(list))].sent(t, h, "fuzzed", body)
	})
}
