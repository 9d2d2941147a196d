package exchange

import (
	"bytes"
	"testing"
)

// FuzzReadBackup tries any bytes as a backup: no panic, and an error says something.
func FuzzReadBackup(f *testing.F) {
	f.Add([]byte("{\"rigtally\":\"journal\",\"version\":1}\n{\"outfit\":{\"name\":\"x\",\"units\":\"us\",\"time_zone\":\"UTC\"}}\n{\"end\":{\"records\":1}}\n"))
	f.Add([]byte("{\"rigtally\":\"journal\",\"version\":1}\n{\"session\":{\"id\":\"01960b5c-3000-7000-8000-000000000000\",\"day\":\"2025-04-01\",\"stints\":[{\"events\":[{\"kind\":\"re-tie\",\"count\":5}]}],\"version\":1}}\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if _, err := parseBackup(bytes.NewReader(b)); err != nil && len(err.Error()) < 10 {
			t.Errorf("the error says nothing: %v", err)
		}
	})
}
