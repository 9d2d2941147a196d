package fetch

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// noon is when these tests play: an invented day, in an invented zone six hours west of Greenwich.
var noon = time.Date(2026, 5, 6, 12, 0, 0, 0, time.FixedZone("", -6*3600))

const agency = "the U.S. Geological Survey"

// asking serves answers on this machine and asks for one of them as an agency's.
func asking(t *testing.T, opt Options, ask Ask, answer http.HandlerFunc) (Answer, error) {
	t.Helper()
	server := httptest.NewServer(answer)
	t.Cleanup(server.Close)
	at, err := url.Parse(server.URL + "/items?f=json")
	if err != nil {
		t.Fatal(err)
	}
	opt.Loopback, opt.Version = []string{at.Host}, "1.2.3 (commit invented)"
	if opt.Now == nil {
		opt.Now = func() time.Time { return noon }
	}
	ask.Service, ask.URL = agency, at
	return New(opt).Get(t.Context(), ask)
}

func said(t *testing.T, err error, want string) *Error {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("the error is %v; it has to be an *Error", err)
	}
	next := e.RetryAt
	if next.IsZero() {
		next = noon.Add(20 * time.Minute)
	}
	if got := e.Again(next, noon); got != want {
		t.Errorf("it says\n%s\nand has to say\n%s", got, want)
	}
	return e
}

// What a person is told of each way in which a service can fail: the words stand beside what it answered. When a question
// is asked again is told by who asks; here it is 20 minutes later, unless the service named a time.
func TestTrouble(t *testing.T) {
	t.Parallel()
	status := func(code int, headers ...string) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			for i := 0; i < len(headers); i += 2 {
				w.Header().Set(headers[i], headers[i+1])
			}
			w.WriteHeader(code)
			fmt.Fprint(w, `{"code":"invented"}`)
		}
	}
	cut := func(w http.ResponseWriter, r *http.Request) { // says more than it sends
		w.Header().Set("Content-Length", "1000")
		fmt.Fprint(w, `{"features":[`)
	}
	for _, c := range []struct {
		name   string
		answer http.HandlerFunc
		opt    Options
		key    string
		want   string
		at     time.Time // when the service asks to be asked again
	}{
		{"429 with seconds", status(429, "Retry-After", "9000"), Options{}, "",
			"The U.S. Geological Survey asks to wait until 14:30. What is here stays.", noon.Add(150 * time.Minute)},
		{"429 with a date", status(429, "Retry-After", "Wed, 06 May 2026 18:05:00 GMT"), Options{}, "",
			"The U.S. Geological Survey asks to wait until 12:05. What is here stays.", noon.Add(5 * time.Minute)},
		{"503 with seconds", status(503, "Retry-After", "120"), Options{}, "",
			"The U.S. Geological Survey asks to wait until 12:02. What is here stays.", noon.Add(2 * time.Minute)},
		{"until another day", status(503, "Retry-After", "86400"), Options{}, "",
			"The U.S. Geological Survey asks to wait until 12:00 on Thu May 7. What is here stays.", noon.Add(24 * time.Hour)},
		{"for longer than a week", status(503, "Retry-After", "99999999"), Options{}, "",
			"The U.S. Geological Survey asks to wait until 12:00 on Wed May 13. What is here stays.", noon.Add(7 * 24 * time.Hour)},
		{"429 without a time", status(429), Options{}, "",
			"The U.S. Geological Survey takes no more questions for now. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"429 with a time that is past", status(429, "Retry-After", "Wed, 06 May 2026 11:00:00 GMT"), Options{}, "",
			"The U.S. Geological Survey takes no more questions for now. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"503", status(503), Options{}, "",
			"The U.S. Geological Survey has trouble of its own (status 503). What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"500", status(500), Options{}, "",
			"The U.S. Geological Survey has trouble of its own (status 500). What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"404", status(404), Options{}, "",
			"The U.S. Geological Survey has nothing at this address (status 404); the gauge's number may be wrong, or the service has moved. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"400", status(400), Options{}, "",
			"The U.S. Geological Survey did not take the question (status 400). What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"403 with a key", status(403), Options{}, "invented",
			"The U.S. Geological Survey did not take the key (status 403); look at the setting usgs_api_key_file. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"HTML in place of JSON", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			fmt.Fprint(w, "<!doctype html><title>We have moved</title>")
		}, Options{}, "",
			"The U.S. Geological Survey answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"HTML that calls itself JSON", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "application/json")
			fmt.Fprint(w, "\ufeff\n <html>")
		}, Options{}, "",
			"The U.S. Geological Survey answered with a web page instead of readings; its address may have changed. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"cut", cut, Options{}, "",
			"The U.S. Geological Survey broke off in the middle of its answer, of which nothing was kept. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"cut in its packing", func(w http.ResponseWriter, _ *http.Request) {
			var all bytes.Buffer
			pack := gzip.NewWriter(&all)
			_, _ = pack.Write(bytes.Repeat([]byte(`{"value":"1.76"},`), 1000))
			_ = pack.Close()
			w.Header().Set("Content-Encoding", "gzip")
			_, _ = w.Write(all.Bytes()[:all.Len()/2])
		}, Options{}, "",
			"The U.S. Geological Survey broke off in the middle of its answer, of which nothing was kept. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"too large", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, strings.Repeat("x", 1001)) }, Options{MaxBytes: 1000}, "",
			"The U.S. Geological Survey answered with more than it should have, of which nothing was kept. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"too large once unpacked", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Encoding", "gzip")
			pack := gzip.NewWriter(w)
			_, _ = io.CopyN(pack, zeros{}, 1<<20)
			_ = pack.Close()
		}, Options{MaxBytes: 1<<20 - 1}, "",
			"The U.S. Geological Survey answered with more than it should have, of which nothing was kept. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"led in a circle", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/items", http.StatusFound) }, Options{}, "",
			"The U.S. Geological Survey is not asked at this address: it led on more than 3 times. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"led to a private address", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://192.168.1.1/items", http.StatusFound)
		}, Options{}, "",
			"The U.S. Geological Survey is not asked at this address: the address begins with http:, and only https: is asked. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"led to another port of this machine", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://127.0.0.1:1/", http.StatusFound)
		}, Options{}, "",
			"The U.S. Geological Survey is not asked at this address: the address begins with http:, and only https: is asked. What is here stays, and it is asked again at 12:20.", time.Time{}},
		{"led to another scheme", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "https://10.0.0.1/", http.StatusFound)
		}, Options{}, "",
			"The U.S. Geological Survey is not asked at this address: it led from http: to https:. What is here stays, and it is asked again at 12:20.", time.Time{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := asking(t, c.opt, Ask{Key: Key{"X-Api-Key", c.key}}, c.answer)
			if e := said(t, err, c.want); !e.RetryAt.Equal(c.at) {
				t.Errorf("to be asked again at %s; it has to be %s", e.RetryAt, c.at)
			}
		})
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// A service at https that leads to an address within a network, by its number or by a name, is not followed: the address is
// judged as it is dialed.
func TestLedWithin(t *testing.T) {
	t.Parallel()
	for _, to := range []string{"https://127.0.0.1:1/", "https://10.1.2.3/", "https://[::1]/", "https://169.254.169.254/latest", "https://localhost:1/", "https://0.0.0.0/"} {
		t.Run(to, func(t *testing.T) {
			server := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, to, http.StatusFound) }))
			t.Cleanup(server.Close)
			at, _ := url.Parse(server.URL)
			roots := x509.NewCertPool()
			roots.AddCert(server.Certificate())
			_, err := New(Options{Loopback: []string{at.Host}, Roots: roots}).Get(t.Context(), Ask{Service: agency, URL: at})
			var e *Error
			if !errors.As(err, &e) || e.Kind != Elsewhere || !strings.HasSuffix(e.Error(), "is an address within a network of its own") {
				t.Errorf("the error is %v", err)
			}
		})
	}
}

// A server whose certificate nobody known has signed is not asked.
func TestUntrusted(t *testing.T) {
	t.Parallel()
	server := httptest.NewUnstartedServer(http.NotFoundHandler())
	server.Config.ErrorLog = log.New(io.Discard, "", 0)
	server.StartTLS()
	t.Cleanup(server.Close)
	at, _ := url.Parse(server.URL)
	_, err := New(Options{Loopback: []string{at.Host}}).Get(t.Context(), Ask{Service: agency, URL: at})
	said(t, err, "The U.S. Geological Survey could not prove who it is, so it was not asked. What is here stays, and it is asked again at 12:20.")
}

// Nobody is there, and no name leads anywhere.
func TestOffline(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	at := &url.URL{Scheme: "http", Host: l.Addr().String()}
	_ = l.Close()
	const want = "The U.S. Geological Survey can't be reached; there may be no network. What is here stays, and it is asked again at 12:20."
	_, err = New(Options{Loopback: []string{at.Host}}).Get(t.Context(), Ask{Service: agency, URL: at})
	said(t, err, want)
	c := New(Options{}).over(func(context.Context, string, string) (net.Conn, error) {
		return nil, &net.OpError{Op: "dial", Net: "tcp", Err: &net.DNSError{Err: "no such host", Name: "api.example.org", IsNotFound: true}}
	})
	_, err = c.Get(t.Context(), Ask{Service: agency, URL: &url.URL{Scheme: "https", Host: "api.example.org"}})
	said(t, err, want)
}

// Answers that come too slowly are given up: before the first line, between two parts, and as a whole though parts keep
// coming. The clock is the test's own.
func TestSlow(t *testing.T) {
	t.Parallel()
	part := func(n int) string { return fmt.Sprintf("%x\r\n%s\r\n", n, strings.Repeat("x", n)) }
	const head = "HTTP/1.1 200 OK\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
	for _, c := range []struct {
		name  string
		speak func(to net.Conn)
		after time.Duration
	}{
		{"no first line", func(net.Conn) {}, 30 * time.Second},
		{"stalled", func(to net.Conn) { _, _ = io.WriteString(to, head+part(40000)) }, 20 * time.Second},
		{"a trickle", func(to net.Conn) {
			for _, err := io.WriteString(to, head); err == nil; time.Sleep(15 * time.Second) {
				_, err = io.WriteString(to, part(10))
			}
		}, 2 * time.Minute},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				client := New(Options{}).over(func(context.Context, string, string) (net.Conn, error) {
					near, far := net.Pipe()
					go func() {
						defer far.Close()
						if _, err := http.ReadRequest(bufio.NewReader(far)); err != nil {
							t.Error(err)
						}
						c.speak(far)
						_, _ = io.Copy(io.Discard, far) // until it is given up
					}()
					return near, nil
				})
				client.opt.Loopback = []string{"127.0.0.1:80"}
				began := time.Now()
				_, err := client.Get(t.Context(), Ask{Service: agency, URL: &url.URL{Scheme: "http", Host: "127.0.0.1:80"}})
				said(t, err, "The U.S. Geological Survey answered too slowly and was given up. What is here stays, and it is asked again at 12:20.")
				if took := time.Since(began); took != c.after {
					t.Errorf("given up after %s; it has to be %s", took, c.after)
				}
				client.http.CloseIdleConnections()
				time.Sleep(time.Minute) // of the test's clock, for the server's side to end
			})
		})
	}
}

// Who gives up asking is told so, and not that the service failed.
func TestGivenUp(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	began := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { close(began); <-r.Context().Done() }))
	t.Cleanup(server.Close)
	go func() { <-began; cancel() }()
	at, _ := url.Parse(server.URL)
	_, err := New(Options{Loopback: []string{at.Host}}).Get(ctx, Ask{Service: agency, URL: at})
	var e *Error
	if !errors.Is(err, context.Canceled) || errors.As(err, &e) {
		t.Errorf("the error is %v", err)
	}
}

// What a service is told: the program and its version, that answers may be packed, what is known already, and a key.
func TestTold(t *testing.T) {
	t.Parallel()
	var got http.Header
	answer, err := asking(t, Options{}, Ask{Key: Key{"X-Api-Key", "invented"}, ETag: `"a"`, LastModified: "Wed, 06 May 2026 10:00:00 GMT"}, func(w http.ResponseWriter, r *http.Request) {
		got = r.Header
		w.Header().Set("ETag", `"b"`)
		w.Header().Set("Content-Encoding", "gzip")
		w.WriteHeader(http.StatusPartialContent) // which Hub'Eau says of each page but the last
		pack := gzip.NewWriter(w)
		fmt.Fprint(pack, `{"features":[]}`)
		_ = pack.Close()
	})
	if err != nil || string(answer.Body) != `{"features":[]}` || answer.ETag != `"b"` || answer.Same {
		t.Errorf("the answer is %+v, %v", answer, err)
	}
	want := http.Header{
		"User-Agent":        {"rigtally/1.2.3 (a fishing journal; asks each gauge every 15 minutes at most)"},
		"Accept":            {"application/geo+json, application/json"},
		"Accept-Encoding":   {"gzip"},
		"X-Api-Key":         {"invented"},
		"If-None-Match":     {`"a"`},
		"If-Modified-Since": {"Wed, 06 May 2026 10:00:00 GMT"},
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("told\n%v\nand it has to be\n%v", got, want)
	}
}

// 304 says that there is nothing new; by what the answer is known stays.
func TestSame(t *testing.T) {
	t.Parallel()
	answer, err := asking(t, Options{}, Ask{ETag: `"a"`, LastModified: "Wed, 06 May 2026 10:00:00 GMT"}, func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusNotModified)
	})
	if err != nil || !answer.Same || answer.Body != nil || answer.ETag != `"a"` || answer.LastModified != "Wed, 06 May 2026 10:00:00 GMT" {
		t.Errorf("the answer is %+v, %v", answer, err)
	}
}

// A key goes to the host that it is for, and not to one that this host leads to.
func TestKeyStays(t *testing.T) {
	t.Parallel()
	keys := make(chan string, 2)
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		keys <- r.Header.Get("X-Api-Key")
		fmt.Fprint(w, "{}")
	}))
	t.Cleanup(other.Close)
	first := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		keys <- r.Header.Get("X-Api-Key")
		http.Redirect(w, r, other.URL, http.StatusFound)
	}))
	t.Cleanup(first.Close)
	at, _ := url.Parse(first.URL)
	to, _ := url.Parse(other.URL)
	if _, err := New(Options{Loopback: []string{at.Host, to.Host}}).Get(t.Context(), Ask{Service: agency, URL: at, Key: Key{"X-Api-Key", "invented"}}); err != nil {
		t.Fatal(err)
	}
	if one, two := <-keys, <-keys; one != "invented" || two != "" {
		t.Errorf("the keys were %q and %q", one, two)
	}
}

// A host is asked one question at a time; who gives up waiting is told so.
func TestOneAtATime(t *testing.T) {
	t.Parallel()
	var now, most atomic.Int32
	let := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if n := now.Add(1); n > most.Load() {
			most.Store(n)
		}
		<-let
		now.Add(-1)
		fmt.Fprint(w, "{}")
	}))
	t.Cleanup(server.Close)
	at, _ := url.Parse(server.URL)
	c := New(Options{Loopback: []string{at.Host}})
	var all sync.WaitGroup
	for range 5 {
		all.Go(func() {
			if _, err := c.Get(t.Context(), Ask{Service: agency, URL: at}); err != nil {
				t.Error(err)
			}
		})
	}
	for now.Load() == 0 {
		runtime.Gosched()
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := c.Get(gone, Ask{Service: agency, URL: at}); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	close(let)
	all.Wait()
	if most.Load() != 1 {
		t.Errorf("asked %d questions at once", most.Load())
	}
}

// Which addresses are public. Source: IANA IPv4 and IPv6 Special-Purpose Address Registries.
func TestPublic(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bool{
		"8.8.8.8": true, "137.227.232.142": true, "2001:4860:4860::8888": true, "64:ff9b::8.8.8.8": true, "::ffff:8.8.8.8": true,
		"127.0.0.1": false, "10.0.0.1": false, "172.16.0.1": false, "192.168.1.1": false, "169.254.169.254": false, "0.0.0.0": false, "100.64.0.1": false,
		"192.0.2.1": false, "198.18.0.1": false, "224.0.0.1": false, "255.255.255.255": false, "240.0.0.1": false,
		"::1": false, "::": false, "fe80::1": false, "fe80::1%eth0": false, "fc00::1": false, "fec0::1": false, "ff02::1": false, "2001:db8::1": false, "2002:0a00:0001::": false,
		"::ffff:127.0.0.1": false, "::ffff:10.0.0.1": false, "64:ff9b::10.0.0.1": false, "64:ff9b:1::1": false,
	} {
		if got := public(netip.MustParseAddr(text)); got != want {
			t.Errorf("%s is public: %t; it has to be %t", text, got, want)
		}
	}
}

// Full jitter with a floor: the wait is the least and a part, by chance, of what doubles with each failure up to the most.
// After Brooker, "Exponential Backoff And Jitter" (2015), with the floor added so that no agency is asked sooner than ever.
func TestBackoff(t *testing.T) {
	t.Parallel()
	const least, most = 15 * time.Minute, 6 * time.Hour
	for _, c := range []struct {
		failures int
		chance   float64
		want     time.Duration
	}{
		{1, 0, least}, {9, 0, least}, {1, 1, 30 * time.Minute}, {2, 1, 45 * time.Minute}, {2, 0.5, 30 * time.Minute}, {3, 1, 75 * time.Minute},
		{5, 1, least + 4*time.Hour}, {6, 1, least + most}, {1000000, 1, least + most}, {0, 1, 30 * time.Minute},
	} {
		if got := Backoff(c.failures, least, most, c.chance); got != c.want {
			t.Errorf("after %d failures, by chance %g: %s; it has to be %s", c.failures, c.chance, got, c.want)
		}
	}
}

// Whatever a service says of when to come again, it is never in the past nor further away than a week.
func FuzzRetryAfter(f *testing.F) {
	for _, text := range []string{"120", "-1", "99999999999999999999", "Wed, 06 May 2026 18:05:00 GMT", "Wed, 06 May 1026 18:05:00 GMT", "", " 5 ", "1.5"} {
		f.Add(text)
	}
	c := New(Options{Now: func() time.Time { return noon }})
	f.Fuzz(func(t *testing.T, text string) {
		if at := c.retryAt(text); !at.IsZero() && (!at.After(noon) || at.After(noon.Add(longestWait))) {
			t.Errorf("%q is read as %s", text, at)
		}
	})
}
