package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
)

// Browsers keep what they have not sent under an address with its port, and can send it there only. So the pages are
// served at the port where they were last, and besides at those from before.
const (
	portsKept = 4   // ports, the one served at included
	portDays  = 180 // days after which one is forgotten
)

// servedPort is a port at which a journal's pages were served on this machine, and when that began last.
type servedPort struct {
	port int
	day  journal.Date
}

// openPorts opens the port to serve at, which comes first, and of those at which this journal was served before the
// ones that are free. dir is the folder where they are noted.
func openPorts(p *command.Program, dir string) ([]net.Listener, error) {
	file := filepath.Join(dir, "ports")
	before, err := readPorts(file, p.Now())
	if err != nil {
		return nil, err
	}
	var all []net.Listener
	if p.Settings.Port == command.AnyPort && len(before) > 0 {
		if l, err := listenAt(before[0].port); err == nil {
			all = append(all, l)
		}
	}
	if len(all) == 0 {
		l, err := listen(p)
		if err != nil {
			return nil, err
		}
		all = append(all, l)
	}
	now := servedPort{portOf(all[0]), journal.DateOf(p.Now())}
	before = slices.DeleteFunc(before, func(s servedPort) bool { return s.port == now.port })
	before = before[:min(len(before), portsKept-1)]
	var taken []string
	for _, s := range before {
		if l, err := listenAt(s.port); err == nil {
			all = append(all, l)
		} else {
			taken = append(taken, fmt.Sprint(s.port))
		}
	}
	if err := writePorts(file, append([]servedPort{now}, before...)); err != nil {
		closeAll(all)
		return nil, err
	}
	if len(taken) > 0 {
		p.Note("Port %s, where this journal was served before, is taken. Unless that is another rigtally serve, what a browser keeps unsent "+
			"under that address waits until you end the program there and start this again.", strings.Join(taken, " and "))
	}
	return all, nil
}

func listenAt(port int) (net.Listener, error) {
	return net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", port))
}

func portOf(l net.Listener) int { return l.Addr().(*net.TCPAddr).Port }

func closeAll(list []net.Listener) {
	for _, l := range list {
		_ = l.Close() // again, if it was served at
	}
}

// readPorts reads the ports that are not forgotten, the latest first. A line that can't be read is left out.
func readPorts(file string, now time.Time) ([]servedPort, error) {
	text, err := os.ReadFile(file)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read at which ports the pages were served: %w; make the file readable or remove it", err)
	}
	var list []servedPort
	for line := range strings.Lines(string(text)) {
		var s servedPort
		var day string
		if _, err := fmt.Sscan(line, &s.port, &day); err != nil || s.port < 1 || s.port > 65535 {
			continue
		}
		if s.day, err = journal.ParseDate(day); err == nil && s.day.In(time.UTC).After(now.AddDate(0, 0, -portDays)) {
			list = append(list, s)
		}
	}
	return list, nil
}

func writePorts(file string, list []servedPort) error {
	whole, err := terminal.WriteNew(file, true, func(w io.Writer) error {
		for _, s := range list {
			if _, err := fmt.Fprintf(w, "%d %s\n", s.port, s.day); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("note at which port the pages are served: %w", err)
	}
	defer whole.Discard()
	return whole.Keep()
}
