package command

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

// A flag beats the environment, which beats the file, which beats the default,
// for every setting. The order is the project's own (design of the command line).
func TestSettingsPrecedence(t *testing.T) {
	t.Parallel()
	port := func(s Settings) any { return s.Port }
	for _, c := range []struct {
		name, file, env, flag string
		want                  any
		get                   func(Settings) any
	}{
		{"data_dir default", "", "", "", "", func(s Settings) any { return s.DataDir }},
		{"data_dir file", `data_dir = "/file"`, "", "", "/file", func(s Settings) any { return s.DataDir }},
		{"data_dir env", `data_dir = "/file"`, "RIGTALLY_DATA_DIR=/env", "", "/env", func(s Settings) any { return s.DataDir }},
		{"data_dir flag", `data_dir = "/file"`, "RIGTALLY_DATA_DIR=/env", "--data-dir=/flag", "/flag", func(s Settings) any { return s.DataDir }},
		{"data_dir home", `data_dir = "~/fishing"`, "HOME=/home/felt", "", "/home/felt/fishing", func(s Settings) any { return s.DataDir }},

		{"database_url default", "", "", "", "", func(s Settings) any { return s.DatabaseURL }},
		{"database_url file", `database_url = "postgres://file/x"`, "", "", "postgres://file/x", func(s Settings) any { return s.DatabaseURL }},
		{"database_url env", `database_url = "postgres://file/x"`, "RIGTALLY_DATABASE_URL=postgres://env/x", "", "postgres://env/x", func(s Settings) any { return s.DatabaseURL }},
		{"database_url flag", `database_url = "postgres://file/x"`, "RIGTALLY_DATABASE_URL=postgres://env/x", "--database-url=postgres://flag/x", "postgres://flag/x", func(s Settings) any { return s.DatabaseURL }},
		{"database_url emptied by flag", `database_url = "postgres://file/x"`, "", "--database-url=", "", func(s Settings) any { return s.DatabaseURL }},

		{"bin_dir default", "", "", "", "", func(s Settings) any { return s.BinDir }},
		{"bin_dir file", `postgres_bin_dir = "/file"`, "", "", "/file", func(s Settings) any { return s.BinDir }},
		{"bin_dir env", `postgres_bin_dir = "/file"`, "RIGTALLY_POSTGRES_BIN_DIR=/env", "", "/env", func(s Settings) any { return s.BinDir }},
		{"bin_dir flag", `postgres_bin_dir = "/file"`, "RIGTALLY_POSTGRES_BIN_DIR=/env", "--bin-dir=/flag", "/flag", func(s Settings) any { return s.BinDir }},

		{"units default", "", "", "", "", func(s Settings) any { return string(s.Units) }},
		{"units file", `units = "us"`, "", "", "us", func(s Settings) any { return string(s.Units) }},
		{"units env", `units = "us"`, "RIGTALLY_UNITS=metric", "", "metric", func(s Settings) any { return string(s.Units) }},
		{"units flag", `units = "us"`, "RIGTALLY_UNITS=metric", "--units=us", "us", func(s Settings) any { return string(s.Units) }},

		{"port default", "", "", "", AnyPort, port},
		{"port file", `port = 8001`, "", "", 8001, port},
		{"port env", `port = 8001`, "RIGTALLY_PORT=8002", "", 8002, port},
		{"port bare env", `port = 8001`, "PORT=0", "", 0, port},
		{"port own before bare env", "", "PORT=8003 RIGTALLY_PORT=8002", "", 8002, port},
		{"port flag", `port = 8001`, "RIGTALLY_PORT=8002", "--port=8004", 8004, port},

		{"no_browser default", "", "", "", false, func(s Settings) any { return s.NoBrowser }},
		{"no_browser file", `no_browser = true`, "", "", true, func(s Settings) any { return s.NoBrowser }},
		{"address flag", `address = "https://file.example.org"`, "RIGTALLY_ADDRESS=https://env.example.org", "--address=https://flag.example.org", "https://flag.example.org", func(s Settings) any { return s.Reach.Address }},
		{"listen env", `listen = ":1"`, "RIGTALLY_LISTEN=:2", "", ":2", func(s Settings) any { return s.Reach.Listen }},
		{"behind_proxy file", `behind_proxy = "127.0.0.1, 10.0.0.0/8"`, "", "", "[127.0.0.1/32 10.0.0.0/8]", func(s Settings) any { return fmt.Sprint(s.Reach.Proxies) }},
		{"local_network default", "", "", "", false, func(s Settings) any { return s.Reach.LocalNetwork }},
		{"local_network file", `local_network = true`, "", "", true, func(s Settings) any { return s.Reach.LocalNetwork }},
		{"local_network flag", "", "RIGTALLY_LOCAL_NETWORK=false", "--local-network", true, func(s Settings) any { return s.Reach.LocalNetwork }},
		{"acme_directory file", `acme_directory = "https://ca.example.org/dir"`, "", "", "https://ca.example.org/dir", func(s Settings) any { return s.Reach.Directory }},

		{"no_browser env", `no_browser = false`, "RIGTALLY_NO_BROWSER=1", "", true, func(s Settings) any { return s.NoBrowser }},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, err := settingsFrom(t, c.file, c.env, c.flag)
			if err != nil {
				t.Fatal(err)
			}
			if got := c.get(s); got != c.want {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// Ensure that the settings file adds words, and that a file with others needs none.
func TestSettingsAddWords(t *testing.T) {
	t.Parallel()
	s, err := settingsFrom(t, "units = \"us\"\n[words.columns]\nangler = [\"Skipper\"]\n[words.knots]\n\"double surgeon's\" = [\"Granny plus\"]", "", "")
	if err != nil {
		t.Fatal(err)
	}
	if s.Words == nil || !slices.Contains(s.Words.Headings("angler"), "Skipper") || s.Words.Knots()["grannyplus"] != "double surgeon's" || string(s.Units) != "us" {
		t.Errorf("the words were not added: %v", s)
	}
	if s, err = settingsFrom(t, `units = "us"`, "", ""); err != nil || s.Words != nil {
		t.Errorf("words without any in the file: %v, %v", s.Words, err)
	}
}

// settingsFrom reads the settings with a file's text and words of environment and flags.
func settingsFrom(t *testing.T, file, env, flag string) (Settings, error) {
	t.Helper()
	dir := t.TempDir()
	variables := map[string]string{"XDG_CONFIG_HOME": dir}
	if file != "" {
		if err := os.MkdirAll(filepath.Join(dir, "rigtally"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "rigtally", "rigtally.toml"), []byte(file+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for pair := range strings.FieldsSeq(env) {
		name, value, _ := strings.Cut(pair, "=")
		variables[name] = value
	}
	flags := pflag.NewFlagSet("test", pflag.ContinueOnError)
	AddSettingFlags(flags)
	AddPortFlag(flags)
	AddReachFlags(flags)
	if err := flags.Parse(strings.Fields(flag)); err != nil {
		t.Fatal(err)
	}
	return ReadSettings(flags, variables)
}

// Ensure that a slip in the settings is an error that names it and the way out.
func TestSettingsErrors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, file, env, flag, want string }{
		{"unknown key", `unit = "us"`, "", "", "unit, which rigtally does not know; the settings are: data_dir"},
		{"unknown table", "[database]\nurl = \"postgres://h/d\"", "", "", "database.url, which rigtally does not know"},
		{"list for a value", `units = ["us"]`, "", "", "units in "},
		{"not toml", `units us`, "", "", "can't be read"},
		{"unknown variable", "", "RIGTALLY_UNIT=us", "", `rigtally does not know the variable RIGTALLY_UNIT; did you mean "RIGTALLY_UNITS"?`},
		{"bad units in the file", `units = "furlongs"`, "", "", "units must be us or metric"},
		{"bad units in the environment", "", "RIGTALLY_UNITS=furlongs", "", "given in the environment: units must be us or metric"},
		{"bad units as a flag", "", "", "--units=furlongs", "given as --units: units must be us or metric"},
		{"bad port", "", "PORT=http", "", `"http" is not a port`},
		{"port out of range", "", "", "--port=70000", `"70000" is not a port`},
		{"relative folder in the file", `data_dir = "fishing"`, "", "", "write the full path of the folder"},
		{"no file", "", "", "--config=/nowhere/rigtally.toml", "cannot be read"},
		{"bad proxy", "", "", "--behind-proxy=proxy", `given as --behind-proxy: "proxy" is not the address of a proxy`},
		{"bad place to listen at", `listen = "443"`, "", "", "write host:port"},
		{"bad local_network", "", "RIGTALLY_LOCAL_NETWORK=perhaps", "", `"perhaps" is neither true nor false`},
		{"a word twice", "[words.columns]\nguide = [\"Guest\"]", "", "", `guide has "Guest", which already means angler`},
		{"a word for no field", "[words.columns]\nanglr = [\"Skipper\"]", "", "", `[words.columns] has "anglr", which rigtally does not know`},
		{"words of no section", "[words.colums]\nangler = [\"Skipper\"]", "", "", "[words.colums] is not a section of words; they are: answers"},
		{"a word for a list", "[words.columns]\nangler = \"Skipper\"", "", "", `write lines such as angler = ["Member"]`},
		{"bad no_browser", "", "RIGTALLY_NO_BROWSER=perhaps", "", `"perhaps" is neither true nor false`},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := settingsFrom(t, c.file, c.env, c.flag)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v, want %q", err, c.want)
			}
		})
	}
}
