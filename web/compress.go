package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"strings"
	"sync"
)

// compressed sends pages and numbers in gzip to those who take it. A page holds
// no secret beside what an address could put into it, so that its length tells
// nobody anything.
func compressed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Add("Vary", "Accept-Encoding")
		if r.Method == http.MethodHead || !takesGzip(r) {
			next.ServeHTTP(w, r)
			return
		}
		c := &gzipResponse{ResponseWriter: w}
		defer c.close()
		next.ServeHTTP(c, r)
	})
}

// takesGzip reads the header as RFC 9110, 12.5.3, has it.
func takesGzip(r *http.Request) bool {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, weight, weighed := strings.Cut(strings.TrimSpace(part), ";")
		if name = strings.TrimSpace(name); !strings.EqualFold(name, "gzip") && name != "*" {
			continue
		}
		_, q, _ := strings.Cut(weight, "=")
		v, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
		return !weighed || err != nil || v > 0
	}
	return false
}

// compressible reports whether a body of a type shrinks.
func compressible(contentType string) bool {
	kind, _, _ := strings.Cut(contentType, ";")
	switch kind {
	case "application/json", "application/manifest+json", "image/svg+xml", "application/x-ndjson":
		return true
	}
	return strings.HasPrefix(kind, "text/")
}

var gzipWriters = sync.Pool{New: func() any { return gzip.NewWriter(nil) }}

// gzipResponse compresses what is written, unless it is compressed already.
type gzipResponse struct {
	http.ResponseWriter
	gz      *gzip.Writer
	decided bool
}

func (c *gzipResponse) WriteHeader(status int) {
	h := c.Header()
	bodiless := status == http.StatusNoContent || status == http.StatusNotModified || status < 200
	if !c.decided && !bodiless && h.Get("Content-Encoding") == "" && compressible(h.Get("Content-Type")) {
		h.Set("Content-Encoding", "gzip")
		h.Del("Content-Length")
		c.gz = gzipWriters.Get().(*gzip.Writer)
		c.gz.Reset(c.ResponseWriter)
	}
	c.decided = c.decided || status >= 200
	c.ResponseWriter.WriteHeader(status)
}

func (c *gzipResponse) Write(p []byte) (int, error) {
	if !c.decided {
		if c.Header().Get("Content-Type") == "" {
			c.Header().Set("Content-Type", http.DetectContentType(p))
		}
		c.WriteHeader(http.StatusOK)
	}
	if c.gz != nil {
		return c.gz.Write(p)
	}
	return c.ResponseWriter.Write(p)
}

// Unwrap lets http.ResponseController reach the connection.
func (c *gzipResponse) Unwrap() http.ResponseWriter { return c.ResponseWriter }

func (c *gzipResponse) close() {
	if c.gz != nil {
		_ = c.gz.Close() // a browser that went away is no failure
		gzipWriters.Put(c.gz)
	}
}

// gzipped compresses a file as far as it goes; nil when it does not shrink.
func gzipped(content []byte) []byte {
	var buf bytes.Buffer
	gz, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		return nil
	}
	if _, err := gz.Write(content); err != nil || gz.Close() != nil || buf.Len() >= len(content) {
		return nil
	}
	return buf.Bytes()
}
