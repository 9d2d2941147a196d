//go:build linux

package grid

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// maxMemory is what a workbook may make a program take, in kB.
const maxMemory = 300 << 10

// TestMain reads a file in a process of its own, where a test asks for it.
func TestMain(m *testing.M) {
	if path := os.Getenv("GRID_READ"); path != "" {
		os.Exit(readAlone(path))
	}
	os.Exit(m.Run())
}

func readAlone(path string) int {
	f, err := os.Open(path)
	if err != nil {
		fmt.Println(err)
		return 1
	}
	info, err := f.Stat()
	if err != nil {
		fmt.Println(err)
		return 1
	}
	tables, notes, err := Read(context.Background(), f, info.Size())
	cells := 0
	for _, t := range tables {
		for _, r := range t.Rows {
			cells += len(r.Cells)
		}
	}
	status, err2 := os.ReadFile("/proc/self/status") // the most that this process took; what wait tells may be its parent's
	if err2 != nil {
		fmt.Println(err2)
		return 1
	}
	_, peak, _ := strings.Cut(string(status), "VmHWM:")
	fmt.Println(strings.Fields(peak)[0], "kB:", cells, "cells", notes, err)
	return 0
}

// rows writes the XML of a sheet of an .xlsx.
func rows(n, columns int, cell func(w io.Writer, row, column int)) func(io.Writer) error {
	return sheetOf(func(w *bufio.Writer) {
		fmt.Fprint(w, "<worksheet "+mainNS+"><sheetData>")
		for r := range n {
			fmt.Fprintf(w, `<row r="%d">`, r+1)
			for c := range columns {
				cell(w, r, c)
			}
			fmt.Fprint(w, "</row>")
		}
		fmt.Fprint(w, "</sheetData></worksheet>")
	})
}

// TestMemory reads the largest workbooks that are read, and some that are refused, each in a process of its own.
func TestMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds")
	}
	sheet := func(write func(io.Writer) error) func() []byte {
		return func() []byte { return zipped(t, append(frame(""), made{"xl/worksheets/sheet1.xml", write})...) }
	}
	season := func(w io.Writer, r, c int) {
		switch {
		case c == 0:
			fmt.Fprintf(w, `<c r="%s%d"><v>%d</v></c>`, columnName(c), r+1, 45000+r/40)
		case c < 5:
			fmt.Fprintf(w, `<c r="%s%d" t="inlineStr"><is><t>word %d</t></is></c>`, columnName(c), r+1, (r*7+c)%40)
		default:
			fmt.Fprintf(w, `<c r="%s%d"><v>%g</v></c>`, columnName(c), r+1, float64(r*c%977)/8)
		}
	}
	for name, c := range map[string]struct {
		file func() []byte
		want string
	}{
		"100,000 rows of 20 columns": {sheet(rows(100_000, 20, season)), "2000000 cells [] <nil>"},
		"as many cells as are read, all different": {sheet(rows(217_000, 8, func(w io.Writer, r, c int) {
			fmt.Fprintf(w, "<c><v>%d.5</v></c>", (r*8+c)*7919)
		})), "1736000 cells [] <nil>"},
		"more cells than are read": {sheet(rows(150_000, 20, season)), "too many for a workbook"},
		"long texts": {sheet(rows(10_000, 20, func(w io.Writer, r, c int) {
			fmt.Fprintf(w, `<c t="str"><v>%d %s</v></c>`, r*20+c, strings.Repeat("fish ", 60))
		})), "too much for a workbook"},
		"10 GB of zeros": {func() []byte { return bomb(t, "", "\x00", 10<<10, 10<<30) }, "larger than 256 MB"},
		"calculating": {sheet(rows(4_900, 20, func(w io.Writer, r, c int) {
			if c < 16 {
				fmt.Fprintf(w, "<c><v>%d</v></c>", r*c%97)
			} else {
				fmt.Fprintf(w, "<c><f>SUM(A%d:P%d)/%d</f></c>", r+1, r+1, c)
			}
		})), "98000 cells [19600 formulas have no value stored in the workbook and were computed.] <nil>"},
		"a chain of formulas": {sheet(rows(19_000, 1, func(w io.Writer, r, c int) { fmt.Fprintf(w, "<c><f>A%d+1</f></c>", r+2) })),
			"19000 cells [19000 formulas have no value stored"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "book.xlsx")
			file := c.file()
			must(t, os.WriteFile(path, file, 0o600))
			began := time.Now()
			cmd := exec.Command(os.Args[0])
			cmd.Env = append(os.Environ(), "GRID_READ="+path)
			out, err := cmd.CombinedOutput()
			if err != nil || !strings.Contains(string(out), c.want) {
				t.Errorf("%v: %.2000s; want %q", err, out, c.want)
			}
			var peak int
			_, err = fmt.Sscan(string(out), &peak)
			must(t, err)
			t.Logf("%d MB at most, %v, from %d kB", peak>>10, time.Since(began).Round(time.Millisecond), len(file)>>10)
			if peak > maxMemory {
				t.Errorf("took %d MB", peak>>10)
			}
		})
	}
}
