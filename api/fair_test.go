package api_test

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"wideberth/api"
	"wideberth/api/store"
)

// TestOneAskerAgainstAnother: over HTTP one account keeps 64 connections busy with
// plans while another asks for one at a time. Each of the other's plans is answered, and
// while it is, of the greedy one's at most two are begun and ended for each place
// beside it: waiting is counted in turns, so the load of the machine has no say.
func TestOneAskerAgainstAnother(t *testing.T) {
	m, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "memory.db"), store.Options{Now: noon, Rand: rand.Reader})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	key := func(name string) string {
		w, err := m.CreateAccount(t.Context(), name, "Ada")
		if err != nil {
			t.Fatal(err)
		}
		token, _, err := m.NewToken(t.Context(), w, w.Person, "test", 1)
		if err != nil {
			t.Fatal(err)
		}
		return token
	}
	const searches = 2
	web := httptest.NewServer(server(t, api.Options{Store: m, Searches: searches, Wait: time.Minute, Crowd: 64, Queue: 256}).Handler())
	defer web.Close()
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 100}}
	plan := func(token string) (int, error) {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, web.URL+"/v1/plans", strings.NewReader(wish(`,"minutes":20`)))
		if err != nil {
			return 0, err
		}
		r.Header.Set("Authorization", "Bearer "+token)
		r.Header.Set("Content-Type", "application/json")
		res, err := client.Do(r)
		if err != nil {
			return 0, err
		}
		defer res.Body.Close()
		_, err = io.Copy(io.Discard, res.Body)
		return res.StatusCode, err
	}
	greedy, other := key("Ash House"), key("Birch House")
	var planned, refused atomic.Int64
	var stop atomic.Bool
	var all sync.WaitGroup
	busy := make(chan struct{})
	var once sync.Once
	for range 64 {
		all.Go(func() {
			for !stop.Load() {
				switch status, err := plan(greedy); {
				case err != nil:
					t.Error(err)
					return
				case status == http.StatusOK:
					planned.Add(1)
					once.Do(func() { close(busy) })
				case status == http.StatusTooManyRequests:
					refused.Add(1)
				default:
					t.Errorf("the greedy one got %d", status)
				}
			}
		})
	}
	<-busy
	const plans = 12
	before := planned.Load()
	for i := range plans {
		if status, err := plan(other); err != nil || status != http.StatusOK {
			t.Errorf("plan %d of the other: %d, %v", i, status, err)
		}
	}
	during := planned.Load() - before
	stop.Store(true)
	all.Wait()
	fmt.Printf("  64 connections of one asker: %d plans during %d of another, %d refused\n", during, plans, refused.Load())
	if most := int64(2 * searches * plans); during > most {
		t.Errorf("%d plans of the greedy one during %d of the other, want at most %d", during, plans, most)
	}
}
