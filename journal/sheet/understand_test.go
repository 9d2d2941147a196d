package sheet

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/encoding/charmap"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/words"
)

// The headers are invented; each means what an angler would mean by it.
func TestHeaders(t *testing.T) {
	t.Parallel()
	g := glossaryOf(fields(), words.Built())
	for header, want := range map[string]string{
		"Date": "date", "Datum (TT.MM.JJJJ)": "date", "Date (MM/DD/YYYY)": "date", "Date DD/MM/YYYY": "date", "Fecha": "date",
		"Who": "angler", "Pêcheur": "angler", "Angler*in": "angler", "Client": "angler",
		"River": "water", "Gewässer": "water", "Cours d'eau": "water", "Water": "water", "Vatten": "water",
		"Tag": "tag_length", "Tag (in)": "tag_length in", "tag cm": "tag_length cm", "TAG_LENGTH_MM": "tag_length mm", "Tag/cm": "tag_length cm", "Tag length [inches]": "tag_length in",
		"tag_end_mm": "tag_end mm", "Tag at end (cm)": "tag_end cm", "tag start mm": "tag_start mm",
		"Water °F": "water_temp f", "water_temp_c": "water_temp c", "Water temp C": "water_temp c", "Temp": "water_temp", "°C": "water_temp c", "Water temperature (deg F)": "water_temp f",
		"velocity_ms": "velocity m/s", "Current (ft/s)": "velocity ft/s", "storm": "storm", "Flow cfs": "flow cfs", "flow m3/s": "flow m3/s", "flow_m3s": "flow m3/s", "CFS": "flow cfs", "Discharge (m³/s)": "flow m3/s",
		"Rod time": "minutes", "minutes": "minutes min", "Hours": "minutes h", "hours fished": "minutes h", "Time fished (min)": "minutes min", "minutes_lost": "minutes_lost min", "Time lost": "minutes_lost",
		"Knot": "junction", "Broke at knot": "junction_breaks", "junction breaks": "junction_breaks", "To hand": "landed", "Hooked": "hookups", "Remarks": "notes",
		"tippet_x": "tippet x", "tippet mm": "tippet mm", "Tippet": "tippet", "tippet_length_mm": "tippet_length mm", "depth_ft": "depth ft", "Depth (m)": "depth m",
		"bead_mm": "bead mm", "Hook size": "hook_size", "foul_hookups": "foul_hookups", "Re-ties": "reties", "Untimed tangles": "untimed_tangles",
		"Time": "time", "Ora": "time", "Hora": "time", "Zeit (min)": "minutes min", "Ore": "minutes h", "Angelstunden": "minutes h", "Kalastustunnit": "minutes h", "godz.": "time", "Boat": "", "": "", "Air temp": "", "Fish length (cm)": "", "12": "", "(in)": "",
	} {
		got := ""
		if f, u := g.understand(header); f != nil {
			got = strings.TrimSpace(f.Key + " " + string(u))
		}
		if got != want {
			t.Errorf("%q was taken for %q, want %q", header, got, want)
		}
	}
}

// What anglers of ten languages write over their columns, as people who fish with them say (common practice, no source).
func TestHeadersInTenLanguages(t *testing.T) {
	t.Parallel()
	g := glossaryOf(fields(), words.Built())
	for key, headers := range map[string]string{
		"date":          "Datum; fecha; Data; dzień; den; dag; dato; päivä; pvm",
		"angler":        "Member; Name; Rod; Who; Client; Guest; Fisher; Angler/Anglerin; Angler*in; Pêcheur; PECHEUR; Pescador; Pescatore; Wędkarz; Wedkarz; Rybář; Fiskare; Fisker; Kalastaja",
		"water":         "Venue; Gewässer; Gewaesser; Fluß; Rivière; Cours d'eau; Río; Fiume; Torrente; Łowisko; Rzeka; Řeka; Älv; Vatten; Elv; Joki",
		"beat":          "Stretch; Pool; Strecke; Parcours; Tramo; Coto; Tratto; Odcinek; Úsek; Sträcka; Vald; Osuus",
		"start":         "Time in; Start time; Beginn; von; Début; Heure de début; Hora inicio; Ora inizio; Początek; od; Začátek; Från; Fra; Alku",
		"end":           "Time out; Ende; bis; Fin; Hasta; Ora fine; Koniec; Konec; Slut; Slutt; Loppu",
		"minutes h":     "Rod hours; Stunden; Std.; Heures; Horas; Ore; Hodin; Timmar; Timer; Tuntia; Dauer (Std); Durée (h); Angelstunden; Fisketimmar; Kalastustunnit; Godziny łowienia",
		"minutes min":   "Mins; Minuten; Minutos; Minuti; Minuty; Minuutit; Angelzeit (Min.); Minutes pêchées",
		"time":          "Time; Zeit; Heure; Hora; Ora; Godz.; Čas; Tid; Klo; Aika",
		"fish":          "Fish; Fische; Poissons; Nb poissons; Peces; Pesci; Ryby; Fiskar; Antall fisk; Kalat",
		"hookups":       "Hooked; gehakt; Ferrés; Clavados; Allamati; Zacięte; Zaseknuté; Krokade; Kroket; Tartutetut",
		"landed":        "To hand; Gelandet; Fänge; Prises; Capturas; Catture; Złowione; Zdolané; Landade; Landet; Saadut; Haavitut",
		"lost":          "Lost; Verloren; Aussteiger; Perdus; Décrochés; Perdidos; Slamati; Spięte; Spadlé; Tappade; Mistet; Karanneet",
		"broke_off":     "Break-offs; Abriss; Abrisse; Casses; Roturas; Rotture; Zerwania; Utržení; Přetržení; Avslitna; Slitt av; Katkeamiset",
		"snags":         "Snags; Hänger; Accrochages; Enganches; Incagli; Zaczepy; Vázky; Bottennapp; Bunnapp; Pohjatartunta",
		"tangles":       "Tangles; Verwicklungen; Perücke; Vertüddelung; Emmêlements; Enredos; Grovigli; Garbugli; Splątania; Zamotání; Zauzlení; Trassel; Floker; Sotkut; Takut",
		"foul_hookups":  "Foul-hooked; quer gehakt; Mal piqués; Robados; Podhaczone; Podseknuté; Felkrokade; Feilkroket",
		"junction":      "Knot; Knoten; Nœud; Noeud; Nudo; Nodo; Węzeł; Uzel; Knut; Knute; Solmu",
		"tag_length cm": "Tag (cm); Seitenarm (cm); Springer cm; Springerlänge/cm; Potence (cm); Codal (cm); Gamo (cm); Bracciolo (cm); Troczek [cm]; Przypon boczny (cm); Přívěs (cm); Upphängare (cm); Opphenger (cm); Sivuperuke (cm)",
		"leader_length": "LDR; Leader; Vorfach; Bas de ligne; Bajo de línea; Finale; Przypon; Návazec; Tafs; Fortom; Peruke; Perukepituus",
		"rod_length ft": "Rod (ft)",
		"water_temp c":  "Water (°C); Wassertemp. °C; Température de l'eau (°C); T° eau (°C); Temperatura dell'acqua °C; Teplota vody (°C); Vattentemp (°C); Veden lämpötila °C",
		"flow m3/s":     "Abfluss (m³/s); Débit m³/s; Caudal (m3/s); Portata m³/s; Przepływ (m³/s); Průtok m3/s; Vannføring (m³/s); Virtaama (m³/s)",
		"notes":         "Bemerkungen; Remarques; Observaciones; Note; Uwagi; Poznámky; Anteckningar; Merknader; Huomiot",
		"":              "Nœuds; Lost flies; Air temp; Weather; Score; Ø; Departure",
	} {
		for header := range strings.SplitSeq(headers, "; ") {
			got := ""
			if f, u := g.understand(header); f != nil {
				got = strings.TrimSpace(f.Key + " " + string(u))
			}
			if got != key {
				t.Errorf("%q was taken for %q, want %q", header, got, key)
			}
		}
	}
}

// Ensure that every export header means its own field, and that the table's words are there.
func TestHeadersAreClear(t *testing.T) {
	t.Parallel()
	g := glossaryOf(fields(), words.Built())
	for _, f := range fields() {
		for _, name := range words.Built().Headings(f.Key) {
			if got, _ := g.understand(name); got == nil || got.Key != f.Key {
				t.Errorf("%q is not read as %s", name, f.Key)
			}
		}
	}
	for _, c := range exchange.FlatColumns() {
		if f, _ := g.understand(c.Header()); f == nil || f.Key != c.Key {
			t.Errorf("the export's %s is read as %v", c.Header(), f)
		}
	}
}

func TestDates(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		order      DateOrder
		text, want string
	}{
		{DayFirst, "2025-04-07", "2025-04-07"}, {DayFirst, "2025/4/7", "2025-04-07"}, {MonthFirst, "2025.04.07", "2025-04-07"}, {DayFirst, "20250407", "2025-04-07"},
		{DayFirst, "2025-04-07T00:00:00", "2025-04-07"}, {MonthFirst, "4/7/2025 0:00", "2025-04-07"},
		{DayFirst, "07/04/2025", "2025-04-07"}, {MonthFirst, "04/07/2025", "2025-04-07"}, {DayFirst, "7-4-25", "2025-04-07"}, {YearFirst, "25-04-07", "2025-04-07"},
		{DayFirst, "7.4.2025", "2025-04-07"}, {YearFirst, "07.04.2025", "2025-04-07"}, {DayFirst, "7. 4. 2025", "2025-04-07"},
		{DayFirst, "7/4/98", "1998-04-07"}, {DayFirst, "7/4/27", "2027-04-07"}, {DayFirst, "7/4/28", "1928-04-07"},
		{DayFirst, "07-Apr-2025", "2025-04-07"}, {DayFirst, "Apr 7, 2025", "2025-04-07"}, {MonthFirst, "7 April 2025", "2025-04-07"}, {DayFirst, "Monday, April 7th, 2025", "2025-04-07"},
		{DayFirst, "Mon 7 Apr 25", "2025-04-07"}, {MonthFirst, "Sun 04/06/2025", "2025-04-06"}, {DayFirst, "7. März 2025", "2025-03-07"}, {DayFirst, "7 août 2025", "2025-08-07"},
		{DayFirst, "7 juin 2025", "2025-06-07"}, {DayFirst, "7 juillet 2025", "2025-07-07"}, {DayFirst, "7. mai 2025", "2025-05-07"}, {DayFirst, "martes 7 enero 2025", "2025-01-07"},
		{DayFirst, "2025 Apr 7", "2025-04-07"},
		// Day 45754 is 7 April 2025: 2025-01-01 is 45658 by ECMA-376's count, and 96 days follow.
		{DayFirst, "45754", "2025-04-07"}, {DayFirst, "45754.0", "2025-04-07"},
		{DayFirst, "29/02/2024", "2024-02-29"},
		{DayFirst, "29/02/2025", "February 2025 has 28 days"}, {MonthFirst, "14/05/2025", "has no month 14 (dates are read month first)"},
		{DayFirst, "7/4", "is not a day"}, {DayFirst, "7-4.2025", "is not a day"}, {DayFirst, "0/0/0", "has no month 0"}, {DayFirst, "7/4/1492", "is in the year 1492"},
		{DayFirst, "Apr 2025", "has no year"}, {DayFirst, "7 Foo 2025", "is not a day"}, {DayFirst, "123456789", "is not a day"}, {DayFirst, "", "is not a day"},
	} {
		d := &dateReader{order: tt.order, now: now, words: words.Built(), odd: map[string]int{}}
		day, _ := splitClock(tt.text)
		got, err := d.read(day)
		if err != nil {
			if !strings.Contains(err.Error(), tt.want) {
				t.Errorf("%q %s: %v, want %s", tt.text, tt.order, err, tt.want)
			}
		} else if got.String() != tt.want {
			t.Errorf("%q %s: %s, want %s", tt.text, tt.order, got, tt.want)
		}
	}
}

func TestDecideDates(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		header string
		cells  []string
		asked  DateOrder
		want   DateOrder
		fails  string
	}{
		{"date", []string{"04/06/2025", "04/15/2025"}, "", MonthFirst, ""},
		{"date", []string{"04/06/2025", "15/04/2025"}, "", DayFirst, ""},
		{"date", []string{"04-06-2025", "15-04-2025"}, "", DayFirst, ""},
		{"Datum (TT/MM/JJJJ)", []string{"04/06/2025"}, "", DayFirst, ""},
		{"Date (mm/dd/yy)", []string{"04/06/25"}, "", MonthFirst, ""},
		{"Date DD/MM/YYYY", []string{"04/06/2025"}, "", DayFirst, ""},
		{"Date (JJ/MM/AAAA)", []string{"04/06/2025"}, "", DayFirst, ""},
		{"Date (comments)", []string{"04/06/2025"}, "", "", "4 June or 6 April"},
		{"date", []string{"04.06.2025"}, "", DayFirst, ""},
		{"date", []string{"04/04/2025", "2025-04-06"}, "", DayFirst, ""},
		{"date", []string{"04/06/2025"}, MonthFirst, MonthFirst, ""},
		{"date", []string{"04/06/2025"}, "", "", "4 June or 6 April"},
		{"date", []string{"04/13/2025", "13/04/2025"}, "", "", "contradict"},
	} {
		got, err := headerOrder(tt.header), error(nil)
		if got == "" || tt.asked != "" {
			got, _, err = decideDates(slices.Values(tt.cells), tt.asked)
		}
		if got != tt.want || (err == nil) != (tt.fails == "") || err != nil && !strings.Contains(err.Error(), tt.fails) {
			t.Errorf("%s %v: %q, %v", tt.header, tt.cells, got, err)
		}
	}
}

func TestClocks(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"06:30": "06:30", "6:30": "06:30", "6:30 am": "06:30", "6:30 PM": "18:30", "12:05 a.m.": "00:05", "12 pm": "12:00", "0630": "06:30", "18h30": "18:30", "7 pm": "19:00",
		"06:30:15": "06:30:15", "0.5": "", "0.270833333": "06:30", "0,75000": "18:00", "24:00": "", "6:60": "", "13 pm": "", "630": "", "noon": "", "": "",
	} {
		got := ""
		if s, ok := parseClock(text); ok {
			got = clockText(s)
		}
		if got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

func TestJunctionWords(t *testing.T) {
	t.Parallel()
	d := exchange.JunctionWords(words.Built())
	for text, want := range map[string]journal.Junction{
		"Fig 8": "figure-eight", "figure eight": "figure-eight", "Figure-8": "figure-eight", "FIGURE OF EIGHT KNOT": "figure-eight",
		"Surgeons": "double surgeon's", "dbl surgeon": "double surgeon's", "double surgeon’s knot": "double surgeon's", "Triple Surgeon's": "triple surgeon's",
		"Blood": "blood", "blood knot": "blood", "ring": "tippet ring", "Tippet Ring": "tippet ring", "uni": "uni", "Perfection loop": "perfection loop", "other": "", "knot": "", "Orvis": "",
	} {
		if got := d[words.CompactKnot(text)]; got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

// Ensure that a text is read the same whatever program saved it: the encodings
// are those of The Unicode Standard, and of Microsoft's code page 1252.
func TestEncodings(t *testing.T) {
	t.Parallel()
	want := "date;Gewässer\n2025-04-01;Åsen\n"
	u16 := func(low, high int, mark string) string {
		b := []byte(mark)
		for _, r := range want {
			var pair [2]byte
			pair[low], pair[high] = byte(r), byte(r>>8)
			b = append(b, pair[:]...)
		}
		return string(b)
	}
	for name, text := range map[string]string{
		"UTF-8": want, "UTF-8 with a mark": "\xef\xbb\xbf" + want, "UTF-16LE": u16(0, 1, "\xff\xfe"), "UTF-16BE": u16(1, 0, "\xfe\xff"), "UTF-16LE without a mark": u16(0, 1, ""),
		"Windows-1252": strings.NewReplacer("ä", "\xe4", "Å", "\xc5").Replace(want),
	} {
		if got, _, err := readText(strings.NewReader(text), func(string) bool { return false }); got != want || err != nil {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}

// Ensure that a text of another code page is known by its headers or by the signs that
// another reading would have among its letters. The bytes are those of golang.org/x/text.
func TestCodePages(t *testing.T) {
	t.Parallel()
	known := func(h string) bool { f, _ := glossaryOf(fields(), words.Built()).understand(h); return f != nil }
	for _, tt := range []struct {
		page       *charmap.Charmap
		text, says string
	}{
		{charmap.Windows1252, "Datum;Gewässer;Fänge\n2025-04-01;Bärental;1\n", "Windows-1252, as “Gewässer” should show"},
		{charmap.Windows1252, "date;rivière;débit m³/s\n2025-04-01;Émeraude;1\n", "Windows-1252, as “rivière” should show"},
		{charmap.Windows1252, "dato;elv;vær\n2025-04-01;Sjøåa;1\n", "Windows-1252, as “vær” should show"},
		{charmap.Windows1250, "Datum;Řeka;Rybář\n2025-04-01;Šumná;Říha\n", "Windows-1250 (Central Europe), as “Řeka” should show"},
		{charmap.Windows1250, "Data;Rzeka;Ryby\n2025-04-01;Łąkowa Woda;1\n", "Windows-1250 (Central Europe), as “Łąkowa” should show"},
		{charmap.ISO8859_2, "Data;Łowisko;Wędkarz\n2025-04-01;Żabia;Ślęza\n", "ISO 8859-2, as “Łowisko” should show"},
		{charmap.Macintosh, "Datum;Gewässer;Fänge\n2025-04-01;Bärental;1\n", "Mac OS Roman, as “Gewässer” should show"},
		{charmap.CodePage850, "Datum;Gewässer;Fänge\n2025-04-01;Bärental;1\n", "MS-DOS 850, as “Gewässer” should show"},
	} {
		b, err := tt.page.NewEncoder().String(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		if got, says, err := readText(strings.NewReader(b), known); got != tt.text || says != tt.says || err != nil {
			t.Errorf("%s: %q, %s, %v", tt.page, got, says, err)
		}
	}
}

func TestDerivedIDs(t *testing.T) {
	t.Parallel()
	day := journal.Date{Year: 2025, Month: 4, Day: 7}
	a, b := deriveID(day, "session", "maud", "tessel", ""), deriveID(day, "session", "maudt", "essel", "")
	if a == b || a != deriveID(day, "session", "maud", "tessel", "") {
		t.Error("ids are not as different as what they are of")
	}
	// RFC 9562, 5.7: 48 bits of milliseconds since 1970, version 7, variant 10.
	if text, want := a.String(), fmt.Sprintf("%012x", day.In(time.UTC).UnixMilli()); strings.ReplaceAll(text[:13], "-", "") != want || text[14] != '7' || !strings.ContainsRune("89ab", rune(text[19])) {
		t.Errorf("%s is no UUIDv7 of that day", text)
	}
}

// Ensure that counts come back from the events made of them.
func TestTallyRoundTrip(t *testing.T) {
	t.Parallel()
	var tl exchange.Tally
	for c := range tl {
		tl[c] = new(int)
	}
	set := func(c journal.Count, n int) { tl[c] = &n }
	n := 0
	for hooked := range 4 {
		for ended := range 27 {
			landed, lost, broke := ended%3, ended/3%3, ended/9
			for foul := range hooked + 1 {
				for breaks := range 6 {
					breaks, foulLost := breaks%3, min(lost, breaks/3)
					set(journal.CountHookups, hooked)
					set(journal.CountLanded, landed)
					set(journal.CountLost, lost)
					set(journal.CountBrokeOff, broke)
					set(journal.CountFoul, foul)
					set(journal.CountFairLost, lost-foulLost)
					set(journal.CountHookingUntold, (hooked-foul)/2)
					set(journal.CountBrokeJunction, breaks)
					set(journal.CountSnags, 1)
					events, err := eventsOf(&tl, nil, eventRules{foulTold: true, checkColumn: true})
					possible := landed+lost+broke <= hooked && breaks <= broke+1 && foulLost <= min(lost, foul) && foul-foulLost <= hooked-lost
					if (err == nil) != possible {
						t.Fatalf("%v gave %v", []int{hooked, landed, lost, broke, foul, foulLost, breaks}, err)
					}
					if err != nil {
						continue
					}
					n++
					back, _ := exchange.TallyOf(events, journal.Rig{}, nil)
					for _, c := range append(journal.AllCounts()[:journal.CountTangles], journal.CountHookingUntold) {
						if back.N(c) != tl.N(c) {
							t.Fatalf("%v came back as %d of count %d", []int{hooked, landed, lost, broke, foul, foulLost, breaks}, back.N(c), c)
						}
					}
				}
			}
		}
	}
	if n < 50 {
		t.Errorf("only %d cases were possible", n)
	}
}

// Ensure that what totals leave open is settled as the comment of tally.events
// says; the conventions are the project's own.
func TestConventions(t *testing.T) {
	t.Parallel()
	with := func(counts map[journal.Count]int) *exchange.Tally {
		var tl exchange.Tally
		for c, n := range counts {
			tl[c] = &n
		}
		return &tl
	}
	for _, tt := range []struct {
		name   string
		counts map[journal.Count]int
		want   string
	}{
		{"ended fish are hooked fish", map[journal.Count]int{journal.CountLanded: 2, journal.CountLost: 1}, "2 fair landed, 1 fair lost"},
		{"foul fish were landed first", map[journal.Count]int{journal.CountHookups: 5, journal.CountLanded: 2, journal.CountLost: 2, journal.CountFoul: 3}, "2 foul landed, 1 foul , 2 fair lost"},
		{"and lost last", map[journal.Count]int{journal.CountHookups: 3, journal.CountLanded: 1, journal.CountLost: 2, journal.CountFoul: 2}, "1 foul landed, 1 fair lost, 1 foul lost"},
		{"breaks are of fish of unknown ending, then of snags", map[journal.Count]int{journal.CountHookups: 3, journal.CountLanded: 2, journal.CountSnags: 2, journal.CountBrokeJunction: 2}, "2 fair landed, 1 fair broke off junction, 1 snag, 1 snag broke off junction"},
		{"and of those broken off where these are told", map[journal.Count]int{journal.CountHookups: 3, journal.CountBrokeOff: 2, journal.CountSnags: 0, journal.CountBrokeJunction: 1}, "1 fair , 1 fair broke off, 1 fair broke off junction"},
		{"minutes lost are of all the tangles", map[journal.Count]int{journal.CountTangles: 3, journal.CountTwists: 1, journal.CountMinutesLost: 9}, "1 twist 9 min, 2 tangle 0 min"},
		{"but not of those untimed", map[journal.Count]int{journal.CountTangles: 3, journal.CountTwists: 1, journal.CountMinutesLost: 9, journal.CountUntimed: 1}, "1 twist 9 min, 1 tangle 0 min, 1 tangle"},
		{"without a tangle they are of a re-tie", map[journal.Count]int{journal.CountTangles: 0, journal.CountMinutesLost: 4}, "1 re-tie 4 min"},
	} {
		events, err := eventsOf(with(tt.counts), nil, eventRules{foulTold: true, checkColumn: true})
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		}
		var got []string
		for _, e := range events {
			text := fmt.Sprint(e.Count, " ", e.Kind)
			switch e.Kind {
			case journal.EventHookup:
				text = fmt.Sprint(e.Count, " ", e.Hooking, " ", e.Ending)
			case journal.EventTangle:
				if e.TangleKind != "" {
					text = fmt.Sprint(e.Count, " ", e.TangleKind)
				}
			case journal.EventSnag:
				text = strings.TrimSpace(text + " " + string(e.Ending))
			}
			if e.BreakPlace != "" {
				text += " " + string(e.BreakPlace)
			}
			if e.MinutesLost != nil {
				text += fmt.Sprintf(" %d min", *e.MinutesLost)
			}
			got = append(got, text)
		}
		if list := strings.Join(got, ", "); list != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, list, tt.want)
		}
	}
}

// Ensure that a decimal comma is found by the numbers themselves.
func TestDecimalMark(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		text string
		want float64
	}{
		{"date,angler,water,flow cfs\n2025-04-01,a,b,\"1,020\"\n", 1020},
		{"date;angler;water;flow cfs\n2025-04-01;a;b;1,020\n", 1.02},
		{"date;angler;water;flow cfs\n2025-04-01;a;b;1.020\n", 1020},
		{"date;angler;water;flow cfs\n2025-04-01;a;b;1,020\n2025-04-02;a;b;0.5\n", 1020},
		{"date,angler,water,flow cfs\n2025-04-01,a,b,\"1,020\"\n2025-04-02,a,b,\"16,5\"\n", 1.02},
		{"date\tangler\twater\tflow cfs\n2025-04-01\ta\tb\t1 020\n", 1020},
	} {
		s, err := Read(t.Context(), strings.NewReader(tt.text), "x", Options{Units: units.US})
		if err != nil || len(s.Bad) > 0 {
			t.Fatal(err, s)
		}
		if got := *s.rows[0].Outing.FlowM3S / 0.028316846592; got < tt.want*0.999999 || got > tt.want*1.000001 {
			t.Errorf("%q is %v cfs, want %v", tt.text, got, tt.want)
		}
	}
}
