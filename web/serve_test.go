package web_test

import (
	"context"
	"net"
	"net/http"
	"testing"
	"time"

	"rigtally/web/webtest"
)

func TestServeEndsInOrder(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Server.Serve(ctx, l) }()
	res, err := http.Get("http://" + l.Addr().String() + "/")
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil {
		t.Error(err)
	}
	if res.StatusCode != http.StatusOK {
		t.Errorf("status %d", res.StatusCode)
	}
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Error("the server did not end")
	}
	if _, err := net.Dial("tcp", l.Addr().String()); err == nil {
		t.Error("the port still answers")
	}
}
