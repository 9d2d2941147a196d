// Package reach is how others reach the pages: addresses, certificates, proxies.
package reach

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"net/url"
	"strings"
	"time"
)

// Settings say how others reach the pages. The zero value lets nobody in.
type Settings struct {
	Address      string         // where: https://journal.example.org
	Listen       string         // host:port for the pages; "" for the way's usual one
	ListenHTTP   string         // host:port for plain http, which never shows a page; "" for the way's usual one
	Certificate  string         // a file with the certificate and those it rests on
	Key          string         // the file with its private key
	Proxies      []netip.Prefix // proxies that bring the visitors over plain http
	LocalNetwork bool           // the local network, by a certificate authority of its own

	Directory string // the address of the certificate authority's ACME directory; "" for Let's Encrypt
	Root      string // a file with the certificate that the directory's own rests on; "" for those the system knows
	Email     string // where the authority writes when something is wrong; "" for nowhere

	Dir string // the folder for what is kept: keys, certificates

	lookEvery time.Duration // how often the certificate is looked at; 0 for the usual
}

// Beyond reports whether anybody beyond this machine is let in.
func (s Settings) Beyond() bool {
	return s.Address != "" || s.Listen != "" || s.ListenHTTP != "" || s.Certificate != "" || s.Key != "" || len(s.Proxies) > 0 || s.LocalNetwork
}

// Check says what to do where settings make no sense together.
func (s Settings) Check() error {
	switch {
	case !s.Beyond():
		return nil
	case s.LocalNetwork && (s.Address != "" || s.Certificate != "" || s.Key != "" || len(s.Proxies) > 0):
		return errors.New("--local-network goes by this machine's own name and certificate; leave --address, --certificate, --key and --behind-proxy out, or leave --local-network out")
	case s.LocalNetwork:
		return nil
	case len(s.Proxies) > 0 && (s.Certificate != "" || s.Key != ""):
		return errors.New("behind a proxy it is the proxy that has the certificate; leave --certificate and --key out, or --behind-proxy")
	case len(s.Proxies) > 0 && s.ListenHTTP != "":
		return errors.New("behind a proxy it is the proxy that answers plain http; leave --listen-http out")
	case len(s.Proxies) > 0 && s.Address == "":
		return errors.New("say at which address the proxy shows the pages, as in --address https://journal.example.org")
	case (s.Certificate == "") != (s.Key == ""):
		return errors.New("a certificate and its key come in two files; give both, --certificate FILE and --key FILE")
	case s.Certificate != "" && s.Address == "":
		return errors.New("say which of the certificate's names the pages answer to, as in --address https://journal.example.org")
	case s.Address == "":
		return errors.New("--listen is for letting others in; say how with --address, --behind-proxy or --local-network, or choose a port of this machine with --port")
	}
	host, _, err := s.host()
	if err != nil {
		return err
	}
	if _, err := netip.ParseAddr(host); err == nil && s.byACME() {
		return fmt.Errorf("a certificate is given to a name, not to the address %s; use a name that leads to this machine, or --local-network", host)
	}
	if s.byACME() && !strings.Contains(host, ".") {
		return fmt.Errorf("no certificate is given to %q; use a whole name such as journal.example.org, or --local-network", host)
	}
	return nil
}

// byACME reports whether the certificate is asked for.
func (s Settings) byACME() bool {
	return s.Address != "" && s.Certificate == "" && len(s.Proxies) == 0
}

// host is the name in the address, and the name with the port unless that is https's own.
func (s Settings) host() (name, withPort string, err error) {
	wrong := fmt.Errorf("%q is not an address for the pages; write https:// and a name, as in https://journal.example.org", s.Address)
	u, err := url.Parse(s.Address)
	if err != nil || u.Scheme != "https" || u.User != nil || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" {
		return "", "", wrong
	}
	name = strings.ToLower(u.Hostname())
	if name == "" || strings.HasSuffix(name, ".") || strings.ContainsAny(name, "*_ ") {
		return "", "", wrong
	}
	for _, letter := range name {
		if letter > 127 {
			return "", "", fmt.Errorf("write the name %q as browsers send it, beginning with xn--", name)
		}
	}
	withPort = strings.ToLower(u.Host)
	return name, strings.TrimSuffix(strings.TrimSuffix(withPort, ":443"), ":"), nil
}

// port is where to listen for the address, if nothing else is said.
func (s Settings) port() string {
	u, err := url.Parse(s.Address)
	if err != nil || u.Port() == "" {
		return ":443"
	}
	return ":" + u.Port()
}

// ParseProxies reads a list of addresses and ranges of addresses.
func ParseProxies(list string) ([]netip.Prefix, error) {
	var proxies []netip.Prefix
	for _, word := range strings.FieldsFunc(list, func(r rune) bool { return r == ',' || r == ' ' }) {
		if addr, err := netip.ParseAddr(word); err == nil {
			addr = addr.Unmap().WithZone("")
			proxies = append(proxies, netip.PrefixFrom(addr, addr.BitLen()))
			continue
		}
		named, err := netip.ParsePrefix(word)
		if err != nil {
			return nil, fmt.Errorf("%q is not the address of a proxy; write 127.0.0.1, or a range such as 10.0.0.0/8", word)
		}
		if named.Bits() == 0 {
			return nil, fmt.Errorf("%q is everybody, and whoever is named here is believed; name the proxy's own address", word)
		}
		proxies = append(proxies, named.Masked())
	}
	return proxies, nil
}

// ParseListen checks where to listen.
func ParseListen(where string) error {
	if where == "" {
		return nil
	}
	if _, err := net.ResolveTCPAddr("tcp", where); err != nil || !strings.Contains(where, ":") {
		return fmt.Errorf("%q is not a place to listen at; write host:port, or :8443 for every address of this machine", where)
	}
	return nil
}
