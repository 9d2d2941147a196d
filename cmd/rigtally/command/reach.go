package command

import (
	"fmt"
	"strconv"

	"github.com/spf13/pflag"

	"rigtally/web/reach"
)

// reachSettings are the settings of who is let in beyond this machine.
func reachSettings() []setting {
	return []setting{
		{"address", "address", "", func(s *Settings, v string) error { s.Reach.Address = v; return nil }},
		{"listen", "listen", "", func(s *Settings, v string) error { s.Reach.Listen = v; return reach.ParseListen(v) }},
		{"listen_http", "listen-http", "", func(s *Settings, v string) error { s.Reach.ListenHTTP = v; return reach.ParseListen(v) }},
		{"certificate", "certificate", "", func(s *Settings, v string) error { s.Reach.Certificate = v; return nil }},
		{"key", "key", "", func(s *Settings, v string) error { s.Reach.Key = v; return nil }},
		{"behind_proxy", "behind-proxy", "", func(s *Settings, v string) (err error) {
			s.Reach.Proxies, err = reach.ParseProxies(v)
			return err
		}},
		{"local_network", "local-network", "", func(s *Settings, v string) (err error) {
			if s.Reach.LocalNetwork, err = strconv.ParseBool(v); err != nil {
				return fmt.Errorf("%q is neither true nor false", v)
			}
			return nil
		}},
		{"acme_directory", "", "", func(s *Settings, v string) error { s.Reach.Directory = v; return nil }},
		{"acme_root", "", "", func(s *Settings, v string) error { s.Reach.Root = v; return nil }},
		{"acme_email", "", "", func(s *Settings, v string) error { s.Reach.Email = v; return nil }},
	}
}

// AddReachFlags adds the flags that let others in.
func AddReachFlags(flags *pflag.FlagSet) {
	flags.String("address", "", "public `address` of the pages, such as https://journal.example.org; the certificate is got by ACME")
	flags.String("certificate", "", "`file` with a certificate for --address, read again when it changes")
	flags.String("key", "", "`file` with the key of --certificate")
	flags.String("behind-proxy", "", "`addresses` of the proxies, with commas between, that show the pages at --address, such as 127.0.0.1")
	flags.Bool("local-network", false, "let phones in your own network in, by a certificate of this machine's own")
	flags.String("listen", "", "`host:port` to listen at, where others are let in (default :443; behind a proxy 127.0.0.1:7337; in the local network :7337)")
	flags.String("listen-http", "", "`host:port` for plain http, which leads to https (default :80), or in the local network offers the certificate (default :7338)")
}
