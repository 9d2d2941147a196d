package fetch

import (
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"syscall"
)

// elsewhere is an address that is not asked.
type elsewhere struct{ why string }

func (e elsewhere) Error() string { return e.why }

// keyed is the place of an Ask in the context of its request.
type keyed struct{}

// mayAsk judges an address before it is asked.
func (c *Client) mayAsk(at *url.URL) error {
	switch {
	case at == nil || at.Hostname() == "":
		return elsewhere{"the address names no host"}
	case at.User != nil:
		return elsewhere{"the address has a name and password in it"}
	case at.Scheme == "https", at.Scheme == "http" && slices.Contains(c.opt.Loopback, at.Host):
		return nil
	}
	return elsewhere{fmt.Sprintf("the address begins with %s:, and only https: is asked", at.Scheme)}
}

// mayFollow judges where an answer leads to.
func (c *Client) mayFollow(next *http.Request, via []*http.Request) error {
	first := via[0].URL
	switch {
	case len(via) > c.opt.Redirects:
		return elsewhere{fmt.Sprintf("it led on more than %d times", c.opt.Redirects)}
	case next.URL.Scheme != first.Scheme:
		return elsewhere{fmt.Sprintf("it led from %s: to %s:", first.Scheme, next.URL.Scheme)}
	}
	if ask, ok := next.Context().Value(keyed{}).(Ask); ok && next.URL.Host != first.Host && ask.Key.Name != "" {
		next.Header.Del(ask.Key.Name)
	}
	return c.mayAsk(next.URL)
}

// mayDial judges the address that a name has led to, which no name service can get round.
func (c *Client) mayDial(_, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return fmt.Errorf("judge the address %s: %w", address, errors.Join(err, elsewhere{"the address is none"}))
	}
	if public(at.Addr()) || slices.Contains(c.opt.Loopback, address) {
		return nil
	}
	return elsewhere{fmt.Sprintf("%s is an address within a network of its own", at.Addr())}
}

// notPublic are addresses that lead to this machine, to its own network or to nobody, beyond those that netip knows.
// Source: IANA IPv4 and IPv6 Special-Purpose Address Registries.
var notPublic = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"),
	netip.MustParsePrefix("100.64.0.0/10"),
	netip.MustParsePrefix("192.0.0.0/24"),
	netip.MustParsePrefix("192.0.2.0/24"),
	netip.MustParsePrefix("192.88.99.0/24"),
	netip.MustParsePrefix("198.18.0.0/15"),
	netip.MustParsePrefix("198.51.100.0/24"),
	netip.MustParsePrefix("203.0.113.0/24"),
	netip.MustParsePrefix("240.0.0.0/4"),
	netip.MustParsePrefix("64:ff9b:1::/48"),
	netip.MustParsePrefix("100::/64"),
	netip.MustParsePrefix("2001::/23"),
	netip.MustParsePrefix("2001:db8::/32"),
	netip.MustParsePrefix("2002::/16"),
	netip.MustParsePrefix("fec0::/10"),
}

// translated holds an IPv4 address in its last four bytes (RFC 6052).
var translated = netip.MustParsePrefix("64:ff9b::/96")

func public(at netip.Addr) bool {
	at = at.Unmap().WithZone("")
	if translated.Contains(at) {
		all := at.As16()
		at = netip.AddrFrom4([4]byte(all[12:]))
	}
	if !at.IsGlobalUnicast() || at.IsPrivate() { // unspecified, loopback, link-local, multicast, broadcast
		return false
	}
	return !slices.ContainsFunc(notPublic, func(p netip.Prefix) bool { return p.Contains(at) })
}
