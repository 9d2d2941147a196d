// Package migrations holds the journal's tables as numbered SQL steps.
package migrations

import "embed"

// Files holds the steps, to be applied in order.
//
//go:embed *.sql
var Files embed.FS
