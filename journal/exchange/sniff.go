package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Kind is a kind of file that can be imported.
type Kind string

// The kinds of file.
const (
	CSVFile    Kind = "csv"
	BackupFile Kind = "backup"
)

// Sniff tells a backup from a spreadsheet by its first bytes. What it returns
// reads the whole file.
func Sniff(r io.Reader) (Kind, io.Reader, error) {
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", nil, fmt.Errorf("read the file: %w", err)
	}
	head = head[:n]
	whole := io.MultiReader(bytes.NewReader(head), r)
	start := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	if bytes.HasPrefix(start, []byte("{")) {
		return BackupFile, whole, nil
	}
	return CSVFile, whole, nil
}
