package main

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"os"
	"time"

	"wideberth/routing/atlas"
)

// reloading reads a server's maps anew.
type reloading func(context.Context) (atlas.Change, error)

// readAnew does so and writes down what came of it.
func readAnew(ctx context.Context, a *atlas.Atlas, log *slog.Logger) (atlas.Change, error) {
	change, err := a.Reload(ctx)
	if err != nil {
		log.Error("maps were not read anew", "err", err)
	} else {
		log.Info("maps read anew", "maps", change.Tiles, "new", change.New, "gone", change.Gone)
	}
	return change, err
}

// hungUp reads the maps anew at each SIGHUP, and ends the server where the signal says that
// the terminal it was started from is gone.
func hungUp(ctx context.Context, hangup <-chan os.Signal, end func(), reload reloading) {
	had := onTerminal()
	for {
		select {
		case <-hangup:
			if had && !onTerminal() {
				end()
				return
			}
			_, _ = reload(ctx) // it is written down
		case <-ctx.Done():
			return
		}
	}
}

// onTerminal says that a terminal controls the program: POSIX lets none be opened as
// /dev/tty where that is not so or the terminal has hung up.
func onTerminal() bool {
	f, err := os.Open("/dev/tty")
	if err != nil {
		return false
	}
	_ = f.Close()
	return true
}

// handler answers POST /reload, at the address that only an operator's machines reach.
func (reload reloading) handler() http.Handler {
	answer := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_ = http.NewResponseController(w).SetWriteDeadline(time.Time{}) // a large folder takes its time
		change, err := reload(r.Context())
		w.Header().Set("Content-Type", "application/json")
		switch {
		case errors.Is(err, atlas.ErrReloading):
			w.WriteHeader(http.StatusConflict)
		case err != nil:
			w.WriteHeader(http.StatusServiceUnavailable)
		}
		var told any = change
		if err != nil {
			told = map[string]string{"error": err.Error()}
		}
		_ = json.NewEncoder(w).Encode(told) // who has gone reads no answer
	})
	return http.NewCrossOriginProtection().Handler(answer) // no page of another server's asks for it
}
