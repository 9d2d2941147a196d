package door

import "time"

// What tests of the door need of the package.
const (
	LeastPassphrase = leastPassphrase
	DeviceCookie    = deviceCookie
	KnownCookie     = knownCookie
)

var (
	CheckPassphrase = checkPassphrase
	DeviceName      = deviceName
	LocalPath       = localPath
	PlainPassphrase = plainPassphrase
	AddressName     = addressName
)

// OnHash is told of each passphrase that is hashed.
func (p *People) OnHash(f func()) { p.hashes.hashed = f }

// Crowd takes every turn to hash and every place to wait until empty is called.
func (p *People) Crowd() (empty func()) {
	for range cap(p.hashes.turns) {
		p.hashes.turns <- struct{}{}
	}
	for range cap(p.hashes.waiting) {
		p.hashes.waiting <- struct{}{}
	}
	return func() {
		for range cap(p.hashes.waiting) {
			<-p.hashes.waiting
		}
		for range cap(p.hashes.turns) {
			<-p.hashes.turns
		}
	}
}

// Check reports whether a passphrase is the one that was hashed, in any form that is read.
func Check(passphrase, kept string) (bool, error) {
	c, salt, want, err := readHash(kept)
	if err != nil {
		return false, err
	}
	return string(c.hash(passphrase, salt, len(want))) == string(want), nil
}

// Attempts are tries of one name by a clock.
type Attempts struct{ *attempts }

func NewAttempts(free int, now func() time.Time) Attempts { return Attempts{newAttempts(free, now)} }
func (a Attempts) Begin(name string) time.Duration        { return a.begin(name) }
func (a Attempts) Forget(name string)                     { a.forget(name) }
func (a Attempts) Len() int                               { return a.kept.Len() }
