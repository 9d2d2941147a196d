//go:build unix

package pgserver

import (
	"bytes"
	"io"
	"os"
)

// The log may grow to maxLog bytes; then all but its last keptLog bytes go.
const (
	maxLog  = 1 << 20
	keptLog = 64 << 10
)

// openServerLog opens the log for a server that is about to start. The server appends, so that others may cut it.
func openServerLog(f folder) (*os.File, error) {
	return openOurs(f.log(), os.O_CREATE|os.O_APPEND|os.O_RDWR)
}

// trimServerLog keeps the log bounded. Lines written during the cut may be lost.
func trimServerLog(f folder) error {
	log, err := openServerLog(f)
	if err != nil {
		return err
	}
	defer log.Close()
	info, err := log.Stat()
	if err != nil || info.Size() <= maxLog {
		return err
	}
	tail, err := io.ReadAll(io.NewSectionReader(log, info.Size()-keptLog, keptLog))
	if err != nil {
		return err
	}
	if _, rest, found := bytes.Cut(tail, []byte("\n")); found {
		tail = rest
	}
	if err := log.Truncate(0); err != nil {
		return err
	}
	_, err = log.Write(tail)
	return err
}

// tailOf gives the last lines of a log from the byte offset on.
func tailOf(log *os.File, offset int64, lines int) string {
	info, err := log.Stat()
	if err != nil {
		return ""
	}
	offset = max(offset, info.Size()-keptLog)
	raw, err := io.ReadAll(io.NewSectionReader(log, offset, keptLog))
	if err != nil {
		return ""
	}
	return lastLines(string(raw), lines)
}
