package reach

import (
	"fmt"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Ensure that nginx, told what docs/server.md says, brings visitors to the pages.
func TestBehindNginx(t *testing.T) {
	t.Parallel()
	nginx, err := exec.LookPath("nginx")
	if err != nil {
		t.Skip("no nginx on PATH: what the guide says of it is not tried")
	}
	o := open(t, Settings{Address: "https://journal.example.org", Listen: "127.0.0.1:0", Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}})
	p, dir := newPaper(t), t.TempDir()
	key, der := p.make()
	p.write(p.cert, "CERTIFICATE", der)
	p.writeKey(key)
	guide, err := os.ReadFile("../../docs/server.md")
	if err != nil {
		t.Fatal(err)
	}
	_, told, found := strings.Cut(string(guide), "```\nlocation / {")
	told, _, ended := strings.Cut(told, "```")
	if !found || !ended || !strings.Contains(told, "127.0.0.1:7337") {
		t.Fatal("the guide says nothing of nginx")
	}
	told = "location / {" + strings.ReplaceAll(told, "127.0.0.1:7337", o.pages.Addr().String())
	port, config := freePort(t), filepath.Join(dir, "nginx.conf")
	text := fmt.Sprintf(`daemon off; master_process off; pid %[1]s/pid; error_log stderr; events {}
http {
	access_log off;
	client_body_temp_path %[1]s/body; proxy_temp_path %[1]s/proxy; fastcgi_temp_path %[1]s/f; uwsgi_temp_path %[1]s/u; scgi_temp_path %[1]s/s;
	server { listen 127.0.0.1:%[2]d ssl; server_name _; ssl_certificate %[3]s; ssl_certificate_key %[4]s;
	%[5]s }
}`, dir, port, p.cert, p.key, told)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	proxy := exec.Command(nginx, "-c", config, "-e", "stderr")
	proxy.Stderr = t.Output()
	if err := proxy.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = proxy.Process.Signal(os.Interrupt)
		_ = proxy.Wait()
	})
	client := o.visitor(p.root())
	client.Transport.(*http.Transport).DialContext = dialer(port)
	for end := time.Now().Add(limit); ; time.Sleep(20 * time.Millisecond) { // until nginx listens
		if res, err := client.Get("https://journal.example.org/"); err == nil {
			_ = res.Body.Close()
			break
		} else if time.Now().After(end) {
			t.Fatal(err)
		}
	}
	if page := o.get(client, "https://journal.example.org/"); page.StatusCode != http.StatusOK {
		t.Errorf("the first page: %s", page.Status)
	}
	for _, forged := range []struct{ name, value string }{{"X-Forwarded-Host", "evil.example"}, {"X-Forwarded-Proto", "http"}, {"X-Forwarded-For", "198.51.100.1"}} {
		if got := o.get(client, "https://journal.example.org/", func(r *http.Request) { r.Header.Set(forged.name, forged.value) }); got.StatusCode != http.StatusOK {
			t.Errorf("a visitor who sends %s: %s", forged.name, got.Status)
		}
	}
	if got := o.get(client, "https://journal.example.org/", asHost("evil.example")); got.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another host: %s", got.Status)
	}
}
