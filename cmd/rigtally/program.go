package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"
)

// program is one run of the program.
type program struct {
	in  io.Reader
	out *output
	err io.Writer
	env map[string]string

	asks     bool // someone at a terminal can be asked
	reads    bool // someone at a terminal reads the answer
	progress bool // someone at a terminal watches the work

	asking *asker // once something was asked

	now         func() time.Time
	openBrowser func(url string) error
	settings    settings
}

func newProgram(stdin io.Reader, stdout, stderr io.Writer, environ []string) *program {
	p := &program{
		in: stdin, out: &output{w: stdout}, err: stderr,
		env:         make(map[string]string, len(environ)),
		asks:        isTerminal(stdin) && isTerminal(stdout),
		reads:       isTerminal(stdout),
		progress:    isTerminal(stderr),
		now:         time.Now,
		openBrowser: openBrowser,
	}
	for _, pair := range environ {
		name, value, _ := strings.Cut(pair, "=")
		p.env[name] = value
	}
	return p
}

func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// output remembers the first failure to write, so that no answer is cut short unnoticed.
type output struct {
	w   io.Writer
	err error
}

func (o *output) Write(b []byte) (int, error) {
	n, err := o.w.Write(b)
	if err != nil && o.err == nil {
		o.err = err
	}
	return n, err
}

func (p *program) printf(format string, args ...any) { _, _ = fmt.Fprintf(p.out, format, args...) }

// note tells the person something beside the answer.
func (p *program) note(format string, args ...any) { _, _ = fmt.Fprintf(p.err, format+"\n", args...) }

func (p *program) run(ctx context.Context, args []string) int {
	root := p.root()
	root.SetArgs(args)
	root.SetIn(p.in)
	root.SetOut(p.out)
	root.SetErr(p.err)
	cmd, err := root.ExecuteContextC(ctx)
	if err == nil && p.out.err != nil {
		err = fmt.Errorf("write the answer: %w", p.out.err)
	}
	var wrong *usageError
	switch {
	case err == nil:
		return 0
	case errors.Is(err, syscall.EPIPE):
		return 1 // the reader has seen enough and wants no complaint
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		p.note("rigtally: interrupted")
		return 1
	case errors.As(err, &wrong):
		p.note("rigtally: %v", err)
		p.note("See %q for how it is used.", cmd.CommandPath()+" --help")
		return 2
	}
	p.note("rigtally: %v", err)
	return 1
}

// root is the command line. Each command has a file of its own.
func (p *program) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "rigtally",
		Short: "A journal of how rigs fished, and honest answers from it",
		Long: `rigtally keeps a journal of how your rigs fished and answers questions of it:
which junction tangles least, at which tag length, and how sure that is.

Settings come from flags, else from RIGTALLY_* variables (RIGTALLY_DATA_DIR,
RIGTALLY_DATABASE_URL, RIGTALLY_UNITS, …), else from rigtally.toml.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	group(root)
	root.SetFlagErrorFunc(flagError)
	addSettingFlags(root.PersistentFlags())
	root.AddCommand(
		p.demoCommand(),
		p.serveCommand(),
		p.logCommand(),
		p.importCommand(),
		p.exportCommand(),
		p.ratesCommand(),
		p.curveCommand(),
		p.planCommand(),
		p.lifeCommand(),
		p.claimsCommand(),
		p.trialsCommand(),
		p.seasonCommand(),
		p.benchCommand(),
		p.checkCommand(),
		p.recordedCommand(),
		p.sessionsCommand(),
		p.rigsCommand(),
		p.databaseCommand(),
		p.versionCommand(),
	)
	return root
}

// action is what a command does, once the settings are read.
type action func(ctx context.Context, cmd *cobra.Command, args []string) error

func (p *program) do(f action) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) (err error) {
		if p.settings, err = readSettings(cmd.Flags(), p.env); err != nil {
			return err
		}
		return f(cmd.Context(), cmd, args)
	}
}
