// Package command is what the program's commands have in common: settings, the journal that they work on, flags,
// and the forms of answers.
package command

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/terminal"
)

// Program is one run of the program.
type Program struct {
	*terminal.Terminal
	Env         map[string]string
	Settings    Settings // once a command has begun
	Version     string   // of the program, as others are told it
	Now         func() time.Time
	OpenBrowser func(url string) error
}

// New makes a run of the program with the streams and the environment of a process.
func New(stdin io.Reader, stdout, stderr io.Writer, environ []string) *Program {
	p := &Program{
		Terminal:    terminal.New(stdin, stdout, stderr),
		Env:         make(map[string]string, len(environ)),
		Now:         time.Now,
		OpenBrowser: openBrowser,
	}
	for _, pair := range environ {
		name, value, _ := strings.Cut(pair, "=")
		p.Env[name] = value
	}
	if columns, err := strconv.Atoi(p.Env["COLUMNS"]); err == nil && columns >= 0 {
		p.Columns = &columns
	}
	return p
}

// Run runs the command that the arguments name and returns the exit status: 0 when the job was done, 1 when it
// failed, 2 when it was asked for in a wrong way. The end of ctx interrupts it.
func (p *Program) Run(ctx context.Context, root *cobra.Command, args []string) int {
	root.SilenceUsage, root.SilenceErrors = true, true
	root.SetFlagErrorFunc(flagError)
	root.SetArgs(args)
	root.SetIn(p.In)
	root.SetOut(p.Out)
	root.SetErr(p.Err)
	p.foldHelp(root)
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil && p.Failed() != nil {
		err = fmt.Errorf("write the answer: %w", p.Failed())
	}
	switch {
	case err == nil:
		return 0
	case errors.Is(err, syscall.EPIPE) && errors.Is(p.Failed(), syscall.EPIPE): // and not of a database that broke off
		return 1 // the reader has seen enough and wants no complaint
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		p.Note("rigtally: interrupted")
		return 1
	}
	p.Note("rigtally: %v", err)
	if !terminal.IsMisuse(err) {
		return 1
	}
	p.Note("See %q for how it is used.", cmd.CommandPath()+" --help")
	return 2
}

// foldHelp keeps the help of every command to the width.
func (p *Program) foldHelp(root *cobra.Command) {
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", p.Width())))
	help, goesOn := root.HelpFunc(), regexp.MustCompile(`\s*\\\n\s*`) // a command over several lines
	root.SetHelpFunc(func(cmd *cobra.Command, args []string) {
		var text bytes.Buffer
		root.SetOut(&text)
		cmd.Long, cmd.Example = reflow(cmd.Long), goesOn.ReplaceAllString(cmd.Example, " ")
		help(cmd, args)
		root.SetOut(p.Out)
		p.Printf("%s", text.String())
	})
}

// reflow joins the lines of paragraphs, so that they can be folded anew; lists and columns keep theirs.
func reflow(text string) string {
	var b strings.Builder
	last := ""
	for i, line := range strings.Split(text, "\n") {
		prose := func(s string) bool { return s != "" && s[0] != ' ' && !strings.Contains(s, "  ") }
		switch {
		case i == 0:
		case prose(last) && prose(line) && !strings.ContainsAny(last[len(last)-1:], ".:;"):
			b.WriteString(" ")
		default:
			b.WriteString("\n")
		}
		b.WriteString(line)
		last = line
	}
	return b.String()
}

// runE is how cobra runs a command.
type runE = func(*cobra.Command, []string) error

// Do reads the settings before it does a command's job.
func (p *Program) Do(job func(ctx context.Context, args []string) error) runE {
	return func(cmd *cobra.Command, args []string) (err error) {
		if p.Settings, err = ReadSettings(cmd.Flags(), p.Env); err != nil {
			return err
		}
		return job(cmd.Context(), args)
	}
}

// InJournal opens the journal before it does a command's job.
func (p *Program) InJournal(job func(ctx context.Context, j Journal, args []string) error) runE {
	return p.Do(func(ctx context.Context, args []string) error {
		return p.Open(ctx, func(ctx context.Context, j Journal) error { return job(ctx, j, args) })
	})
}
