package command

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/spf13/pflag"

	"rigtally/journal/words"
)

// FuzzSettings reads any text as rigtally.toml: no panic, and either settings or a sentence that says which slip. Words
// of people mean what they say there, and those that rigtally knows by itself mean what they did.
func FuzzSettings(f *testing.F) {
	for _, text := range []string{
		"units = \"us\"\nport = 8080\n",
		"data_dir = \"~/journal\"\n\n[words.columns]\ntangles = [\"Bird's nests\", \"wuling\"]\n",
		"[words.junction]\nblood = [\"Blutknoten\"]\n[words.answers]\nyes = [\"jo\"]\n",
		"[words.columns]\ntangles = [\"hookups\"]\n",
		"[words.columns]\ntangles = [\"\", \" \", \"\\u0000\", \"İ\"]\n",
		"[words]\ncolumns = 3\n",
		"memory_mb = 99999999999999999999\n",
		"units us",
		"\xff\xfe",
	} {
		f.Add(text)
	}
	known := words.Built().Headings("tangles")
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, text string) {
		name := filepath.Join(dir, "rigtally.toml")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		flags := pflag.NewFlagSet("", pflag.ContinueOnError)
		AddSettingFlags(flags)
		if err := flags.Parse([]string{"--config", name}); err != nil {
			t.Fatal(err)
		}
		s, err := ReadSettings(flags, nil)
		if err != nil && len(err.Error()) < 10 {
			t.Errorf("the error says nothing: %v", err)
		}
		if now := words.Built().Headings("tangles"); !slices.Equal(now, known) {
			t.Fatalf("words of one file are those of all: %q were %q", now, known)
		}
		if err != nil || s.Words == nil {
			return
		}
		given, err := words.Parse([]byte(text))
		if err != nil {
			t.Fatalf("the words can be read as settings and not by themselves: %v", err)
		}
		for _, word := range given["junction"]["blood"] {
			if got := s.Words.Value("junction", word); got != "blood" {
				t.Errorf("%q means %q", word, got)
			}
		}
	})
}
