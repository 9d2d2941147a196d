package reach

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"net/http"
)

//go:embed offer.html
var offerText string

//go:embed offer.css
var offerLook string

// offer is the page, over plain http, from which a phone takes the authority's certificate. It holds nothing of a journal.
type offer struct {
	authority *authority
	pages     string // where the journal is, once the phone trusts the certificate
}

const certificatePath = "/rigtally.crt"

func (o offer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	look := sha256.Sum256([]byte(offerLook))
	h := w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'sha256-"+base64.StdEncoding.EncodeToString(look[:])+"'; form-action 'none'; frame-ancestors 'none'; base-uri 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		http.Error(w, "Only the certificate is here.", http.StatusMethodNotAllowed)
		return
	}
	switch r.URL.Path {
	case "/":
		page := template.Must(template.New("offer").Parse(offerText)) // a handful of visits in all
		h.Set("Content-Type", "text/html; charset=utf-8")
		_ = page.Execute(w, map[string]any{ // a phone that has gone
			"Look": template.CSS(offerLook), "Certificate": certificatePath, "Pages": o.pages,
			"Name": o.authority.cert.Subject.CommonName, "Fingerprint": o.authority.fingerprint(),
		})
	case certificatePath:
		h.Set("Content-Type", "application/x-x509-ca-cert")
		_, _ = w.Write(o.authority.cert.Raw) // a phone that has gone
	default:
		http.Error(w, "Only the certificate is here.", http.StatusNotFound)
	}
}
