package fetch

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// Kind is what went wrong, in what people can do about it.
type Kind int

// The kinds.
const (
	Offline    Kind = iota // the service can't be reached
	Wait                   // it asks to be left alone until RetryAt
	Busy                   // it takes no more questions for now
	Ailing                 // it has trouble of its own
	Unknown                // it has nothing at this address
	Refused                // it does not take the question
	BadKey                 // it does not take the key
	WebPage                // it answered with a page for people
	Slow                   // it answered too slowly
	Cut                    // its answer broke off
	TooMuch                // its answer is larger than it can be
	Elsewhere              // it led to an address that is not asked
	Untrusted              // it can't prove who it is
	Unreadable             // its answer is in another form than it was
)

// Error is a question that got no answer. Nothing of one was kept.
type Error struct {
	Service string // who was asked, in words
	Kind    Kind
	Status  int       // of the answer, 0 where there was none
	RetryAt time.Time // when the service asks to be asked again; zero where it did not say
	Cause   error     // for logs
}

var (
	errSlow    = errors.New("the answer came too slowly")
	errTooMuch = errors.New("the answer is too large")
)

// Error is what people are told, without when it is tried again.
func (e *Error) Error() string {
	who := e.Service
	if who == "" {
		who = "the service"
	}
	who = strings.ToUpper(who[:1]) + who[1:]
	status := ""
	if e.Status != 0 {
		status = fmt.Sprintf(" (status %d)", e.Status)
	}
	switch e.Kind {
	case Wait:
		return who + " asks to wait"
	case Busy:
		return who + " takes no more questions for now"
	case Ailing:
		return who + " has trouble of its own" + status
	case Unknown:
		return who + " has nothing at this address" + status + "; the gauge's number may be wrong, or the service has moved"
	case Refused:
		return who + " did not take the question" + status
	case BadKey:
		return who + " did not take the key" + status + "; look at the setting usgs_api_key_file"
	case WebPage:
		return who + " answered with a web page instead of readings; its address may have changed"
	case Slow:
		return who + " answered too slowly and was given up"
	case Cut:
		return who + " broke off in the middle of its answer, of which nothing was kept"
	case TooMuch:
		return who + " answered with more than it should have, of which nothing was kept"
	case Elsewhere:
		return who + " is not asked at this address: " + because(e.Cause)
	case Untrusted:
		return who + " could not prove who it is, so it was not asked"
	case Unreadable:
		return who + " answered in a form that is not understood: " + because(e.Cause)
	}
	return who + " can't be reached; there may be no network"
}

func because(err error) string {
	var to elsewhere
	switch {
	case errors.As(err, &to):
		return to.why
	case err == nil:
		return "no cause is known"
	}
	return err.Error()
}

// Unwrap is the cause.
func (e *Error) Unwrap() error { return e.Cause }

// Again says when a service is asked the next time and that nothing is lost, after what went wrong. A zero time is left out.
func (e *Error) Again(at, now time.Time) string { return Again(e.Error(), at, now) }

// Again is Error.Again for trouble that was kept as words. The time is told in the zone of now.
func Again(trouble string, at, now time.Time) string {
	switch {
	case trouble == "":
		return ""
	case at.IsZero():
		return trouble + ". What is here stays."
	case strings.HasSuffix(trouble, " asks to wait"):
		return trouble + " until " + Clock(at, now) + ". What is here stays."
	}
	return trouble + ". What is here stays, and it is asked again at " + Clock(at, now) + "."
}

// Clock is a time of day in now's zone, with its day where that is another than now's. With a zero now it is in its own zone.
func Clock(at, now time.Time) string {
	if !now.IsZero() {
		at = at.In(now.Location())
		if at.YearDay() == now.YearDay() && at.Year() == now.Year() {
			return at.Format("15:04")
		}
	}
	return at.Format("15:04 on Mon Jan 2")
}

// failed is an error without an answer: asked is the context of whoever asked, ctx the one with this client's limits.
func (c *Client) failed(asked, ctx context.Context, ask Ask, err error) error {
	if asked.Err() != nil {
		return fmt.Errorf("ask %s: %w", ask.Service, context.Cause(asked))
	}
	e := &Error{Service: ask.Service, Cause: err}
	var to elsewhere
	var certificate *tls.CertificateVerificationError
	var record tls.RecordHeaderError
	var network net.Error
	switch {
	case errors.As(err, &to):
		e.Kind = Elsewhere
	case errors.Is(err, errTooMuch):
		e.Kind = TooMuch
	case errors.As(err, &certificate), errors.As(err, &record):
		e.Kind = Untrusted
	case errors.Is(context.Cause(ctx), errSlow):
		e.Kind = Slow
	case isDial(err):
		e.Kind = Offline
	case errors.As(err, &network) && network.Timeout():
		e.Kind = Slow
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF), errors.As(err, &network):
		e.Kind = Cut
	default:
		e.Kind = Cut // what unpacks or frames an answer found it broken
	}
	return e
}

func isDial(err error) bool {
	var op *net.OpError
	var dns *net.DNSError
	return errors.As(err, &op) && op.Op == "dial" || errors.As(err, &dns)
}

// refused is an answer of another status than was hoped for.
func (c *Client) refused(ask Ask, response *http.Response) error {
	e := &Error{Service: ask.Service, Status: response.StatusCode, Kind: Refused}
	switch status := response.StatusCode; {
	case status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable:
		if e.RetryAt = c.retryAt(response.Header.Get("Retry-After")); !e.RetryAt.IsZero() {
			e.Kind = Wait
		} else if e.Kind = Ailing; status == http.StatusTooManyRequests {
			e.Kind = Busy
		}
	case status >= 500:
		e.Kind = Ailing
	case status == http.StatusNotFound || status == http.StatusGone:
		e.Kind = Unknown
	case (status == http.StatusUnauthorized || status == http.StatusForbidden) && ask.Key.Value != "":
		e.Kind = BadKey
	}
	return e
}

// longestWait is how long a service may ask to wait.
const longestWait = 7 * 24 * time.Hour

// retryAt reads Retry-After (RFC 9110, 10.2.3): seconds, or a date. Zero where it says nothing.
func (c *Client) retryAt(value string) time.Time {
	now := c.opt.Now()
	at, err := http.ParseTime(value)
	if seconds, bad := strconv.ParseUint(strings.TrimSpace(value), 10, 31); bad == nil {
		at, err = now.Add(time.Duration(seconds)*time.Second), nil
	}
	if err != nil || !at.After(now) {
		return time.Time{}
	}
	if last := now.Add(longestWait); at.After(last) {
		return last
	}
	return at
}

// Backoff is how long to wait after so many failures in a row: least, and any part of it beyond that by chance, which
// doubles with each failure up to most. Chance is from 0 to 1. All of what is added is by chance, so that many who failed at
// once do not come back at once.
func Backoff(failures int, least, most time.Duration, chance float64) time.Duration {
	room := least
	for range failures - 1 {
		if room *= 2; room >= most {
			break
		}
	}
	return least + time.Duration(chance*float64(min(room, most)))
}
