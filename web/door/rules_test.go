package door_test

import (
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/door"
)

// argon2id against the test vectors of its reference implementation, by the authors of RFC 9106
// (github.com/P-H-C/phc-winner-argon2, src/test.c, version 0x13, Argon2_id); the RFC's own has a secret and associated
// data, which Go's library does not take.
func TestArgon2id(t *testing.T) {
	t.Parallel()
	for _, kept := range []string{
		"$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc",
		"$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4",
		"$argon2id$v=19$m=65536,t=1,p=1$c29tZXNhbHQ$9qWtwbpyPd3vm1rB1GThgPzZ3/ydHL92zKL+15XZypg",
	} {
		if right, err := door.Check("password", kept); err != nil || !right {
			t.Errorf("%s: %v, %v", kept, right, err)
		}
		if right, err := door.Check("passwore", kept); err != nil || right {
			t.Errorf("%s with another password: %v, %v", kept, right, err)
		}
	}
	for _, bad := range []string{"", "x", "$argon2i$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65", "$argon2id$v=16$m=256,t=2,p=1$c29tZXNhbHQ$nf65", "$argon2id$v=19$m=256,t=0,p=1$c29tZXNhbHQ$nf65", "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$"} {
		if _, err := door.Check("password", bad); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}

// NIST SP 800-63B-4, 3.1.1.2: 15 characters where nothing else is asked, 64 allowed, every Unicode character counted
// as one, no rules of composition, a list of known ones and words of the context refused, whole and not cut short.
func TestPassphrasesAsNISTHasThem(t *testing.T) {
	t.Parallel()
	mine := []string{"tamsin4821", "Tamsin Vale", "Alder Guides", "rigtally"}
	for _, fine := range []string{
		"gravel kettle borrowed moonlight", "correct horse battery staple", strings.Repeat("one long line of words ", 3)[:64], "ALLCAPITALSANDNOTHINGELSE", "73850 19264 70316",
		"дождь над тихой рекой", "川の上に静かな雨が降っている夜明け", "🐟 five small fish swim", "a b c d e f g h q w z r",
	} {
		if err := door.CheckPassphrase(door.PlainPassphrase(fine), mine...); err != nil {
			t.Errorf("%q: %v", fine, err)
		}
	}
	for bad, says := range map[string]string{
		"fourteen chars":           "15 or more",
		"🐟🐟🐟":                      "3 characters",
		strings.Repeat("ab d", 65): "256 at most",
		"aaaaaaaaaaaaaaaaaaaa":     "repeats itself",
		"12345678901234567890":     "counts up",
		"abcdefghijklmnopqrst":     "counts up",
		"abc!abc!abc!abc!abc!":     "repeats itself",
		"passwordpassword":         "used most",
		"Password 1234567!":        "used most",
		"qwertyuiop asdfghjkl":     "used most",
		"iloveyou princess 2026":   "used most",
		"Tamsin Vale 2026!!":       "your name",
		"tamsin4821tamsin4821":     "your name",
		"rigtally tamsin 99":       "your name",
		"alder guides vale":        "your name",
	} {
		if err := door.CheckPassphrase(bad, mine...); !journal.IsInvalid(err) || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", bad, err, says)
		}
	}
	// UAX 15: one text, however it is typed.
	if composed, apart := door.PlainPassphrase("gravé un été à la rivière"), door.PlainPassphrase("grave\u0301 un e\u0301te\u0301 a\u0300 la rivie\u0300re"); composed != apart {
		t.Errorf("%q and %q differ", composed, apart)
	}
}

func TestDeviceNames(t *testing.T) {
	t.Parallel()
	for agent, want := range map[string]string{
		"Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1": "Safari on iPhone",
		"Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/138.0.0.0 Mobile Safari/537.36":                         "Chrome on Android",
		"Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/138.0.0.0 Safari/537.36 Edg/138.0.0.0":           "Edge on Windows",
		"Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0":                                                                  "Firefox on Linux",
		"Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) CriOS/138.0 Mobile/15E148 Safari/604.1":  "Chrome on iPhone",
		"Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Safari/605.1.15":                   "Safari on Mac",
		"<script>": "A browser", "": "A browser",
	} {
		if got := door.DeviceName(agent); got != want {
			t.Errorf("%q is %q", agent, got)
		}
	}
}

// Where to go on to is never another site's address (OWASP, Unvalidated Redirects and Forwards Cheat Sheet).
func TestGoingOnStaysHere(t *testing.T) {
	t.Parallel()
	for to, want := range map[string]string{"/sessions?season=2026": "/sessions?season=2026", "/": "/", "": "/", "//elsewhere.example": "/", `/\elsewhere.example`: "/", "https://elsewhere.example": "/",
		"javascript:alert(1)": "/", "sessions": "/", "/\t/elsewhere.example": "/", "/%zz": "/"} {
		if got := door.LocalPath(to); got != want {
			t.Errorf("%q goes on to %q", to, got)
		}
	}
}
