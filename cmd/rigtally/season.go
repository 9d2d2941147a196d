package main

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/season"
	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/prose/review"
	"rigtally/web"
)

const seasonExample = `  rigtally season
  rigtally season --angler "J. Felt" --year 2026
  rigtally season --angler "J. Felt" --year 2026 --to review.html
  rigtally season --year 2026 --to review.html --without-names --blur-waters`

// seasonFlags are what the season command is asked.
type seasonFlags struct {
	season.Request
	season.Sharing
	to, format, note string
	force            bool
}

func seasonCommand(p *command.Program) *cobra.Command {
	var ask seasonFlags
	cmd := &cobra.Command{
		Use:   "season [--angler NAME] [--year YEAR] [--to review.html]",
		Short: "Review a season: of one angler, or of the outfit",
		Long: `Review a season of one angler, or without --angler the outfit's, on two pages: what was
fished and caught, three changes at most that the journal speaks for, the season beside the
one before, what is still open, and the record behind it.

With --to the review is written as one HTML file with its drawings inside, which needs no
network and no script, prints on two sheets of A4 or Letter, and can be sent. --without-names
leaves out the names of people, the outfit and rigs, and what people wrote; --blur-waters
leaves out the names of waters, and gives days by month.

text is for people, in their units; json is for programs: nothing is rounded, and values
are as stored.`,
		Example: seasonExample,
		Args:    command.None,
		PreRunE: func(cmd *cobra.Command, _ []string) error { return ask.check(cmd.Flags().Changed("year")) },
		RunE:    p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error { return writeSeason(ctx, p, j, ask) }),
	}
	flags := cmd.Flags()
	flags.StringVar(&ask.Angler, "angler", "", "`name` of the angler (default: the whole outfit)")
	flags.IntVar(&ask.Year, "year", 0, "`year` of the season (default: the last one with sessions)")
	flags.StringVar(&ask.to, "to", "", "`file` to write, or - for standard output")
	flags.StringVar(&ask.format, "format", "", "`form` of the review: text, json or html (default: by the file's name, else text)")
	flags.StringVar(&ask.note, "note", "", "your own `words` at the end of the first page of an HTML file")
	flags.BoolVar(&ask.force, "force", false, "replace the file if it exists")
	flags.BoolVar(&ask.WithoutNames, "without-names", false, "leave out names of people, the outfit and rigs")
	flags.BoolVar(&ask.BlurWaters, "blur-waters", false, "leave out names of waters, and give days by month")
	p.CompleteFrom(cmd, "angler", command.AnglerNames)
	command.Complete(cmd, "format", []string{command.Text, command.JSON, command.HTML})
	return cmd
}

// check settles the form, which a file's name may tell.
func (f *seasonFlags) check(year bool) error {
	if year && (f.Year < 1900 || f.Year > 2200) {
		return terminal.Misusef("--year %d is not a season; write a year such as 2026", f.Year)
	}
	byName := map[string]string{".html": command.HTML, ".htm": command.HTML, ".json": command.JSON, ".txt": command.Text}[strings.ToLower(filepath.Ext(f.to))]
	switch {
	case f.format == "" && f.to != "" && f.to != "-" && byName == "":
		return terminal.Misusef("the name %q does not say what form to write; end it in .html, .json or .txt, or add --format", f.to)
	case f.format == "" && byName != "":
		f.format = byName
	case f.format == "":
		f.format = command.Text
	}
	switch f.format {
	case command.Text, command.JSON, command.HTML:
		return nil
	}
	return terminal.Misusef("--format %q is not known; write text, json or html", f.format)
}

func writeSeason(ctx context.Context, p *command.Program, j command.Journal, ask seasonFlags) error {
	ask.Units = j.Units
	a, err := season.Review(ctx, j, ask.Request)
	if errors.Is(err, journal.ErrNotFound) && ask.Angler != "" {
		return noSuchAngler(ctx, j, ask.Angler)
	}
	if err != nil {
		return err
	}
	a = a.Share(ask.Sharing)
	write := func(w io.Writer) error {
		switch ask.format {
		case command.JSON:
			return terminal.WriteJSON(w, a)
		case command.HTML:
			return web.WriteSeason(w, a, j.Units, ask.note)
		}
		return review.Write(w, a, j.Units, p.Width())
	}
	if ask.to == "" {
		return write(p.Out)
	}
	return p.WriteFiles(ask.force, terminal.File{To: ask.to, Write: write})
}

// noSuchAngler names someone close to who was asked for, or all there are.
func noSuchAngler(ctx context.Context, j command.Journal, name string) error {
	anglers, err := j.Anglers(ctx)
	if err != nil {
		return err
	}
	names := command.Keys(anglers, func(a journal.Angler) string { return a.Name })
	others := "; nobody is yet"
	if len(names) > 0 {
		others = "; there are: " + strings.Join(names, ", ")
	}
	return terminal.Misusef("angler %q is not in the journal%s", name, terminal.Guess("", name, names, others))
}
