package main

import (
	"context"
	"errors"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
	"rigtally/web"
)

const formatHTML = "html"

const seasonExample = `  rigtally season
  rigtally season --angler "J. Felt" --year 2026
  rigtally season --angler "J. Felt" --year 2026 --to review.html
  rigtally season --year 2026 --to review.html --without-names --blur-waters`

// seasonFlags are what the season command is asked.
type seasonFlags struct {
	season.Request
	season.Sharing
	to, format string
	force      bool
}

func (p *program) seasonCommand() *cobra.Command {
	var ask seasonFlags
	cmd := &cobra.Command{
		Use:   "season [--angler NAME] [--year YEAR] [--to review.html]",
		Short: "Review a season: of one angler, or of the outfit",
		Long: `Review a season of one angler, or without --angler the outfit's: days, hours and fish by
month, every outcome beside the outfit's, the rigs, the season session by session, what
the evidence supports changing, what it can't tell yet and how much fishing would tell.

With --to the review is written as one HTML file with its charts inside, which needs no
network and no script, prints on A4 and Letter, and can be sent. --without-names leaves
out the names of people, the outfit and rigs, and what people worded; --blur-waters the
names of waters, and gives days by month.

text is for people, in their units; json is for programs: nothing is rounded, and values
are as stored.`,
		Example: seasonExample,
		Args:    between(0, 0, ""),
		RunE: p.do(func(ctx context.Context, cmd *cobra.Command, _ []string) error {
			if err := ask.check(cmd.Flags().Changed("year")); err != nil {
				return err
			}
			return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error { return p.season(ctx, store, ask) })
		}),
	}
	flags := cmd.Flags()
	flags.StringVar(&ask.Angler, "angler", "", "`name` of the angler (default: the whole outfit)")
	flags.IntVar(&ask.Year, "year", 0, "`year` of the season (default: the last one with sessions)")
	flags.StringVar(&ask.to, "to", "", "`file` to write, or - for standard output")
	flags.StringVar(&ask.format, "format", "", "`form` of the review: text, json or html (default: by the file's name, else text)")
	flags.BoolVar(&ask.force, "force", false, "replace the file if it exists")
	flags.BoolVar(&ask.WithoutNames, "without-names", false, "leave out names of people, the outfit and rigs")
	flags.BoolVar(&ask.BlurWaters, "blur-waters", false, "leave out names of waters, and give days by month")
	complete(cmd, "format", []string{formatText, formatJSON, formatHTML})
	return cmd
}

// check settles the form, which a file's name may tell.
func (f *seasonFlags) check(year bool) error {
	if year && (f.Year < 1900 || f.Year > 2200) {
		return usagef("--year %d is no season; write a year such as 2026", f.Year)
	}
	byName := map[string]string{".html": formatHTML, ".htm": formatHTML, ".json": formatJSON, ".txt": formatText}[strings.ToLower(filepath.Ext(f.to))]
	switch {
	case f.format == "" && f.to != "" && f.to != "-" && byName == "":
		return usagef("the name %q does not say in which form to write; end it in .html, .json or .txt, or add --format", f.to)
	case f.format == "" && byName != "":
		f.format = byName
	case f.format == "":
		f.format = formatText
	}
	switch f.format {
	case formatText, formatJSON, formatHTML:
		return nil
	}
	return usagef("--format %q is not known; write text, json or html", f.format)
}

func (p *program) season(ctx context.Context, store *pg.Store, ask seasonFlags) (err error) {
	if ask.Units, err = p.unitsFor(ctx, store); err != nil {
		return err
	}
	a, err := season.Review(ctx, store, ask.Request)
	if errors.Is(err, journal.ErrNotFound) && ask.Angler != "" {
		return p.noSuchAngler(ctx, store, ask.Angler)
	}
	if err != nil {
		return err
	}
	a = a.Share(ask.Sharing)
	write := func(w io.Writer) error { return writeSeason(w, a, ask.Units, ask.format) }
	if ask.to == "" {
		return write(p.out)
	}
	return p.export(ask.force, exported{ask.to, write})
}

// noSuchAngler names someone close to who was asked for, or all there are.
func (p *program) noSuchAngler(ctx context.Context, store *pg.Store, name string) error {
	anglers, err := store.Anglers(ctx)
	if err != nil {
		return err
	}
	var names []string
	for _, a := range anglers {
		names = append(names, a.Name)
	}
	if guess := closest(name, names); guess != "" {
		return usagef("angler %q is not in the journal; did you mean %q?", name, guess)
	}
	if len(names) == 0 {
		return usagef("angler %q is not in the journal; nobody is yet", name)
	}
	return usagef("angler %q is not in the journal; there are: %s", name, strings.Join(names, ", "))
}

func writeSeason(w io.Writer, a season.Answer, sys units.System, format string) error {
	switch format {
	case formatJSON:
		return writeIndented(w, a)
	case formatHTML:
		return web.WriteSeason(w, a, sys)
	}
	return prose.SeasonText(w, a, sys)
}
