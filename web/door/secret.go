package door

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"math/big"
)

// newSecret draws 256 bits as they stand in a link or cookie.
func newSecret() string {
	return base64.RawURLEncoding.EncodeToString(draw(32))
}

// hash is how a secret is kept. A secret of 256 bits needs no salt.
func hash(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// draw draws bytes.
func draw(n int) []byte {
	drawn := make([]byte, n)
	_, _ = rand.Read(drawn) // never fails: it ends the program first
	return drawn
}

// drawDigits draws four digits.
func drawDigits() (string, error) {
	n, err := rand.Int(rand.Reader, big.NewInt(10_000))
	if err != nil {
		return "", fmt.Errorf("draw digits: %w", err)
	}
	return fmt.Sprintf("%04d", n), nil
}
