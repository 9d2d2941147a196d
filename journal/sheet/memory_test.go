package sheet_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"rigtally/internal/units"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// Ensure that a process which imports a workbook of 20,000 rows and 21 columns stays small. PostgreSQL is not part of it.
func TestMemory(t *testing.T) {
	if file := os.Getenv("RIGTALLY_TEST_IMPORTS"); file != "" {
		importAlone(t, file)
		return
	}
	if testing.Short() {
		t.Skip("takes 15 seconds")
	}
	peak(t) // or nothing to see here
	file := filepath.Join(t.TempDir(), "big.xlsx")
	if err := os.WriteFile(file, workbookOf(t, bigSheet(20_000)), 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestMemory$", "-test.v")
	c.Env = append(os.Environ(), "RIGTALLY_TEST_IMPORTS="+file, "GOGC=20") // as the command has it
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

func importAlone(t *testing.T, file string) {
	store := journaltest.Store(t)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	read, err := sheet.Read(t.Context(), bytes.NewReader(text), file, sheet.Options{Units: units.US})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := read.Import(t.Context(), store, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	const most = 200
	if mb := peak(t); mb > most {
		t.Errorf("the import took %d MB, more than %d", mb, most)
	}
}

var highest = regexp.MustCompile(`VmHWM:\s+(\d+) kB`)

// peak is the most memory that this process has taken, in MB.
func peak(t *testing.T) int {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("only Linux tells how much memory a process has taken")
	}
	kb, err := strconv.Atoi(string(highest.FindSubmatch(status)[1]))
	if err != nil {
		t.Fatal(err)
	}
	return kb >> 10
}

// workbookOf writes a sheet as a workbook, its numbers as such.
func workbookOf(t *testing.T, text string) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	out, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range lines {
		cells := make([]any, len(line))
		for n, cell := range line {
			cells[n] = cell
			if v, err := strconv.ParseFloat(cell, 64); err == nil {
				cells[n] = v
			}
		}
		if err := out.SetRow("A"+strconv.Itoa(i+1), cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := out.Flush(); err != nil {
		t.Fatal(err)
	}
	var book bytes.Buffer
	if err := f.Write(&book); err != nil {
		t.Fatal(err)
	}
	return book.Bytes()
}
