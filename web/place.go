package web

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// Place is where visitors find the pages. The zero value is this machine alone, over plain http at the port that was opened.
type Place struct {
	Origin    string         // how their addresses begin, such as https://journal.example.org; "" for this machine alone
	Hosts     []string       // the hosts under which they answer, in small letters, with a port unless it is https's own
	ByAddress bool           // they answer to the machine's own address, too: the one that a connection came to
	Proxies   []netip.Prefix // the proxies that are believed in what they say of a visitor
	Strict    bool           // browsers are told to come by https ever after
}

// Alone reports whether only this machine reaches the pages.
func (p Place) Alone() bool { return p.Origin == "" }

// Visitor says from which address a request was first sent, and whether it was sent by https. Forwarded headers count
// only where a named proxy sent them: of a list of addresses, the last one that is no named proxy is the visitor's.
func (p Place) Visitor(r *http.Request) (ip netip.Addr, https bool) {
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}, r.TLS != nil // not from a connection: a handler called directly
	}
	ip = plainAddr(peer.Addr())
	if !p.believes(ip) {
		return ip, r.TLS != nil
	}
	for _, hop := range slices.Backward(forwarded(r, "X-Forwarded-For")) {
		addr, err := netip.ParseAddr(hop)
		if err != nil {
			break
		}
		if ip = plainAddr(addr); !p.believes(ip) {
			break
		}
	}
	ways := forwarded(r, "X-Forwarded-Proto")
	return ip, len(ways) > 0 && !slices.ContainsFunc(ways, func(way string) bool { return !strings.EqualFold(way, "https") })
}

// fromProxy reports whether a named proxy sent a request.
func (p Place) fromProxy(r *http.Request) bool {
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && p.believes(plainAddr(peer.Addr()))
}

func (p Place) believes(ip netip.Addr) bool {
	return slices.ContainsFunc(p.Proxies, func(named netip.Prefix) bool { return named.Contains(ip) })
}

// asSent is a request with the host that the visitor wrote, where a named proxy wrote another one.
func (p Place) asSent(r *http.Request) *http.Request {
	named := forwarded(r, "X-Forwarded-Host")
	if len(named) != 1 || !p.fromProxy(r) || p.answers(r) {
		return r
	}
	sent := *r
	sent.Host = named[0]
	return &sent
}

// answers reports whether the pages answer under the host that a request names.
func (p Place) answers(r *http.Request) bool {
	if p.Alone() {
		return thisMachine(r)
	}
	host := strings.ToLower(r.Host)
	return slices.Contains(p.Hosts, strings.TrimSuffix(host, ":443")) || p.ByAddress && itsAddress(r, host)
}

// itsAddress reports whether a host is the address and port that the request's connection came to.
func itsAddress(r *http.Request, host string) bool {
	local, _ := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if local == nil {
		return false
	}
	came, err := netip.ParseAddrPort(local.String())
	if err != nil {
		return false
	}
	named, err := netip.ParseAddrPort(host)
	if err != nil {
		if named, err = netip.ParseAddrPort(host + ":443"); err != nil {
			return false
		}
	}
	return named.Port() == came.Port() && named.Addr() == plainAddr(came.Addr())
}

// thisMachine reports whether the request names this machine and, as far as the
// connection tells it, the port it came in by.
func thisMachine(r *http.Request) bool {
	host, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		host, port = r.Host, "80"
	}
	if !slices.Contains([]string{"127.0.0.1", "localhost", "::1", "[::1]"}, host) {
		return false
	}
	local, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	if !ok {
		return true // not from a connection: a handler called directly
	}
	_, ours, err := net.SplitHostPort(local.String())
	return err == nil && port == ours
}

// forwarded lists the values of a header that proxies add to.
func forwarded(r *http.Request, name string) []string {
	var list []string
	for _, line := range r.Header.Values(name) {
		for value := range strings.SplitSeq(line, ",") {
			list = append(list, strings.TrimSpace(value))
		}
	}
	return list
}

// plainAddr is an address as people write it, however the connection did.
func plainAddr(ip netip.Addr) netip.Addr { return ip.Unmap().WithZone("") }
