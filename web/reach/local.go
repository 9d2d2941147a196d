package reach

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"rigtally/web"
)

// renewBefore is how long before its end a certificate is made anew.
const renewBefore = 30 * 24 * time.Hour

// openLocal listens in the local network, with an authority of the machine's own, which plain http offers to phones.
func (w *Way) openLocal(s Settings) (err error) {
	host, err := os.Hostname()
	if err != nil {
		return fmt.Errorf("find this machine's name: %w", err)
	}
	host, _, _ = strings.Cut(strings.ToLower(host), ".")
	addrs, err := localAddrs()
	if err != nil {
		return err
	}
	beyond := slices.DeleteFunc(slices.Clone(addrs), netip.Addr.IsLoopback)
	if len(beyond) == 0 {
		return errors.New("this machine has no address in a local network; connect it to one, or use --address")
	}
	if w.pages, err = listen(s.Listen, ":7337"); err != nil {
		return err
	}
	if w.plain, err = listen(s.ListenHTTP, ":7338"); err != nil {
		return err
	}
	a, err := openAuthority(filepath.Join(s.Dir, "local-network"), host, time.Now())
	if err != nil {
		return err
	}
	local := &localCertificate{authority: a, names: hostNames(host), now: time.Now}
	if err := local.renew(addrs); err != nil {
		return err
	}
	at := func(host string, l net.Listener) string { return net.JoinHostPort(host, fmt.Sprint(portOf(l))) }
	w.Place = web.Place{Origin: "https://" + strings.TrimSuffix(at(beyond[0].String(), w.pages), ":443"), ByAddress: true}
	for _, name := range local.names {
		w.Place.Hosts = append(w.Place.Hosts, strings.TrimSuffix(at(name, w.pages), ":443"))
	}
	w.pages = secured(w.pages, local.get)
	w.beside = offer{a, w.Place.Origin + "/"}
	w.Words = append(w.Words,
		"Once on each phone: open http://"+at(beyond[0].String(), w.plain)+"/ and follow the steps there.",
		"The certificate that the phone shows must have this SHA-256 fingerprint:",
		"  "+a.fingerprint())
	if len(w.Place.Hosts) > 1 {
		w.Words = append(w.Words, "Where the network knows names, the pages are at https://"+w.Place.Hosts[len(w.Place.Hosts)-1]+"/, too.")
	}
	return nil
}

// localAddrs are this machine's addresses that local networks use.
func localAddrs() ([]netip.Addr, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("find this machine's addresses: %w", err)
	}
	var addrs []netip.Addr
	for _, a := range all {
		if prefix, err := netip.ParsePrefix(a.String()); err == nil && isLocal(prefix.Addr().Unmap()) {
			addrs = append(addrs, prefix.Addr().Unmap())
		}
	}
	slices.SortFunc(addrs, netip.Addr.Compare) // those of IPv4 first
	return addrs, nil
}

// localCertificate is the certificate of a machine in its local network, made anew when it is near its end or a visitor
// comes to an address that it does not hold.
type localCertificate struct {
	authority *authority
	names     []string
	now       func() time.Time

	mu    sync.Mutex
	last  *tls.Certificate
	addrs []netip.Addr // that it holds
}

func (c *localCertificate) get(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	came, err := netip.ParseAddrPort(hello.Conn.LocalAddr().String())
	if err != nil {
		return nil, fmt.Errorf("read the address of a connection: %w", err)
	}
	at := came.Addr().Unmap()
	if !isLocal(at) && !slices.Contains(c.names, strings.ToLower(hello.ServerName)) {
		return nil, fmt.Errorf("a visitor came to %s, which is not in a local network", at)
	}
	held := slices.Contains(c.addrs, at) || !isLocal(at)
	if held && c.now().Before(c.last.Leaf.NotAfter.Add(-renewBefore)) {
		return c.last, nil
	}
	addrs, err := localAddrs()
	if err != nil {
		return nil, err
	}
	if !held && !slices.Contains(addrs, at) {
		addrs = append(addrs, at)
	}
	if err := c.renew(addrs); err != nil {
		return nil, err
	}
	return c.last, nil
}

// renew makes the certificate anew for addresses.
func (c *localCertificate) renew(addrs []netip.Addr) error {
	now := c.now()
	key, der, err := c.authority.issue(c.names, addrs, now)
	if err != nil {
		return err
	}
	pair := &tls.Certificate{Certificate: [][]byte{der, c.authority.cert.Raw}, PrivateKey: key}
	if pair.Leaf, err = x509.ParseCertificate(der); err != nil {
		return err
	}
	c.last, c.addrs = pair, addrs
	return nil
}
