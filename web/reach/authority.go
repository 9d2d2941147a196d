package reach

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

const (
	authorityYears  = 10
	authorityFile   = "authority.pem"
	lastYear        = 365 * 24 * time.Hour // an authority this near its end gives way to a new one
	certificateTime = 365 * 24 * time.Hour // phones trust none that lasts over 398 days
	clocksDiffer    = 48 * time.Hour       // by how much a clock, here or on a phone, may be wrong
)

// authority is a certificate authority for one machine in its local network. It can vouch for nothing else.
type authority struct {
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
}

// localNetworks are the addresses that local networks use: RFC 1918, RFC 6598, RFC 4193, and the machine's own.
func localNetworks() []netip.Prefix {
	list := []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "127.0.0.0/8", "fc00::/7", "::1/128"}
	networks := make([]netip.Prefix, len(list))
	for i, text := range list {
		networks[i] = netip.MustParsePrefix(text)
	}
	return networks
}

func isLocal(ip netip.Addr) bool {
	return slices.ContainsFunc(localNetworks(), func(n netip.Prefix) bool { return n.Contains(ip) })
}

// openAuthority reads the authority in a folder, or makes one. It keeps key and certificate in one file, which
// nobody but its owner may read.
func openAuthority(dir, host string, now time.Time) (*authority, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of the certificate authority: %w", err)
	}
	name := filepath.Join(dir, authorityFile)
	a, err := readAuthority(name)
	if errors.Is(err, fs.ErrNotExist) || err == nil && now.After(a.cert.NotAfter.Add(-lastYear)) {
		return makeAuthority(name, host, now)
	}
	return a, err
}

func readAuthority(name string) (*authority, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, fmt.Errorf("read the certificate authority: %w", err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("others on this machine may have read the key in %s; remove the file, remove the certificate from the phones, and start again for a new one", name)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("read the certificate authority: %w", err)
	}
	a, err := parseAuthority(text)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be used: %w; remove it for a new one, which phones must then trust anew", name, err)
	}
	return a, nil
}

func parseAuthority(text []byte) (*authority, error) {
	keyPart, rest := pem.Decode(text)
	certPart, _ := pem.Decode(rest)
	if keyPart == nil || certPart == nil {
		return nil, errors.New("it is cut short")
	}
	key, err := x509.ParsePKCS8PrivateKey(keyPart.Bytes)
	if err != nil {
		return nil, err
	}
	ours, ok := key.(*ecdsa.PrivateKey)
	if !ok {
		return nil, errors.New("its key is of another kind")
	}
	cert, err := x509.ParseCertificate(certPart.Bytes)
	if err != nil {
		return nil, err
	}
	if !ours.PublicKey.Equal(cert.PublicKey) {
		return nil, errors.New("its key and certificate do not belong together")
	}
	return &authority{ours, cert}, nil
}

// makeAuthority makes an authority for a machine and writes it whole or not at all.
func makeAuthority(name, host string, now time.Time) (*authority, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	template := &x509.Certificate{
		Subject:                     pkix.Name{CommonName: "rigtally on " + host + ", made " + now.Format(time.DateOnly)},
		NotBefore:                   now.Add(-clocksDiffer),
		NotAfter:                    now.AddDate(authorityYears, 0, 0),
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		BasicConstraintsValid:       true,
		IsCA:                        true,
		MaxPathLenZero:              true,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         hostNames(host),
	}
	for _, network := range localNetworks() {
		template.PermittedIPRanges = append(template.PermittedIPRanges, &net.IPNet{
			IP: network.Addr().AsSlice(), Mask: net.CIDRMask(network.Bits(), network.Addr().BitLen())})
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		return nil, fmt.Errorf("make the certificate of an authority: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("write a key: %w", err)
	}
	var text bytes.Buffer
	err = errors.Join(pem.Encode(&text, &pem.Block{Type: "PRIVATE KEY", Bytes: secret}), pem.Encode(&text, &pem.Block{Type: "CERTIFICATE", Bytes: der}))
	if err == nil {
		err = writeWhole(name, text.Bytes())
	}
	if err != nil {
		return nil, fmt.Errorf("keep the certificate authority: %w", err)
	}
	return parseAuthority(text.Bytes())
}

// writeWhole writes a file that only its owner may read, under its name once it is complete.
func writeWhole(name string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".new-*") // 0600
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// issue makes a certificate for names and addresses. Its key is kept in memory alone.
func (a *authority) issue(names []string, addrs []netip.Addr, now time.Time) (*ecdsa.PrivateKey, []byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("make a key: %w", err)
	}
	template := &x509.Certificate{
		Subject:     pkix.Name{CommonName: "rigtally"},
		NotBefore:   now.Add(-clocksDiffer),
		NotAfter:    now.Add(certificateTime),
		KeyUsage:    x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:    names,
	}
	for _, addr := range addrs {
		template.IPAddresses = append(template.IPAddresses, addr.AsSlice())
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.cert, &key.PublicKey, a.key)
	if err != nil {
		return nil, nil, fmt.Errorf("make a certificate: %w", err)
	}
	return key, der, nil
}

// fingerprint is the SHA-256 of the authority's certificate, as phones show it.
func (a *authority) fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	return strings.ToUpper(strings.ReplaceAll(fmt.Sprintf("% x", sum), " ", ":"))
}

// hostNames are the names of a machine in its local network.
func hostNames(host string) []string {
	names := []string{"localhost"}
	if host != "localhost" {
		names = append(names, host, host+".local")
	}
	return names
}
