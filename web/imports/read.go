package imports

import (
	"bytes"
	"context"
	"net/url"
	"regexp"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/pending"
)

// fileRead is a file as it was understood.
type fileRead struct {
	sheet   *sheet.Sheet   // nil where it can't be read at all
	preview *sheet.Preview // what writing it would do
	why     string         // it can't be taken as a whole; "" where it can
}

// open reports whether something of a file must be said before it can be written.
func (f fileRead) open(choices url.Values, i int) bool {
	return f.why != "" || len(f.sheet.Stops) > 0 || len(f.preview.Asked()) > 0 || f.sheet.BadRows() > 0 && choices.Get(name(i, "leave")) != yes
}

// read reads the files of an upload as it was chosen.
func (s *pages) read(ctx context.Context, u *upload, choices url.Values) ([]fileRead, error) {
	list := make([]fileRead, len(u.Files()))
	for i, f := range u.Files() {
		var err error
		if list[i], err = s.readFile(ctx, f, options(choices, i)); err != nil {
			return nil, err
		}
	}
	return list, nil
}

const backup = "this is a backup of a whole journal. It is brought back at the machine that keeps the journal, with rigtally import"

func (s *pages) readFile(ctx context.Context, f pending.File, opt sheet.Options) (fileRead, error) {
	if kind, _, err := exchange.Sniff(bytes.NewReader(f.Text)); err == nil && kind == exchange.BackupFile {
		return fileRead{why: form.Sentence(backup)}, nil
	}
	read, err := s.understand(ctx, f, opt)
	if ctx.Err() != nil {
		return fileRead{}, ctx.Err()
	}
	if err != nil {
		return fileRead{sheet: read, why: form.Sentence(onPage(strings.TrimPrefix(err.Error(), f.Name+": ")))}, nil
	}
	if slices.ContainsFunc(read.Stops, func(stop sheet.Stop) bool { return stop.Header == "" }) { // no row can be taken yet
		return fileRead{sheet: read}, nil
	}
	preview, err := read.Preview(ctx, s.Store)
	if journal.IsInvalid(err) {
		return fileRead{sheet: read, why: form.Sentence(onPage(err.Error()))}, nil
	}
	return fileRead{sheet: read, preview: preview}, err
}

func (s *pages) understand(ctx context.Context, f pending.File, opt sheet.Options) (*sheet.Sheet, error) {
	opt.Now, opt.Words = s.Now, s.tray.words
	return inTurn(ctx, s.tray, s.Store.OutfitID(), func() (*sheet.Sheet, error) { return sheet.Read(ctx, bytes.NewReader(f.Text), f.Name, opt) })
}

// terminalSays are what sheets say to people at the terminal, and what the page offers instead.
var terminalSays = []struct {
	flag *regexp.Regexp
	page string
}{
	{regexp.MustCompile(`; (?:name it date, or say which it is|add a column \w+, say which it is) with --column "HEADER=\w+"`), "; choose below which it is"},
	{regexp.MustCompile(`, or name the one angler of the file with --angler`), ", or write who fished"},
	{regexp.MustCompile(`, or name the one water of the file with --water`), ", or write which water it was"},
	{regexp.MustCompile(`, or say --column "(?:[^"\\]|\\.)*"`), ""},
	{regexp.MustCompile(`, say --column "(?:[^"\\]|\\.)*"`), ", choose that"},
	{regexp.MustCompile(`have ranges taken as their middle with --ranges middle`), "say below that their middle is taken"},
	{regexp.MustCompile(`say --accept if it is right`), "tick below that it is right"},
	{regexp.MustCompile(`; --blank "(?:[^"\\]|\\.)*" reads blanks as (?:not recorded|zero)`), ""},
	{regexp.MustCompile(`without a header that has a date`), "no column of days"},
	{regexp.MustCompile(`\bthe header\b`), "the column’s name"},
	{regexp.MustCompile(`\bheader(s?)\b`), "name$1"},
}

// onPage says on a page what was written for the terminal.
func onPage(text string) string {
	for _, t := range terminalSays {
		text = t.flag.ReplaceAllString(text, t.page)
	}
	return text
}

func onPages(texts []string) []string {
	list := make([]string, len(texts))
	for i, text := range texts {
		list[i] = onPage(text)
	}
	return list
}

// remembered begins with what was chosen for sheets of the same columns the last time.
func (s *pages) remembered(ctx context.Context, u *upload) error {
	v := url.Values{}
	for i, f := range u.Files() {
		last, err := inTurn(ctx, s.tray, s.Store.OutfitID(), func() (sheet.Remembered, error) {
			_, last, err := sheet.ReadAsBefore(ctx, s.Store, f.Text, f.Name, sheet.Options{Now: s.Now, Words: s.tray.words})
			return last, err
		})
		if page.Unavailable(err) || ctx.Err() != nil {
			return err
		}
		if err == nil { // else the page says what is wrong
			recall(v, i, last)
		}
	}
	u.Choose(v)
	return nil
}
