package journal

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"time"
)

// Account is how a person signs in.
type Account struct {
	ID         ID
	Name       string // what is signed in with: a word and digits that are drawn
	Passphrase string // hashed; "" for a person who has passkeys alone
}

// Device is a browser in which a person is signed in.
type Device struct {
	ID       ID
	Person   ID
	Name     string
	Since    time.Time
	SignedIn time.Time // when the person last proved who they are
	Seen     time.Time // to the day
	Expires  time.Time
}

// SignedIn is a device, and whose pages it shows to whom.
type SignedIn struct {
	Device
	Account string
	Outfit  ID // zero: the person belongs to none any more
	Who     Who
}

// Passkey is a way to sign in that a person's device keeps.
type Passkey struct {
	ID         []byte
	Name       string
	Credential []byte // as JSON: what the device proves itself by
	Since      time.Time
	Used       *time.Time
}

// Joining is what the link of an invitation offers.
type Joining struct {
	Outfit     ID
	OutfitName string
	Name       string // whom it is for
	Role       Role
	Person     *ID    // whose way back in it is; nil: a newcomer's
	Account    string // of that person
}

// Newcomer is who takes an invitation up.
type Newcomer struct {
	Account
	Known   bool     // a person who has an account already and is signed in to it
	Passkey *Passkey // nil for one who chose a passphrase
}

// Membership is an outfit that a person belongs to.
type Membership struct {
	Outfit ID
	Name   string // of the outfit
	Role   Role
}

// Share is an angler's season shown to whoever has its link.
type Share struct {
	ID        ID
	Outfit    ID
	Angler    ID
	Season    string // the question that the season's page was asked, as in its address
	CreatedBy string
	CreatedAt time.Time
	ExpiresAt time.Time
}

// ShareDays are for how many days a season may be shared.
func ShareDays() []int { return []int{7, 30, 90} }

// NewSecret draws what a link carries and nobody can guess: 32 bytes, as they stand in an address.
func NewSecret() string {
	secret := make([]byte, 32)
	_, _ = rand.Read(secret) // which never fails
	return base64.RawURLEncoding.EncodeToString(secret)
}

// HashSecret is what the journal keeps of a secret, as it stands in an address.
func HashSecret(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}
