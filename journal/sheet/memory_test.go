package sheet_test

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/pprof"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"rigtally/internal/units"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

func TestMemory(t *testing.T) {
	if file := os.Getenv("RIGTALLY_TEST_IMPORTS"); file != "" {
		importAlone(t, file)
		return
	}
	rows, _ := strconv.Atoi(cmp.Or(os.Getenv("ROWS"), "20000"))
	file := filepath.Join(t.TempDir(), "big.xlsx")
	if err := os.WriteFile(file, workbookOf(t, bigSheet(rows)), 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestMemory$", "-test.v")
	c.Env = append(os.Environ(), "RIGTALLY_TEST_IMPORTS="+file)
	out, err := c.CombinedOutput()
	t.Logf("%s", out)
	if err != nil {
		t.Fatal(err)
	}
}

func importAlone(t *testing.T, file string) {
	store := journaltest.Store(t)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	read, err := sheet.Read(t.Context(), bytes.NewReader(text), file, sheet.Options{Units: units.US})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("read", time.Since(began), peak(t))
	if p := os.Getenv("PROFILE"); p != "" {
		f, _ := os.Create(p)
		pprof.Lookup("heap").WriteTo(f, 0)
		f.Close()
	}
	if _, err := read.Import(t.Context(), store, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	fmt.Println("imported", time.Since(began), peak(t))
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
