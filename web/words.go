package web

import (
	"rigtally/internal/units"
)

// shown writes what was noted, and nothing as "".
func shown[T any](v *T, print func(T) string) string {
	if v == nil {
		return ""
	}
	return print(*v)
}

// in writes in the units that people see.
func in[T any](print func(T, units.System) string, sys units.System) func(T) string {
	return func(v T) string { return print(v, sys) }
}
