// Package along hands out all that is one angler's, to be taken along.
package along

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"net/http"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/web/page"
)

type pages struct{ *page.Desk }

const about = `All that this journal holds of one angler.

sessions.csv   a row for each stint, in SI units, for a spreadsheet
journal.jsonl  the same with everything noted, for another journal:
               rigtally import journal.jsonl
`

// write puts what a store shows into a zip.
func write(ctx context.Context, store *pg.Store, w io.Writer) error {
	out := zip.NewWriter(w)
	for _, file := range []struct {
		name  string
		write func(context.Context, *pg.Store, io.Writer) error
	}{
		{"READ ME.txt", func(_ context.Context, _ *pg.Store, w io.Writer) error {
			_, err := io.WriteString(w, about)
			return err
		}},
		{"sessions.csv", exchange.WriteCSV},
		{"journal.jsonl", exchange.WriteBackup},
	} {
		part, err := out.Create(file.name)
		if err == nil {
			err = file.write(ctx, store, part)
		}
		if err != nil {
			return fmt.Errorf("pack %s: %w", file.name, err)
		}
	}
	if err := out.Close(); err != nil {
		return fmt.Errorf("pack the data: %w", err)
	}
	return nil
}

// own hands out what is the client's who asks.
func (s *pages) own(w http.ResponseWriter, r *http.Request) error {
	return s.send(w, r, s.Store, s.Store.Who().Name)
}

// angler hands out what an angler of the outfit would see as a client.
func (s *pages) angler(w http.ResponseWriter, r *http.Request) error {
	a, err := page.Of(r, s.Store.Anglers, func(a journal.Angler) journal.ID { return a.ID })
	if err != nil {
		return err
	}
	return s.send(w, r, s.Store.For(journal.Who{Role: journal.RoleClient, Name: a.Name, Angler: &a.ID}), a.Name)
}

func (s *pages) send(w http.ResponseWriter, r *http.Request, store *pg.Store, whose string) error {
	return page.SendFile(w, page.FileName("journal", whose)+".zip", "application/zip", func(out io.Writer) error { return write(r.Context(), store, out) })
}

// Routes are the addresses of these files.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /data.zip", Act: s.own, For: page.ForClients},
		{Pattern: "GET /anglers/{id}/data.zip", Act: s.angler, For: page.ForOwner},
	}
}
