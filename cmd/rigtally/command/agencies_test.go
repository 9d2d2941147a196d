package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

// What the settings of gauges may be, and what is said of others. The rules are the project's own.
func TestGaugeSettings(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, c := range []struct {
		name, env, want string // want is a part of the error, "" for none
		off             bool
	}{
		{"default", "", "", false},
		{"off", "RIGTALLY_GAUGES=off", "", true},
		{"on", "RIGTALLY_GAUGES=on", "", false},
		{"neither", "RIGTALLY_GAUGES=perhaps", `"perhaps" is neither on nor off`, false},
		{"key", "RIGTALLY_USGS_API_KEY_FILE=" + file("key", "invented-key\n"), "", false},
		{"no key", "RIGTALLY_USGS_API_KEY_FILE=" + file("empty", "\n"), "holds no key; it has to hold the key alone, on one line", false},
		{"two keys", "RIGTALLY_USGS_API_KEY_FILE=" + file("two", "secret one\nother"), "holds no key", false},
		{"key is gone", "RIGTALLY_USGS_API_KEY_FILE=" + filepath.Join(dir, "gone"), "correct the setting usgs_api_key_file", false},
		{"address", "RIGTALLY_USGS_ADDRESS=https://api.example.org/ogcapi/v1", "", false},
		{"address of this machine", "RIGTALLY_HUBEAU_ADDRESS=http://127.0.0.1:8080/api", "", false},
		{"open address", "RIGTALLY_ENVIRONMENT_AGENCY_ADDRESS=http://example.org/hydrology", "write it as https://api.example.org/v1", false},
		{"no address", "RIGTALLY_HUBEAU_ADDRESS=hubeau", "write it as https://api.example.org/v1", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			name, value, _ := strings.Cut(c.env, "=")
			env := map[string]string{"RIGTALLY_CONFIG": file("rigtally.toml", "")}
			if name != "" {
				env[name] = value
			}
			settings, err := ReadSettings(pflag.NewFlagSet("", pflag.ContinueOnError), env)
			p := Program{Settings: settings, Version: "1.2.3"}
			if err == nil {
				k, bad := p.Gauges(nil, nil)
				if err = bad; bad == nil && (k == nil) != c.off {
					t.Errorf("the keeper is %v", k)
				}
			}
			switch {
			case c.want == "" && err != nil:
				t.Errorf("refused: %v", err)
			case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
				t.Errorf("said %v; it has to say %q", err, c.want)
			case err != nil && strings.Contains(err.Error(), "secret"):
				t.Errorf("%v tells the key", err)
			}
		})
	}
}
