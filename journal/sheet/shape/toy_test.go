package shape_test

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"rigtally/journal/field"
	"rigtally/journal/sheet/shape"
)

// toyWords are headers in ten languages, by what they mean.
var toyWords = map[string]string{
	"date":       "date,day,datum,jour,fecha,data,dato,dag,pvm,paivamaara",
	"angler":     "angler,who,fischer,pecheur,pescador,pescatore,wedkarz,rybar,fiskare,fisker,kalastaja",
	"water":      "water,river,gewasser,riviere,rio,fiume,rzeka,reka,vatten,elv,vesi",
	"start":      "start,beginn,debut,inicio,inizio,od,zacatek,borjan,alku",
	"end":        "end,ende,fin,fine,koniec,konec,slut,slutt,loppu",
	"minutes":    "minutes,hours,min,minuten,duree,minutos,minuti,minuty,minuter,minutter,minuutit",
	"junction":   "knot,dropper knot,knoten,noeud,nudo,nodo,wezel,uzel,knut,knute,solmu",
	"tag_length": "tag,tag length,dropper tag,springerlange,longueur,largo,lunghezza,dlugosc,delka,langd,lengde,pituus",
	"tag_start":  "tag start",
	"tag_end":    "tag end",
	"fly":        "fly,flies,fliege,mouche,mosca,mucha,muska,fluga,flue,perho",
	"hook_size":  "hook size,hook",
	"hookups":    "fish,hooked,hookups,fische,poissons,peces,pesci,ryby,fiskar,fisk,kalat",
	"landed":     "landed,gelandet",
	"lost":       "lost,fish lost",
	"tangles":    "tangles,verwicklungen,emmelages,enredos,grovigli,splatania,zamotani,trassel,floker,sotkut",
	"snags":      "snags",
	"notes":      "notes,bemerkungen",
	"water_temp": "temp,water temp",
	"rig":        "rig,rig name",
	"position":   "position,dropper",
	"stint":      "stint", "minutes_lost": "minutes lost", "casts": "casts", "clarity": "clarity", "flow": "flow",
}

// toy understands the toy words, with a unit behind them or not.
func toy(header string) string {
	h := strings.Join(strings.Fields(strings.NewReplacer("(", " ", ")", " ", "_", " ").Replace(field.Plain(header))), " ")
	for {
		for key, list := range toyWords {
			for w := range strings.SplitSeq(list, ",") {
				if w == h {
					return key
				}
			}
		}
		at := strings.LastIndexByte(h, ' ')
		if at < 0 || !strings.Contains(" in cm mm min h ", " "+h[at+1:]+" ") {
			return ""
		}
		h = h[:at]
	}
}

// toyEvent knows a few events.
func toyEvent(word string) (string, bool) {
	for key, list := range map[string]string{"landed": "landed,gelandet", "lost": "lost,verloren", "broke_off": "broke off", "tangles": "tangle,tangled,verwicklung", "snags": "snag,hanger", "hookups": "hooked", "twists": "twist", "": "none,nothing,nichts"} {
		for w := range strings.SplitSeq(list, ",") {
			if w == strings.ToLower(strings.TrimSpace(word)) {
				return key, true
			}
		}
	}
	return "", false
}

// table makes rows of lines whose cells are parted by bars.
func table(lines ...string) []shape.Row {
	var rows []shape.Row
	for i, line := range lines {
		cells := strings.Split(line, "|")
		for at := range cells {
			cells[at] = strings.TrimSpace(cells[at])
		}
		rows = append(rows, shape.Row{Number: i + 1, Cells: cells})
	}
	return rows
}

func sample(t *testing.T, file string) []shape.Row {
	t.Helper()
	f, err := os.Open("../../../testdata/samples/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []shape.Row
	for i, cells := range all {
		rows = append(rows, shape.Row{Number: i + 1, Cells: cells})
	}
	return rows
}

// column finds a column of a table by its key.
func column(t *testing.T, names []string, key string) int {
	t.Helper()
	for i, n := range names {
		if toy(n) == key {
			return i
		}
	}
	t.Fatalf("no column of %s among %q", key, names)
	return -1
}

// lines are a table's rows as text.
func lines(tab shape.Table) string {
	var b strings.Builder
	for _, r := range tab.Rows {
		b.WriteString(strings.Join(r.Cells, "|") + "\n")
	}
	return b.String()
}
