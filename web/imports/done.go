package imports

import (
	"io"
	"path"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

const csvType = "text/csv; charset=utf-8"

type writer = io.Writer

func rejectsName(of string) string {
	return page.FileName(strings.TrimSuffix(of, path.Ext(of)), "rows to correct") + ".csv"
}

// writingPage shows how far a writing is.
type writingPage struct {
	page.Frame
	Upload      *upload
	At, Says    string
	Done, Total int64
}

func newWritingPage(fr page.Frame, u *upload, j *job) writingPage {
	fr.Title = "Writing"
	p := writingPage{Frame: fr, Upload: u, Says: "Beginning"}
	p.At, p.Done, p.Total = j.Progress()
	if p.Total > 0 {
		p.Says = strconv.FormatInt(p.Done, 10) + " of " + prose.Plural(int(p.Total), "session", "sessions")
	}
	return p
}

// Address is where the upload is.
func (p writingPage) Address() string { return p.Upload.address() }

// donePage says what became of an upload.
type donePage struct {
	page.Frame
	Upload *upload
	Files  []doneView
	Failed []string
}

type doneView struct {
	Name    string
	Says    []saidView
	Step    journal.ID
	Rejects string // address of the rows that were left out
}

// saidView is a sentence, with what it is about beneath it.
type saidView struct {
	Text  string
	Under []string
}

// said shows sentences, of which those further in belong to the one before, and begin with a day.
func said(sentences []string) (list []saidView) {
	for _, text := range sentences {
		under, is := strings.CutPrefix(text, "  ")
		if !is || len(list) == 0 {
			list = append(list, saidView{Text: onPage(text)})
			continue
		}
		if written, rest, _ := strings.Cut(under, ","); rest != "" {
			if day, err := journal.ParseDate(written); err == nil {
				under = prose.Day(day) + "," + rest
			}
		}
		last := &list[len(list)-1]
		last.Under = append(last.Under, under)
	}
	return list
}

func newDonePage(fr page.Frame, u *upload, j *job) donePage {
	fr.Title = "Brought in"
	p := donePage{Frame: fr, Upload: u}
	list, failed := j.Result()
	if p.Failed = failed; len(failed) > 0 {
		fr.Title = "Not all was brought in"
		p.Frame = fr
	}
	for i, w := range list {
		v := doneView{Name: w.Name, Says: said(w.Result.Sentences()), Step: w.Result.Step}
		if w.rejects != nil {
			v.Rejects = u.address() + "/rejects.csv?file=" + strconv.Itoa(i)
		}
		p.Files = append(p.Files, v)
	}
	return p
}

// Address is where the upload is.
func (p donePage) Address() string { return p.Upload.address() }
