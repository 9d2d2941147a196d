package journal

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
)

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
