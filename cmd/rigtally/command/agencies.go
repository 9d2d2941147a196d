package command

import (
	"bytes"
	"fmt"
	"log/slog"
	"net/netip"
	"net/url"
	"os"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/gauges/fetch"
)

// Agencies say which agencies are asked what river gauges measure.
type Agencies struct {
	Off              bool   // none
	KeyFile          string // a file with a key for the U.S. Geological Survey; "" for none
	USGS, EA, Hubeau string // their addresses; "" for the usual ones
}

func gaugeSettings() []setting {
	return []setting{
		{"gauges", "", "", func(s *Settings, v string) error {
			if v != "" && v != "on" && v != "off" {
				return fmt.Errorf("%q is neither on nor off", v)
			}
			s.Gauges.Off = v == "off"
			return nil
		}},
		{"usgs_api_key_file", "", "", func(s *Settings, v string) error { s.Gauges.KeyFile = v; return nil }},
		{"usgs_address", "", "", func(s *Settings, v string) (err error) { s.Gauges.USGS, err = serviceAddress(v); return err }},
		{"environment_agency_address", "", "", func(s *Settings, v string) (err error) { s.Gauges.EA, err = serviceAddress(v); return err }},
		{"hubeau_address", "", "", func(s *Settings, v string) (err error) { s.Gauges.Hubeau, err = serviceAddress(v); return err }},
	}
}

// serviceAddress checks the address of a service: https, or http of this machine alone.
func serviceAddress(v string) (string, error) {
	if v == "" {
		return "", nil
	}
	at, err := url.Parse(v)
	if err != nil || at.Host == "" || at.User != nil || at.RawQuery != "" || at.Scheme != "https" && !(at.Scheme == "http" && isLoopback(at)) {
		return "", fmt.Errorf("%q is no address of a service; write it as https://api.example.org/v1", v)
	}
	return v, nil
}

func isLoopback(at *url.URL) bool {
	host, err := netip.ParseAddrPort(at.Host)
	return err == nil && host.Addr().IsLoopback()
}

// Gauges is what keeps readings of river gauges in a store up to date; nil where the settings say that nobody is asked.
func (p *Program) Gauges(store gauges.Store, log *slog.Logger) (*gauges.Keeper, error) {
	set := p.Settings.Gauges
	if set.Off {
		return nil, nil
	}
	key := ""
	if set.KeyFile != "" {
		text, err := os.ReadFile(set.KeyFile)
		if err != nil {
			return nil, terminal.Misusef("the file with the key for the U.S. Geological Survey can't be read: %w; correct the setting usgs_api_key_file", err)
		}
		key = string(bytes.TrimSpace(text))
		if key == "" || len(key) > 200 || bytes.ContainsFunc([]byte(key), func(r rune) bool { return r <= ' ' || r > '~' }) {
			return nil, terminal.Misusef("the file %s, named by the setting usgs_api_key_file, holds no key; it has to hold the key alone, on one line", set.KeyFile)
		}
	}
	var own []string
	for _, address := range []string{set.USGS, set.EA, set.Hubeau} {
		if at, err := url.Parse(address); err == nil && isLoopback(at) {
			own = append(own, at.Host)
		}
	}
	client := fetch.New(fetch.Options{Version: p.Version, Now: p.Now, Loopback: own})
	sources, err := agency.Sources(agency.Settings{Client: client, Now: p.Now, Key: key, USGS: set.USGS, EA: set.EA, Hubeau: set.Hubeau})
	if err != nil {
		return nil, err
	}
	return gauges.New(store, sources, gauges.Options{Now: p.Now, Log: log}), nil
}
