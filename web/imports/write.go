package imports

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"rigtally/journal"
	"rigtally/journal/sheet"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/pending"
)

// write begins to write an upload as it was shown.
func (s *pages) write(w http.ResponseWriter, r *http.Request, fr page.Frame, u *upload, choices url.Values) error {
	read, err := s.read(r.Context(), u, choices)
	if err != nil {
		return err
	}
	for i, f := range read {
		if f.open(choices, i) {
			return s.showRead(w, r, http.StatusUnprocessableEntity, fr, u, choices, "Nothing is written yet: some of it is still open. It is marked below.")
		}
	}
	reference := page.Reference(r.Context())
	started := s.tray.start(s.Store.OutfitID(), u, func(ctx context.Context, j *job) (failed []string) {
		for i, f := range u.Files() {
			j.Begin(f.Name)
			if err := pending.Safely(func() error { return s.writeFile(ctx, j, f, i, choices) }); err != nil {
				return s.whyNot(ctx, f.Name, reference, err)
			}
		}
		return nil
	})
	if !started {
		return s.showRead(w, r, http.StatusConflict, fr, u, choices, "Somebody is bringing in files just now. Nothing of yours is written yet: try again in a minute.")
	}
	return page.See(w, r, u.address())
}

// writeFile writes one file, whole or not at all.
func (s *pages) writeFile(ctx context.Context, j *job, f pending.File, i int, choices url.Values) error {
	opt := options(choices, i)
	opt.Progress = j.Went
	read, err := s.understand(ctx, f, opt)
	if err != nil {
		return err
	}
	out := written{Name: f.Name}
	leaveOut := choices.Get(name(i, "leave")) == yes
	if leaveOut && read.BadRows() > 0 {
		var rows bytes.Buffer
		if err := read.WriteRejects(&rows); err != nil {
			return err
		}
		out.rejects = rows.Bytes()
	}
	if s.tray.Before != nil {
		if err := s.tray.Before(ctx, read.Rows); err != nil {
			return noBackup{err}
		}
	}
	if out.Result, err = read.Import(ctx, s.Store, sheet.How{AllowBad: leaveOut, Update: choices.Get(name(i, "update")) == yes}); err != nil {
		return err
	}
	j.Note(func(list []written) []written { return append(list, out) })
	if err := opt.Remember().Keep(ctx, s.Store, read.Headers()); err != nil { // the sheet is in: only the next one is asked about anew
		s.Log.Warn("what was chosen of a sheet is not remembered", "error", err)
	}
	return nil
}

// noBackup says why a file was not written before anything was tried.
type noBackup struct{ error }

// whyNot says why a file was not written. The log has what people can't mend, under the reference.
func (s *pages) whyNot(ctx context.Context, name, reference string, err error) []string {
	var refused *sheet.Refused
	var invalid *journal.Invalid
	var unsafe noBackup
	switch {
	case ctx.Err() != nil:
		return []string{"Stopped while writing " + name + ". Nothing of that file is in the journal."}
	case errors.As(err, &unsafe):
		s.Log.Error("no backup could be made before an import", "error", unsafe.error)
		return []string{name + " was not written: the backup of the journal that is made before could not be. Whoever keeps the machine finds the cause where rigtally was started."}
	case errors.As(err, &refused):
		return []string{name + " was not written: " + rowsCant(refused.BadRows) + "."}
	case errors.As(err, &invalid):
		return append([]string{name + " was not written."}, form.Sentences(invalid)...)
	case page.Unavailable(err):
		return []string{name + " was not written. " + page.WhyUnavailable(err)}
	}
	s.Log.Error("an import failed", "reference", reference, "error", err)
	return []string{name + " was not written, and nothing of it is in the journal. The log has more under " + reference + "."}
}

// rejects is the rows of a file that can't be taken, to be corrected and brought in.
func (s *pages) rejects(w http.ResponseWriter, r *http.Request, _ page.Frame, u *upload) error {
	i, err := strconv.Atoi(r.URL.Query().Get("file"))
	if err != nil || i < 0 || i >= len(u.Files()) {
		i = 0
	}
	choices, j := u.said()
	if j != nil {
		list, _ := j.Result()
		if i >= len(list) || list[i].rejects == nil {
			return journal.ErrNotFound
		}
		return page.SendFile(w, rejectsName(u.Files()[i].Name), csvType, func(out writer) error { _, err := out.Write(list[i].rejects); return err })
	}
	read, err := s.readFile(r.Context(), u.Files()[i], options(choices, i))
	if err != nil {
		return err
	}
	if read.sheet == nil || read.sheet.BadRows() == 0 {
		return journal.ErrNotFound
	}
	return page.SendFile(w, rejectsName(u.Files()[i].Name), csvType, read.sheet.WriteRejects)
}
