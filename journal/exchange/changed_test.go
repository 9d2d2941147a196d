package exchange

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

var long = flag.Bool("long", false, "change a backup in 1,000 ways, and not in 200")

// sealedBackup is the backup of an invented journal, as it is written now.
func sealedBackup(t testing.TB) []byte {
	t.Helper()
	old, err := os.ReadFile(filepath.Join("..", "..", "testdata", "backups", "journal-version-1.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := ReadContents(bytes.NewReader(old))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := writeContents(c, newBackupWriter(&b)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var namedLine = regexp.MustCompile(`line (\d+)`)

// Ensure that a backup of which one bit was changed, a part was cut off or out, or lines were doubled or reordered is
// refused, and that the line is named, or the one beside it.
func TestEveryChangeOfABackupIsRefused(t *testing.T) {
	t.Parallel()
	text := sealedBackup(t)
	if s, err := CheckBackup(bytes.NewReader(text)); err != nil || !s.Proves() || s.Records != bytes.Count(text, []byte("\n"))-2 {
		t.Fatalf("unchanged it is %+v, %v", s, err)
	}
	lines := bytes.SplitAfter(bytes.TrimSuffix(text, []byte("\n")), []byte("\n"))
	lines[len(lines)-1] = append(slices.Clone(lines[len(lines)-1]), '\n')
	lineAt := func(offset int) int { return bytes.Count(text[:offset], []byte("\n")) + 1 }
	r := rand.New(rand.NewPCG(15, 3))
	block := func(from int) int { return from + 1 + r.IntN(min(9, len(lines)-from)) }
	changes := []struct {
		name string
		make func() (changed []byte, line int)
	}{
		{"one bit", func() ([]byte, int) {
			at, changed := r.IntN(len(text)), slices.Clone(text)
			changed[at] ^= 1 << r.IntN(8)
			return changed, lineAt(at)
		}},
		{"cut off", func() ([]byte, int) {
			at := 1 + r.IntN(len(text)-1)
			return text[:at], lineAt(at - 1)
		}},
		{"cut out", func() ([]byte, int) {
			from := r.IntN(len(lines))
			to := block(from)
			return bytes.Join(slices.Concat(lines[:from], lines[to:]), nil), from + 1
		}},
		{"bytes cut out", func() ([]byte, int) {
			at := r.IntN(len(text) - 1)
			n := 1 + r.IntN(min(5000, len(text)-at-1))
			return slices.Concat(text[:at], text[at+n:]), lineAt(at)
		}},
		{"doubled", func() ([]byte, int) {
			from := r.IntN(len(lines))
			to := block(from)
			return bytes.Join(slices.Concat(lines[:to], lines[from:]), nil), to + 1
		}},
		{"reordered", func() ([]byte, int) {
			from := r.IntN(len(lines) - 1)
			mid := min(block(from), len(lines)-1)
			to := block(mid)
			return bytes.Join(slices.Concat(lines[:from], lines[mid:to], lines[from:mid], lines[to:]), nil), from + 1
		}},
		{"another's", func() ([]byte, int) {
			i, j := r.IntN(len(lines)), r.IntN(len(lines))
			changed := slices.Clone(lines)
			if changed[i] = lines[j]; i == j {
				changed[i] = append([]byte(" "), lines[i]...)
			}
			return bytes.Join(changed, nil), i + 1
		}},
	}
	n := 200
	if *long {
		n = 1000
	}
	refused := 0
	for i := range n {
		change := changes[i%len(changes)]
		if i%3 == 0 {
			change = changes[0]
		}
		changed, line := change.make()
		_, err := CheckBackup(bytes.NewReader(changed))
		if err == nil {
			t.Errorf("change %d, %s in line %d, was accepted", i, change.name, line)
			continue
		}
		named := namedLine.FindStringSubmatch(err.Error())
		if named == nil {
			t.Errorf("change %d, %s in line %d, was refused without a place: %v", i, change.name, line, err)
			continue
		}
		if at, _ := strconv.Atoi(named[1]); at < line-1 || at > line+1 {
			t.Errorf("change %d, %s in line %d, was refused with another place: %v", i, change.name, line, err)
			continue
		}
		refused++
	}
	t.Logf("%d of %d changed backups were refused with the place named", refused, n)
}

// Ensure that what programs do to files on their way is named for what it is.
func TestBackupsThatOtherProgramsChanged(t *testing.T) {
	t.Parallel()
	text := string(sealedBackup(t))
	last := strings.Count(text, "\n")
	for _, tt := range []struct{ name, text, want string }{
		{"line ends", strings.ReplaceAll(text, "\n", "\r\n"), "line 1: its line end was changed"},
		{"the last line end cut off", strings.TrimSuffix(text, "\n"), fmt.Sprintf("line %d: ends in the middle of a record", last)},
		{"a mark of the encoding", "\xef\xbb\xbf" + text, "line 1: was changed"},
		{"two joined", text + text, fmt.Sprintf("line %d: comes after the end", last+1)},
		{"an empty line at the end", text + "\n", fmt.Sprintf("line %d: comes after the end", last+1)},
		{"keys in another order", strings.Replace(text, `{"rigtally":"journal","version":3`, `{"version":3,"rigtally":"journal"`, 1), "line 1: was changed"},
		{"a line lost", strings.Join(slices.Delete(strings.SplitAfter(text, "\n"), 4, 5), ""), "line 5: says that it is line 6"},
		{"said to be older", strings.Replace(text, `"version":3`, `"version":2`, 1), "line 1: was changed"},
	} {
		if _, err := CheckBackup(strings.NewReader(tt.text)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want something with %q", tt.name, err, tt.want)
		}
	}
}

// BenchmarkSums writes and reads a backup with sums and, as version 2 was, without, and tells how much longer the
// sums take.
func BenchmarkSums(b *testing.B) {
	text := sealedBackup(b)
	plain := regexp.MustCompile(`(?m),"n":\d+,"sum":"[0-9a-f]+"}$`).ReplaceAll(bytes.Replace(text, []byte(`"version":3`), []byte(`"version":2`), 1), []byte("}"))
	var records []record
	for line := range bytes.Lines(plain) {
		var r record
		if err := json.Unmarshal(line, &r); err != nil {
			b.Fatal(err)
		}
		records = append(records, r)
	}
	read := func(text []byte) {
		if _, err := parseBackup(bytes.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
	forms := []func(){
		func() {
			out := bufio.NewWriter(io.Discard)
			e := json.NewEncoder(out)
			e.SetEscapeHTML(false)
			for _, r := range records {
				if err := e.Encode(r); err != nil {
					b.Fatal(err)
				}
			}
		},
		func() {
			w := newBackupWriter(io.Discard)
			for _, r := range records {
				w.write(r)
			}
		},
		func() { read(plain) },
		func() { read(text) },
	}
	best := make([]time.Duration, len(forms)) // others work on the machine, too
	for b.Loop() {
		for i, form := range forms {
			start := time.Now()
			form()
			if took := time.Since(start); best[i] == 0 || took < best[i] {
				best[i] = took
			}
		}
	}
	b.ReportMetric(float64(best[1])/float64(best[0]), "write-ratio")
	b.ReportMetric(float64(best[3])/float64(best[2]), "read-ratio")
}
