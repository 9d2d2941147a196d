package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// sample is a backup of invented rows in many parts.
func sample(t testing.TB, seed uint64, passphrase string) []byte {
	t.Helper()
	dice := rand.New(rand.NewPCG(seed, 1))
	var file bytes.Buffer
	w, err := newWriter(&file, head(), sealedBy(passphrase, 4))
	if err == nil {
		err = w.part(listTitle, []byte("[]"))
	}
	for _, table := range []string{"outfit", "session", "stint"} {
		rows := &rowsWriter{to: w, head: rowsHead{Table: table, First: 1}}
		for range 5 {
			for range 1 + dice.IntN(400) {
				_, _ = fmt.Fprintf(rows, "%x\t%d\n", dice.Uint64(), dice.IntN(10))
			}
			err = errors.Join(err, rows.flush())
		}
	}
	if passphrase != "" {
		for range 2 { // so that the encrypted has several parts, too
			noise := make([]byte, 80_000)
			for i := range noise {
				noise[i] = byte(dice.Uint32())
			}
			err = errors.Join(err, w.part("noise", noise), w.pieces.flush())
		}
	}
	if _, failed := w.close(End{}); err != nil || failed != nil {
		t.Fatal(err, failed)
	}
	return file.Bytes()
}

// placed is a part and where it stands in its file.
type placed struct {
	title    string
	from, to int64
}

func partsOf(t testing.TB, file []byte) (all []placed) {
	t.Helper()
	r, err := newPartReader(bytes.NewReader(file))
	for err == nil {
		from := r.at
		var p part
		if p, err = r.next(); err == nil {
			all = append(all, placed{p.title, from, r.at})
		}
	}
	if !errors.Is(err, io.EOF) || len(all) < 5 || all[len(all)-1].to != int64(len(file)) {
		t.Fatal(len(all), err)
	}
	return all
}

// Ensure that a backup in which one bit was changed, or that was cut, or of which parts are doubled, moved, left out or from
// another backup, is refused, and that the place named is where that was done.
func TestDamageIsFoundAndPlaced(t *testing.T) {
	t.Parallel()
	times := 150
	if *long {
		times = 1000
	}
	dice := rand.New(rand.NewPCG(20261129, 7))
	for _, passphrase := range []string{"", "three invented words"} {
		file, other := sample(t, 1, passphrase), sample(t, 2, passphrase)
		parts, others := partsOf(t, file), partsOf(t, other)
		if _, err := Check(bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		bytesOf := func(p placed) []byte { return file[p.from:p.to] }
		at := func(i int) (damaged int64, in int) { return parts[i].from, i }
		found := map[string]int{}
		for n := range times {
			var text []byte
			var where int64 // the first byte that is not as it was
			in := -1        // its part
			kind := []string{"bit", "bit", "cut", "doubled", "swapped", "left out", "from another", "more"}[n%8]
			i := 1 + dice.IntN(len(parts)-2) // neither the head nor the end
			switch kind {
			case "bit":
				where = int64(dice.IntN(len(file)))
				text = slices.Clone(file)
				text[where] ^= 1 << dice.IntN(8)
			case "cut":
				where = int64(dice.IntN(len(file)))
				text = file[:where]
			case "doubled":
				where, in = at(i + 1)
				text = slices.Concat(file[:where], bytesOf(parts[i]), file[where:])
			case "swapped":
				j := 1 + dice.IntN(len(parts)-2)
				i, j = min(i, j), max(i, j)
				if i == j {
					continue
				}
				where, in = at(i)
				text = slices.Concat(file[:where], bytesOf(parts[j]), file[parts[i].to:parts[j].from], bytesOf(parts[i]), file[parts[j].to:])
			case "left out":
				where, in = at(i)
				text = slices.Concat(file[:where], file[parts[i].to:])
			case "from another":
				i = min(i, len(others)-2)
				where, in = at(i)
				text = slices.Concat(file[:where], other[others[i].from:others[i].to], file[parts[i].to:])
			case "more":
				where = int64(len(file))
				text = append(slices.Clone(file), file[dice.IntN(len(file)):]...)
			}
			if bytes.Equal(text, file) {
				continue // the list of tables is the same in both
			}
			_, err := Check(bytes.NewReader(text))
			if where < int64(len(firstLine)) {
				if !errors.Is(err, ErrNoArchive) {
					t.Fatalf("%s at %d: %v", kind, where, err)
				}
				continue
			}
			var d *Damage
			if !errors.As(err, &d) {
				t.Fatalf("%s at byte %d: %v", kind, where, err)
			}
			found[kind]++
			if kind == "from another" && i <= 2 && d.From == where+others[i].to-others[i].from {
				continue // what is before it is the same in both; what comes after it is not
			}
			if where < d.From || where >= max(d.To, d.From+1) && (kind != "cut" || where != d.To) {
				t.Errorf("%s at byte %d is said to be in bytes %d to %d", kind, where, d.From, d.To)
			}
			if in < 0 {
				in = slices.IndexFunc(parts, func(p placed) bool { return p.from <= where && where < p.to })
			}
			if kind == "doubled" || kind == "swapped" || kind == "left out" || kind == "from another" || in < 0 {
				continue // the part that stands there is another
			}
			if before := strings.TrimPrefix(parts[max(in-1, 0)].title, "the "); d.In != parts[in].title && !strings.HasSuffix(d.In, " "+before) && in > 0 {
				t.Errorf("%s at byte %d, in %q, is said to be in %q", kind, where, parts[in].title, d.In)
			}
		}
		if len(found) != 7 {
			t.Errorf("tried %v", found)
		}
		t.Logf("refused, passphrase %q: %v", passphrase, found)
	}
}

// Ensure that the sentence says where, in rows and bytes.
func TestDamageSaid(t *testing.T) {
	t.Parallel()
	file := sample(t, 1, "")
	parts := partsOf(t, file)
	text := slices.Clone(file)
	text[parts[8].to-40] ^= 1
	_, err := Check(bytes.NewReader(text))
	want := fmt.Sprintf("the backup is damaged in %s, bytes %s–%s: what it holds was changed; use another backup, or a copy of this one", parts[8].title, grouped(parts[8].from+1), grouped(parts[8].to))
	if err == nil || err.Error() != want || !strings.HasPrefix(parts[8].title, "table session, rows ") {
		t.Errorf("said %v\nnot  %s", err, want)
	}
}

// FuzzCheck holds that no file brings the reader down, and that what it takes for whole it can read.
func FuzzCheck(f *testing.F) {
	f.Add(sample(f, 1, ""))
	f.Add([]byte(firstLine))
	f.Fuzz(func(t *testing.T, file []byte) {
		if _, err := Check(bytes.NewReader(file)); err != nil {
			return
		}
		r, err := newReader(bytes.NewReader(file), phrase("x"))
		for err == nil {
			_, err = r.next()
		}
	})
}
