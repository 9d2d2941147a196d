package reach

import (
	"errors"
	"fmt"
	"net"
	"syscall"
)

// listen opens a port, or the usual one.
func listen(where, usual string) (net.Listener, error) {
	if where == "" {
		where = usual
	}
	l, err := net.Listen("tcp", where)
	switch {
	case err == nil:
		return l, nil
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use by another program; stop it, or choose another port", where)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("%s is reserved for the system; let the program have it (sudo setcap cap_net_bind_service=+ep bin/rigtally), or choose a port above 1023 that your router leads to", where)
	case errors.Is(err, syscall.EADDRNOTAVAIL):
		return nil, fmt.Errorf("%s is no address of this machine; write :port for all that it has", where)
	}
	return nil, fmt.Errorf("open %s: %w", where, err)
}
