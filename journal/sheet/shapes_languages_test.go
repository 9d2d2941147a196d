package sheet

import (
	"strings"
	"testing"

	"rigtally/journal"
)

// Rigs side by side are read in each language, with the labels of their headers and in a row above them.
func TestSideBySideInTenLanguages(t *testing.T) {
	for _, c := range []struct{ language, sheet string }{
		{"English", "Date;Rig 1 knot;Rig 1 minutes;Rig 1 tangles;Rig 2 knot;Rig 2 minutes;Rig 2 tangles"},
		{"English, parts of the day", ";AM;;;PM;;\nDate;Knot;Minutes;Tangles;Knot;Minutes;Tangles"},
		{"German", "Datum;Montage 1 Knoten;Montage 1 Minuten;Montage 1 Verwicklungen;Montage 2 Knoten;Montage 2 Minuten;Montage 2 Verwicklungen"},
		{"German, parts of the day", ";Vormittag;;;Nachmittag;;\nDatum;Knoten;Minuten;Verwicklungen;Knoten;Minuten;Verwicklungen"},
		{"French", "Date;Montage 1 nœud;Montage 1 minutes;Montage 1 emmêlages;Montage 2 nœud;Montage 2 minutes;Montage 2 emmêlages"},
		{"French, parts of the day", ";Matin;;;Après-midi;;\nJour;Nœud;Minutes;Emmêlages;Nœud;Minutes;Emmêlages"},
		{"Spanish", "Fecha;Nudo (mañana);Minutos (mañana);Enredos (mañana);Nudo (tarde);Minutos (tarde);Enredos (tarde)"},
		{"Spanish, rigs", "Fecha;Aparejo 1 nudo;Aparejo 1 minutos;Aparejo 1 enredos;Aparejo 2 nudo;Aparejo 2 minutos;Aparejo 2 enredos"},
		{"Italian", "Data;Nodo mattina;Minuti mattina;Grovigli mattina;Nodo sera;Minuti sera;Grovigli sera"},
		{"Italian, rigs", ";Finale 1;;;Finale 2;;\nData;Nodo;Minuti;Grovigli;Nodo;Minuti;Grovigli"},
		{"Polish", "Data;Węzeł rano;Minuty rano;Splątania rano;Węzeł po południu;Minuty po południu;Splątania po południu"},
		{"Polish, rigs", ";Zestaw 1;;;Zestaw 2;;\nData;Węzeł;Minuty;Splątania;Węzeł;Minuty;Splątania"},
		{"Czech", "Datum;Uzel dopoledne;Minuty dopoledne;Zamotání dopoledne;Uzel odpoledne;Minuty odpoledne;Zamotání odpoledne"},
		{"Czech, rigs", ";Návazec 1;;;Návazec 2;;\nDatum;Uzel;Minuty;Zamotání;Uzel;Minuty;Zamotání"},
		{"Swedish", "Datum;Knut förmiddag;Minuter förmiddag;Trassel förmiddag;Knut eftermiddag;Minuter eftermiddag;Trassel eftermiddag"},
		{"Swedish, rigs", ";Tafs A;;;Tafs B;;\nDatum;Knut;Minuter;Trassel;Knut;Minuter;Trassel"},
		{"Norwegian", "Dato;Knute morgen;Minutter morgen;Floker morgen;Knute kveld;Minutter kveld;Floker kveld"},
		{"Norwegian, rigs", ";Oppsett 1;;;Oppsett 2;;\nDato;Knute;Minutter;Floker;Knute;Minutter;Floker"},
		{"Finnish", "Päivämäärä;Solmu aamulla;Minuutit aamulla;Sotkut aamulla;Solmu illalla;Minuutit illalla;Sotkut illalla"},
		{"Finnish, rigs", ";Peruke 1;;;Peruke 2;;\nPäivämäärä;Solmu;Minuutit;Sotkut;Solmu;Minuutit;Sotkut"},
		{"equal headers", "Date;Knot;Minutes;Tangles;Knot;Minutes;Tangles"},
	} {
		text := c.sheet + "\n2025-05-01;Blood;90;2;Uni;60;1\n2025-05-02;Blood;80;0;;;\n2025-05-03;;;;Uni;70;3\n"
		s, err := Read(t.Context(), strings.NewReader(text), "sheet.csv", Options{Angler: "A. Angler", Water: "Tessel"})
		if err != nil {
			t.Errorf("%s: %v", c.language, err)
			continue
		}
		minutes, tangles, bad := 0.0, 0, len(s.Bad)+len(s.Stops)
		for _, r := range s.rows {
			if r.Fished.Minutes != nil {
				minutes += *r.Fished.Minutes
			}
			tangles += r.Tally.N(journal.CountTangles)
		}
		if s.Sessions != 3 || s.Stints != 4 || minutes != 300 || tangles != 6 || bad > 0 {
			t.Errorf("%s: %d sessions, %d stints, %g minutes, %d tangles, %v %v", c.language, s.Sessions, s.Stints, minutes, tangles, s.Bad, s.Stops)
		}
	}
}

// sums adds up what the rows of a sheet hold of a count.
func sums(s *Sheet, of journal.Count) (n int) {
	for _, r := range s.rows {
		n += r.Tally.N(of)
	}
	return n
}

// Flies of one rig side by side are one stint, whatever the language of their headers.
func TestFliesInTenLanguages(t *testing.T) {
	for _, c := range []struct{ language, header string }{
		{"English", "Date;Minutes;Top dropper knot;Top dropper tangles;Bottom dropper knot;Bottom dropper tangles;Point fly"},
		{"German", "Datum;Minuten;Oberer Springer Knoten;Oberer Springer Verwicklungen;Unterer Springer Knoten;Unterer Springer Verwicklungen;Endfliege"},
		{"French", "Date;Minutes;Nœud potence haute;Emmêlages potence haute;Nœud potence basse;Emmêlages potence basse;Mouche de pointe"},
		{"Spanish", "Fecha;Minutos;Nudo saltona alta;Enredos saltona alta;Nudo saltona baja;Enredos saltona baja;Mosca de punta"},
		{"Italian", "Data;Minuti;Nodo bracciolo alto;Grovigli bracciolo alto;Nodo bracciolo basso;Grovigli bracciolo basso;Mosca di punta"},
		{"Polish", "Data;Minuty;Węzeł górny skoczek;Splątania górny skoczek;Węzeł dolny skoczek;Splątania dolny skoczek;Mucha prowadząca"},
		{"Czech", "Datum;Minuty;Uzel horní přívěs;Zamotání horní přívěs;Uzel dolní přívěs;Zamotání dolní přívěs;Koncová muška"},
		{"Swedish", "Datum;Minuter;Övre upphängare knut;Övre upphängare trassel;Nedre upphängare knut;Nedre upphängare trassel;Ändfluga"},
		{"Norwegian", "Dato;Minutter;Øvre opphenger knute;Øvre opphenger floker;Nedre opphenger knute;Nedre opphenger floker;Endeflue"},
		{"Finnish", "Päivämäärä;Minuutit;Ylempi sivuperho solmu;Ylempi sivuperho sotkut;Alempi sivuperho solmu;Alempi sivuperho sotkut;Kärkiperho"},
	} {
		text := c.header + "\n2025-05-01;90;Blood;2;Uni;1;Pink\n2025-05-02;80;Blood;0;Uni;3;Pink\n"
		s, err := Read(t.Context(), strings.NewReader(text), "sheet.csv", Options{Angler: "A. Angler", Water: "Tessel"})
		if err != nil {
			t.Errorf("%s: %v", c.language, err)
			continue
		}
		if s.Stints != 2 || sums(s, journal.CountTangles) != 6 || len(s.Bad)+len(s.Stops) > 0 {
			t.Errorf("%s: %d stints, %d tangles, %v %v", c.language, s.Stints, sums(s, journal.CountTangles), s.Bad, s.Stops)
			continue
		}
		for _, o := range s.outings {
			rig := o.stints[0].makeRig()
			if len(rig.Positions) != 3 || rig.Positions[0].Fly != "Pink" || rig.Positions[1].Junction != "uni" || rig.Positions[2].Junction != "blood" {
				t.Errorf("%s: %+v", c.language, rig.Positions)
			}
		}
	}
}

// Rows of an event each are gathered, whatever their language.
func TestEventsInTenLanguages(t *testing.T) {
	for _, c := range []struct{ language, header, tangle, landed, lost, nothing string }{
		{"English", "Date;Minutes;Knot;What happened", "tangle", "landed", "lost", "nothing"},
		{"German", "Datum;Minuten;Knoten;Ereignis", "Verwicklung", "gelandet", "verloren", "nichts"},
		{"French", "Date;Minutes;Nœud;Événement", "emmêlage", "capture", "décroché", "rien"},
		{"Spanish", "Fecha;Minutos;Nudo;Suceso", "enredo", "captura", "perdido", "nada"},
		{"Italian", "Data;Minuti;Nodo;Evento", "groviglio", "cattura", "slamato", "niente"},
		{"Polish", "Data;Minuty;Węzeł;Zdarzenie", "splątanie", "złowiona", "spięta", "nic"},
		{"Czech", "Datum;Minuty;Uzel;Událost", "zamotání", "ulovená", "spadla", "nic"},
		{"Swedish", "Datum;Minuter;Knut;Händelse", "trassel", "landad", "tappad", "inget"},
		{"Norwegian", "Dato;Minutter;Knute;Hendelse", "floke", "landet", "mistet", "ingenting"},
		{"Finnish", "Päivämäärä;Minuutit;Solmu;Tapahtuma", "sotku", "saatu", "karkasi", "ei mitään"},
	} {
		day := func(date, minutes, knot string, events ...string) (rows string) {
			for _, e := range events {
				rows += date + ";" + minutes + ";" + knot + ";" + e + "\n"
			}
			return rows
		}
		text := c.header + "\n" + day("2025-05-01", "90", "Blood", c.tangle, c.landed, c.tangle, c.lost) + day("2025-05-02", "80", "Uni", c.nothing) + day("2025-05-03", "70", "Uni", c.landed, c.landed)
		s, err := Read(t.Context(), strings.NewReader(text), "sheet.csv", Options{Angler: "A. Angler", Water: "Tessel"})
		if err != nil {
			t.Errorf("%s: %v", c.language, err)
			continue
		}
		tangles, hooked, landed, lost := sums(s, journal.CountTangles), sums(s, journal.CountHookups), sums(s, journal.CountLanded), sums(s, journal.CountLost)
		if s.Stints != 3 || tangles != 2 || hooked != 4 || landed != 3 || lost != 1 || len(s.Bad)+len(s.Stops) > 0 {
			t.Errorf("%s: %d stints, %d tangles, %d hooked, %d landed, %d lost, %v %v", c.language, s.Stints, tangles, hooked, landed, lost, s.Bad, s.Stops)
		}
	}
}
