// Package migrations holds the journal's tables as numbered SQL steps.
package migrations

import (
	"embed"
	"fmt"
	"strconv"
	"strings"
)

// Files holds the steps, to be applied in order.
//
//go:embed *.sql
var Files embed.FS

// Latest is the number of the last step.
func Latest() (int64, error) {
	steps, err := Files.ReadDir(".")
	if err != nil || len(steps) == 0 {
		return 0, fmt.Errorf("read the migrations: %w", err)
	}
	number, _, _ := strings.Cut(steps[len(steps)-1].Name(), "_") // they are sorted by name
	latest, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("read the number of the last migration: %w", err)
	}
	return latest, nil
}
