package exchange

import (
	"bytes"
	"testing"

	"rigtally/journal"
)

// FuzzReadBackup tries any bytes as a backup: no panic, an error says something, and what is accepted as one with sums is
// byte for byte what is written of its contents.
func FuzzReadBackup(f *testing.F) {
	f.Add([]byte("{\"rigtally\":\"journal\",\"version\":1}\n{\"outfit\":{\"name\":\"x\",\"units\":\"us\",\"time_zone\":\"UTC\"}}\n{\"end\":{\"records\":1}}\n"))
	f.Add([]byte("{\"rigtally\":\"journal\",\"version\":1}\n{\"session\":{\"id\":\"01960b5c-3000-7000-8000-000000000000\",\"day\":\"2025-04-01\",\"stints\":[{\"events\":[{\"kind\":\"re-tie\",\"count\":5}]}],\"version\":1}}\n"))
	f.Add([]byte("{\"rigtally\":\"journal\",\"version\":3,\"n\":1,\"sum\":\"0000000000000000\"}\n"))
	var small bytes.Buffer
	if err := writeContents(journal.Contents{Outfit: journal.Outfit{Name: "x", Units: "us", TimeZone: "UTC"}}, newBackupWriter(&small)); err != nil {
		f.Fatal(err)
	}
	f.Add(small.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		read, err := parseBackup(bytes.NewReader(b))
		if err != nil && len(err.Error()) < 10 {
			t.Errorf("the error says nothing: %v", err)
		}
		if err != nil || read.version < 3 {
			return
		}
		var again bytes.Buffer
		if err := writeContents(read.contents, newBackupWriter(&again)); err != nil || !bytes.Equal(again.Bytes(), b) {
			t.Errorf("accepted, and written again it is\n%s\n%v", again.Bytes(), err)
		}
	})
}
