package main

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/web"
	"rigtally/web/door"
)

const (
	signInsAMinute = 1000
	signInSeconds  = 30
	signInPeople   = 20
	pagesASecond   = 5
	passphrase     = "gravel kettle borrowed moonlight"
)

// signIns times pages while people sign in, a thousand a minute, right and wrong in turn, against the same pages while
// nobody does. Each sign-in comes from an address of its own, so that only the bound of hashes holds it up.
func (b *bench) signIns(ctx context.Context) error {
	store, err := b.open(ctx, "signins")
	if err != nil {
		return err
	}
	defer store.Close()
	if _, err := demo.Fill(ctx, store, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		return err
	}
	const origin = "https://journal.example.org"
	at, err := url.Parse(origin)
	if err != nil {
		return err
	}
	people, err := door.NewPeople(store, at, func(r *http.Request) netip.Addr { return netip.MustParseAddr(r.Header.Get("Bench-From")) }, time.Now)
	if err != nil {
		return err
	}
	server, err := web.New(store, web.Options{Door: people})
	if err != nil {
		return err
	}
	ts := httptest.NewServer(server.Handler())
	defer ts.Close()
	ts.Client().CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	var from atomic.Uint32
	send := func(method, path string, form url.Values, cookie string) (*http.Response, error) {
		r, err := http.NewRequestWithContext(ctx, method, ts.URL+path, strings.NewReader(form.Encode()))
		if err != nil {
			return nil, err
		}
		n := from.Add(1)
		r.Header.Set("Bench-From", netip.AddrFrom4([4]byte{10, byte(n >> 16), byte(n >> 8), byte(n)}).String())
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if cookie != "" {
			r.Header.Set("Cookie", cookie)
		}
		res, err := ts.Client().Do(r)
		if err == nil {
			err = res.Body.Close()
		}
		return res, err
	}
	var accounts []string
	cookie := ""
	for i := range signInPeople {
		secret, err := store.Invite(ctx, journal.Invitation{Name: fmt.Sprintf("Invented person %d", i), Role: journal.RoleGuide})
		if err != nil {
			return err
		}
		res, err := send(http.MethodPost, "/join/"+secret, url.Values{"word": {fmt.Sprintf("person%d", i)}, "passphrase": {passphrase}}, "")
		if err != nil {
			return err
		}
		for _, c := range res.Cookies() {
			if c.Name == "__Host-rigtally" {
				cookie = c.Name + "=" + c.Value
			}
		}
		account, err := b.accountOf(ctx, fmt.Sprintf("person%d", i))
		if err != nil {
			return err
		}
		accounts = append(accounts, account)
	}
	page := func() error {
		res, err := send(http.MethodGet, "/sessions", nil, cookie)
		if err == nil && res.StatusCode != http.StatusOK {
			err = fmt.Errorf("the page answers with status %d", res.StatusCode)
		}
		return err
	}
	quiet, err := paced(page, pagesASecond, 10*time.Second)
	if err != nil {
		return err
	}
	var in, wrong, later, other atomic.Int32
	var work sync.WaitGroup
	stop := time.After(signInSeconds * time.Second)
	work.Go(func() {
		tick := time.NewTicker(time.Minute / signInsAMinute)
		defer tick.Stop()
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			case <-tick.C:
			}
			account, says := accounts[n%len(accounts)], passphrase
			if n%2 == 1 {
				account, says = fmt.Sprintf("nobody-%04d", n), "no passphrase of anybody’s at all"
			}
			work.Go(func() {
				res, err := send(http.MethodPost, "/sign-in", url.Values{"account": {account}, "passphrase": {says}}, "")
				switch {
				case err != nil:
					other.Add(1)
				case res.StatusCode == http.StatusSeeOther:
					in.Add(1)
				case res.StatusCode == http.StatusUnauthorized:
					wrong.Add(1)
				case res.StatusCode == http.StatusTooManyRequests:
					later.Add(1)
				default:
					other.Add(1)
				}
			})
		}
	})
	busy, err := paced(page, pagesASecond, signInSeconds*time.Second)
	if err != nil {
		return err
	}
	work.Wait()
	fmt.Printf("\na page of sessions while %d sign-ins a minute are tried for %d s\n  meanwhile %s; 95%% within %s\n  quiet     %s; 95%% within %s\n  ratio     %.2f times as long\n  sign-ins  %d in, %d refused, %d told to wait, %d failed\n",
		signInsAMinute, signInSeconds, busy, round(busy.quantile(0.95)), quiet, round(quiet.quantile(0.95)), busy.median().Seconds()/quiet.median().Seconds(), in.Load(), wrong.Load(), later.Load(), other.Load())
	return nil
}

// accountOf is the account that begins with a word.
func (b *bench) accountOf(ctx context.Context, word string) (account string, err error) {
	conn, err := pgx.Connect(ctx, b.server.URL("signins"))
	if err != nil {
		return "", err
	}
	defer conn.Close(ctx)
	err = conn.QueryRow(ctx, `SELECT account FROM person WHERE account ~ ('^' || $1 || '[^0-9]*[0-9]{4}$')`, word).Scan(&account)
	return account, err
}

// paced times a step begun so many times a second, for a while.
func paced(step func() error, aSecond int, lasts time.Duration) (times timed, err error) {
	tick := time.NewTicker(time.Second / time.Duration(aSecond))
	defer tick.Stop()
	for end := time.Now().Add(lasts); time.Now().Before(end); <-tick.C {
		d, err := clock(step)
		if err != nil {
			return nil, err
		}
		times = append(times, d)
	}
	return times, nil
}
