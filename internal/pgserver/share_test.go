//go:build unix

package pgserver

import (
	"context"
	"errors"
	"testing"
	"time"
)

// Ensure that of two processes that make the same journal at once one does and both can use it, and that the
// last to leave stops the server.
func TestTwoProcessesAtOnce(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	a := startHolder(t, holdVar+"="+cfg.DataDir, nil)
	b := startHolder(t, holdVar+"="+cfg.DataDir, nil)
	a.awaitReady(t)
	b.awaitReady(t)
	s := acquire(t, cfg)
	if s.StartedIn() != 0 {
		t.Error("a third start took place")
	}
	a.leave(t)
	release(t, s)
	st, err := Inspect(cfg)
	if err != nil || !st.Running {
		t.Errorf("the server stopped with a user left (%v)", err)
	}
	b.leave(t)
	wantGone(t, s)
}

// Ensure that many users who come and go never find the server stopped under them.
func TestComeAndGo(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	errs := make(chan error)
	for range 3 {
		go func() { errs <- comeAndGo(cfg, 4) }()
	}
	for range 3 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
}

func comeAndGo(cfg Config, times int) error {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	for range times {
		s, err := Acquire(ctx, cfg)
		if err != nil {
			return err
		}
		err = s.EnsureDatabase(ctx, "journal")
		if err := errors.Join(err, s.Release(ctx)); err != nil {
			return err
		}
	}
	return nil
}

// Ensure that a started server outlives its starter and its users until it is stopped.
func TestStartAndStop(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	before, err := Inspect(cfg)
	if err != nil || before.Running || before.Major != 0 || before.URL("journal") != "" {
		t.Errorf("before: %+v (%v)", before, err)
	}
	if err := Stop(t.Context(), cfg); err != nil {
		t.Error("stopping what does not exist:", err)
	}
	st, err := Start(t.Context(), cfg)
	if err != nil || !st.Running || !supported(st.Major) || st.PID == 0 {
		t.Fatalf("started: %+v (%v)", st, err)
	}
	s := acquire(t, cfg)
	if s.StartedIn() != 0 || s.URL("x") != st.URL("x") {
		t.Error("the started server was not used")
	}
	release(t, s)
	if st, err := Inspect(cfg); err != nil || !st.Running {
		t.Errorf("the server left with its user (%v)", err)
	}
	if err := Stop(t.Context(), cfg); err != nil {
		t.Fatal(err)
	}
	wantGone(t, s)
}

// Ensure that a server in use is not stopped under its users, and stops with the last of them.
func TestStopInUse(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	if _, err := Start(t.Context(), cfg); err != nil {
		t.Fatal(err)
	}
	h := startHolder(t, holdVar+"="+cfg.DataDir, nil)
	h.awaitReady(t)
	s := acquire(t, cfg)
	err := Stop(t.Context(), cfg)
	wantError(t, err, cfg.DataDir, "rigtally serve")
	if !errors.Is(err, ErrInUse) {
		t.Error("not ErrInUse:", err)
	}
	if n := value[int](t, s, "SELECT 1"); n != 1 {
		t.Error(n)
	}
	h.leave(t)
	release(t, s)
	wantGone(t, s)
}
