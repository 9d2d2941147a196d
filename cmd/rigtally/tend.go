package main

import (
	"context"

	"rigtally/gauges"
)

// tending is a keeper of readings at work beside the pages.
type tending struct {
	keeper *gauges.Keeper
	cancel context.CancelFunc
	ended  chan struct{}
}

// begin has the keeper work until end, or until ctx ends.
func (t *tending) begin(ctx context.Context) {
	ctx, t.cancel = context.WithCancel(ctx)
	t.ended = make(chan struct{})
	go func() {
		defer close(t.ended)
		t.keeper.Run(ctx)
	}()
}

// end waits for the keeper, which may never have begun.
func (t *tending) end() {
	if t.cancel == nil {
		return
	}
	t.cancel()
	<-t.ended
}
