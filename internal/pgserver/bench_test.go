//go:build unix

package pgserver

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkStart starts and stops the server of an existing cluster on disk; the metric start-ms is the part until
// its first answer.
func BenchmarkStart(b *testing.B) {
	cfg := benchConfig(b)
	var started time.Duration
	for b.Loop() {
		s, err := Acquire(b.Context(), cfg)
		if err != nil {
			b.Fatal(err)
		}
		started += s.StartedIn()
		if err := s.Release(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(started.Milliseconds())/float64(b.N), "start-ms")
}

// BenchmarkJoin joins and leaves the users of a running server.
func BenchmarkJoin(b *testing.B) {
	cfg := benchConfig(b)
	first, err := Acquire(b.Context(), cfg)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s, err := Acquire(b.Context(), cfg)
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Release(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	b.StopTimer()
	if err := first.Release(b.Context()); err != nil {
		b.Fatal(err)
	}
}

// benchConfig makes a cluster on disk.
func benchConfig(b *testing.B) Config {
	b.Helper()
	dir := openDir(b, os.TempDir())
	cfg := Config{DataDir: filepath.Join(dir, "journal"), Local: projectPrograms()}
	s, err := Acquire(b.Context(), cfg)
	if err != nil {
		b.Skip(err)
	}
	if err := s.Release(b.Context()); err != nil {
		b.Fatal(err)
	}
	return cfg
}
