package journal

import "time"

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
