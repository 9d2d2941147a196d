package door

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"strings"
	"time"

	"rigtally/journal"
)

// Cookies of people. Browsers keep those named __Host- to this very host, encrypted connections and all paths.
const (
	deviceCookie   = "__Host-rigtally"
	knownCookie    = "__Host-rigtally-known"
	ceremonyCookie = "__Host-rigtally-passkey"
)

const (
	signedInFor = 90 * 24 * time.Hour  // after it was used last
	signInLasts = 365 * 24 * time.Hour // however much it is used
	knownFor    = 400 * 24 * time.Hour // as long as browsers keep a cookie
)

func setCookie(w http.ResponseWriter, name, value string, lasts time.Duration) {
	http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: int(lasts.Seconds()), Secure: true, HttpOnly: true, SameSite: http.SameSiteLaxMode})
}

func dropCookie(w http.ResponseWriter, name string) {
	http.SetCookie(w, &http.Cookie{Name: name, Path: "/", MaxAge: -1, Secure: true, HttpOnly: true, SameSite: http.SameSiteLaxMode})
}

// cookieOf is what a cookie holds, "" without it.
func cookieOf(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	return c.Value
}

// knownMark marks a browser as one in which an account was signed in to with the passphrase that it has now: nobody
// makes it who can't read how that is kept. Who has it is not kept waiting by the failures of strangers.
func knownMark(a journal.Account) string {
	sum := hmac.New(sha256.New, []byte(a.Passphrase))
	sum.Write([]byte("known browser of " + a.ID.String()))
	return base64.RawURLEncoding.EncodeToString(sum.Sum(nil))
}

// isKnown reports whether a browser has the mark of an account.
func isKnown(r *http.Request, a journal.Account) bool {
	return a.Passphrase != "" && hmac.Equal([]byte(cookieOf(r, knownCookie)), []byte(knownMark(a)))
}

// deviceName tells a person's devices apart, as far as a browser says what it is.
func deviceName(userAgent string) string {
	first := func(otherwise string, pairs ...string) string {
		for i := 0; i < len(pairs); i += 2 {
			if strings.Contains(userAgent, pairs[i]) {
				return pairs[i+1]
			}
		}
		return otherwise
	}
	// The order matters: most browsers say that they are others as well.
	browser := first("A browser", "Edg", "Edge", "OPR/", "Opera", "SamsungBrowser", "Samsung Internet", "Firefox", "Firefox", "FxiOS", "Firefox", "CriOS", "Chrome", "Chrome", "Chrome", "Safari", "Safari")
	system := first("", "iPhone", "iPhone", "iPad", "iPad", "Android", "Android", "CrOS", "Chromebook", "Windows", "Windows", "Macintosh", "Mac", "Linux", "Linux")
	if system == "" {
		return browser
	}
	return browser + " on " + system
}
