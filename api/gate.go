package api

import (
	"context"
	"errors"
	"time"
)

// errBusy says that more is asked for than can be searched now.
var errBusy = errors.New("busy")

// gate bounds the searches at once and the requests that wait for one.
type gate struct {
	places chan struct{} // one token a running search
	queue  chan struct{} // one token a running or waiting request
	wait   time.Duration
}

func newGate(searches, queue int, wait time.Duration) *gate {
	return &gate{make(chan struct{}, searches), make(chan struct{}, searches+queue), wait}
}

// enter waits for a place; leave must be called if it succeeded.
func (g *gate) enter(ctx context.Context) error {
	select {
	case g.queue <- struct{}{}:
	default:
		return errBusy
	}
	timer := time.NewTimer(g.wait)
	defer timer.Stop()
	select {
	case g.places <- struct{}{}:
		return nil
	case <-timer.C:
		<-g.queue
		return errBusy
	case <-ctx.Done():
		<-g.queue
		return ctx.Err()
	}
}

func (g *gate) leave() {
	<-g.places
	<-g.queue
}
