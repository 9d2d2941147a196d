package door

import (
	"crypto/rand"
	"fmt"
	"math/big"
)

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
