package search

import (
	"context"
	"errors"
)

// ErrWork says that a search has done all the work that it was allowed. What it has
// found until then holds.
var ErrWork = errors.New("the search has done all the work that it may")

// Work is what one search may still do: a number of steps, so that the same wish
// gives the same answer on every machine, and a context that ends it at any time. A
// step is about as much as looking at one vertex. Not safe for concurrent use.
type Work struct {
	ctx    context.Context
	left   int64
	unseen int64 // steps since the context was last looked at
	err    error // why it ended
}

// lookEvery is after how many steps the context is looked at again: some
// milliseconds.
const lookEvery = 1 << 16

// NewWork allows so many steps.
func NewWork(ctx context.Context, steps int64) *Work {
	return &Work{ctx: ctx, left: steps, unseen: lookEvery}
}

// Spend counts steps that were done. The error is the context's, or ErrWork when
// nothing is left; it stays, so that whoever was told once is told again.
func (w *Work) Spend(steps int) error {
	if w.err != nil {
		return w.err
	}
	w.left -= int64(steps)
	if w.unseen += int64(steps); w.unseen >= lookEvery {
		w.unseen = 0
		if w.err = w.ctx.Err(); w.err != nil {
			return w.err
		}
	}
	if w.left < 0 {
		w.err = ErrWork
	}
	return w.err
}

// Left is the number of steps that may still be done.
func (w *Work) Left() int64 { return max(0, w.left) }
