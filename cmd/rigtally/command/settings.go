package command

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/spf13/cast"
	"github.com/spf13/pflag"
	"github.com/spf13/viper"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal/pg"
	"rigtally/journal/words"
	"rigtally/web/reach"
)

// Settings is what a person can set for every run.
type Settings struct {
	DataDir     string       // the folder of the private journal; "" for the usual one
	DatabaseURL string       // a PostgreSQL to use instead; "" for the private one. May hold a password: never print it
	MigrateURL  string       // the same for who owns its tables; "" for the same. May hold a password as well
	Outfit      string       // whose journal it is; "" for the first of the database
	BinDir      string       // the folder of PostgreSQL's programs; "" searches for them
	Units       units.System // what to show; "" for what the journal says
	Port        int          // for the pages; 0 is any free one, AnyPort the usual one or the next free
	NoBrowser   bool         // never open a browser
	FactsBytes  int          // of facts to keep in memory; 0 for the usual limit
	Connections int          // to the database, at most; 0 for the usual number
	Reach       reach.Settings
	Words       *words.Table // of sheets; nil: those that come with the program
	Watch       string       // host and port at which other programs on this machine look on; "" for none
	LogJSON     bool         // the log is in JSON
	LogRequests bool         // it has each request

	NoBackups            bool   // none are made by themselves
	BackupDir            string // where they are kept; "" for the folder backups in the data folder
	BackupPassphraseFile string // a file with the passphrase that encrypts them; "" leaves them open

	Gauges Agencies
}

// What a port may be besides a number.
const (
	AnyPort   = -1   // the usual one or the next that is free
	FirstPort = 7337 // the usual one
)

const envPrefix = "RIGTALLY_"

// setting is a key of rigtally.toml. Its variable is the key in capitals after
// RIGTALLY_, and a flag beats the variable, which beats the file.
type setting struct {
	key   string
	flag  string // "" if there is none
	usage string
	set   func(s *Settings, value string) error
}

func settingsList() []setting {
	return append([]setting{
		{"data_dir", "data-dir", "`folder` of the journal's own database", func(s *Settings, v string) error {
			s.DataDir = v
			return nil
		}},
		{"database_url", "database-url", "`address` of a PostgreSQL to use instead: postgres://user@host/database", func(s *Settings, v string) error {
			s.DatabaseURL = v
			return checkURL(v)
		}},
		{"migrate_url", "migrate-url", "`address` of the same PostgreSQL for the user who owns its tables, directly and not through a pooler", func(s *Settings, v string) error {
			s.MigrateURL = v
			return checkURL(v)
		}},
		{"outfit", "outfit", "`name` of the outfit whose journal to use, where there are several (default: the first)", func(s *Settings, v string) error {
			s.Outfit = v
			return nil
		}},
		{"postgres_bin_dir", "bin-dir", "`folder` of PostgreSQL's programs, when they are not found by themselves", func(s *Settings, v string) error {
			s.BinDir = v
			return nil
		}},
		{"units", "units", "what to show: us or metric (default: as the journal says)", func(s *Settings, v string) (err error) {
			if v != "" {
				s.Units, err = units.ParseSystem(v)
			}
			return err
		}},
		{"backups", "backups", "on, or `off`: make no backups of the journal by itself", func(s *Settings, v string) error {
			if v != "" && v != "on" && v != "off" {
				return fmt.Errorf("%q is neither on nor off", v)
			}
			s.NoBackups = v == "off"
			return nil
		}},
		{"backup_dir", "backup-dir", "`folder` of the backups (default: backups in the data folder)", func(s *Settings, v string) error {
			s.BackupDir = v
			return nil
		}},
		{"backup_passphrase_file", "", "", func(s *Settings, v string) error {
			s.BackupPassphraseFile = v
			return nil
		}},
		{"memory_mb", "", "", func(s *Settings, v string) error {
			n, err := strconv.Atoi(v)
			if err != nil || n < 1 || n > 1<<20 {
				return fmt.Errorf("%q is not a memory limit; write megabytes, such as 1024", v)
			}
			s.FactsBytes = n << 20
			return nil
		}},
		{"connections", "", "", func(s *Settings, v string) error {
			n, err := strconv.Atoi(v)
			if err != nil || n < 0 || n > 1000 {
				return fmt.Errorf("%q is not a number of connections; write one from 1 to 1000, or 0 for the usual %d", v, pg.UsualConnections)
			}
			s.Connections = n
			return nil
		}},
		{"port", "port", "", func(s *Settings, v string) error {
			n, err := strconv.Atoi(v)
			if err != nil || n > 65535 || n < 0 && n != AnyPort {
				return fmt.Errorf("%q is not a port; write a number from 1 to 65535, or 0 for any free one", v)
			}
			s.Port = n
			return nil
		}},
		{"no_browser", "", "", func(s *Settings, v string) error {
			on, err := strconv.ParseBool(v)
			if err != nil {
				return fmt.Errorf("%q is neither true nor false", v)
			}
			s.NoBrowser = on
			return nil
		}},
		{"watch", "watch", "", func(s *Settings, v string) error { s.Watch = v; return nil }},
		{"log", "", "", func(s *Settings, v string) error {
			s.LogJSON = v == "json"
			if v != "json" && v != "text" {
				return fmt.Errorf("%q is no form of a log; write text or json", v)
			}
			return nil
		}},
		{"log_requests", "", "", func(s *Settings, v string) (err error) {
			if s.LogRequests, err = strconv.ParseBool(v); err != nil {
				return fmt.Errorf("%q is neither true nor false", v)
			}
			return nil
		}},
	}, append(reachSettings(), gaugeSettings()...)...)
}

// isPath reports whether a setting is the path of a folder or file.
func isPath(key string) bool {
	return strings.HasSuffix(key, "_dir") || strings.HasSuffix(key, "_file")
}

func checkURL(v string) error {
	if v == "" {
		return nil
	}
	if _, err := pgx.ParseConfig(v); err != nil { // its errors hide the password
		return fmt.Errorf("%w; write it as postgres://user@host:5432/database", err)
	}
	return nil
}

// AddSettingFlags adds the flags that every command takes.
func AddSettingFlags(flags *pflag.FlagSet) {
	for _, s := range settingsList() {
		if s.usage != "" {
			flags.String(s.flag, "", s.usage)
		}
	}
	flags.String("config", "", "settings `file` (default: rigtally.toml in your folder of settings)")
}

// AddPortFlag adds the flag --port.
func AddPortFlag(flags *pflag.FlagSet) {
	flags.String("port", "", "`number` of the port to serve on; 0 for any free one (default 7337 or the next free)")
}

// AddWatchFlag adds the flag --watch.
func AddWatchFlag(flags *pflag.FlagSet) {
	flags.String("watch", "", "`host:port` of this machine alone, such as 127.0.0.1:9337, at which other programs ask whether the pages are alive and ready, and for figures")
}

// ReadSettings takes each setting from its flag, else the environment, else the
// settings file, else the default. A key that it does not know is an error.
func ReadSettings(flags *pflag.FlagSet, env map[string]string) (Settings, error) {
	v := viper.New()
	v.SetDefault("port", strconv.Itoa(AnyPort))
	v.SetDefault("memory_mb", "1024")
	v.SetDefault("connections", "0")
	v.SetDefault("no_browser", "false")
	v.SetDefault("local_network", "false")
	v.SetDefault("log", "text")
	v.SetDefault("log_requests", "false")
	file, more, err := readSettingsFile(v, flags, env)
	if err != nil {
		return Settings{}, err
	}
	given, err := fromEnvironment(env)
	if err != nil {
		return Settings{}, err
	}
	if err := v.MergeConfigMap(given); err != nil {
		return Settings{}, fmt.Errorf("read the settings: %w", err)
	}
	var s Settings
	if len(more) > 0 {
		if s.Words, err = words.Built().With(more); err != nil {
			return Settings{}, terminal.Misusef("the settings file %s: %w", file, err)
		}
	}
	for _, entry := range settingsList() {
		from := "in " + file
		if _, ok := given[entry.key]; ok {
			from = "in the environment"
		}
		if f := flags.Lookup(entry.flag); f != nil {
			if err := v.BindPFlag(entry.key, f); err != nil {
				return Settings{}, fmt.Errorf("read the settings: %w", err)
			}
			if f.Changed {
				from = "as --" + entry.flag
			}
		}
		value := strings.TrimSpace(v.GetString(entry.key))
		if isPath(entry.key) && strings.HasPrefix(value, "~/") {
			value = filepath.Join(env["HOME"], value[2:])
		}
		if err := entry.set(&s, value); err != nil {
			return Settings{}, terminal.Misusef("the setting %s, given %s: %w", entry.key, from, err)
		}
	}
	return s, nil
}

// fromEnvironment returns the settings among the variables. A port may also be
// given as PORT alone, as hosts of programs do.
func fromEnvironment(env map[string]string) (map[string]any, error) {
	given := map[string]any{}
	if port := env["PORT"]; port != "" {
		given["port"] = port
	}
	for name, value := range env {
		key, ours := strings.CutPrefix(name, envPrefix)
		if !ours || name == envPrefix+"CONFIG" || value == "" {
			continue
		}
		key = strings.ToLower(key)
		if !slices.Contains(settingKeys(), key) {
			return nil, terminal.Misusef("rigtally does not know the variable %s%s", name, terminal.Guess(envPrefix, key, variables(), ""))
		}
		given[key] = value
	}
	return given, nil
}

func settingKeys() []string { return Keys(settingsList(), func(s setting) string { return s.key }) }

// variables are the names of settings in the environment, after the prefix.
func variables() []string {
	return Keys(settingsList(), func(s setting) string { return strings.ToUpper(s.key) })
}

// readSettingsFile reads rigtally.toml into v and returns its name and the words that it adds
// to those of sheets. Only one that was asked for must exist.
func readSettingsFile(v *viper.Viper, flags *pflag.FlagSet, env map[string]string) (name string, more words.Extension, err error) {
	name, asked := env[envPrefix+"CONFIG"], true
	if f := flags.Lookup("config"); f != nil && f.Changed {
		name = f.Value.String()
	}
	if name == "" {
		name, asked = usualSettingsFile(env), false
	}
	if name == "" {
		return "", nil, nil
	}
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) && !asked {
		return name, nil, nil
	}
	if err != nil {
		return name, nil, terminal.Misusef("the settings file cannot be read: %w; correct --config or leave it out", err)
	}
	v.SetConfigType("toml")
	if err := v.ReadConfig(bytes.NewReader(text)); err != nil {
		return name, nil, terminal.Misusef("the settings file %s can't be read: %w; write lines such as units = \"us\"", name, err)
	}
	if more, err = words.Parse(text); err != nil {
		return name, nil, terminal.Misusef("the settings file %s: %w; under [words.columns] write lines such as angler = [\"Member\"]", name, err)
	}
	return name, more, checkSettingsFile(v, name)
}

func checkSettingsFile(v *viper.Viper, name string) error {
	var unknown []string
	for _, key := range v.AllKeys() {
		if !v.InConfig(key) && !strings.Contains(key, ".") {
			continue // a default
		}
		if strings.HasPrefix(key, "words.") {
			continue // read by package words
		}
		if !slices.Contains(settingKeys(), key) {
			unknown = append(unknown, key)
			continue
		}
		value, err := cast.ToStringE(v.Get(key))
		if err != nil {
			return terminal.Misusef("the setting %s in %s must be a single value, as in %s = \"…\"", key, name, key)
		}
		if isPath(key) && value != "" && !filepath.IsAbs(value) && !strings.HasPrefix(value, "~/") {
			what := "folder"
			if strings.HasSuffix(key, "_file") {
				what = "file"
			}
			return terminal.Misusef("the setting %s in %s is %q; write the full path of the %s", key, name, value, what)
		}
	}
	if len(unknown) > 0 {
		slices.Sort(unknown)
		return terminal.Misusef("the settings file %s has %s, which rigtally does not know; the settings are: %s",
			name, strings.Join(unknown, ", "), strings.Join(settingKeys(), ", "))
	}
	return nil
}

// usualSettingsFile is rigtally.toml in the user's folder of settings, "" if there is none.
func usualSettingsFile(env map[string]string) string {
	dir := env["XDG_CONFIG_HOME"]
	if runtime.GOOS == "windows" {
		dir = env["APPDATA"]
	}
	if !filepath.IsAbs(dir) {
		if env["HOME"] == "" {
			return ""
		}
		dir = filepath.Join(env["HOME"], ".config")
		if runtime.GOOS == "darwin" {
			dir = filepath.Join(env["HOME"], "Library", "Application Support")
		}
	}
	return filepath.Join(dir, "rigtally", "rigtally.toml")
}
