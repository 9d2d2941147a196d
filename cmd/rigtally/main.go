// Command rigtally keeps a journal of how rigs fished and answers questions of it.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"
	_ "time/tzdata" // for machines without a time zone database

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/importing"
	"rigtally/cmd/rigtally/keeping"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/rivers"
	"rigtally/cmd/rigtally/trials"
	"rigtally/inquiry"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	// A reader that closes its pipe must not kill the program before it has
	// released its database: taken notice of, the signal becomes an error of the write.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Environ())
	stop()
	os.Exit(status)
}

// endings are the signals that end the program in good order. A hangup is one
// of them unless the user asked to outlive the terminal, as nohup does.
func endings() []os.Signal {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signals
}

// run runs the program with the given arguments, streams and environment, and
// returns its exit status. The end of ctx interrupts it.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer, environ []string) int {
	p := command.New(stdin, stdout, stderr, environ)
	return p.Run(ctx, commands(p), args)
}

// commands is the command line. Each command has a file of its own.
func commands(p *command.Program) *cobra.Command {
	root := &cobra.Command{
		Use:   "rigtally",
		Short: "A journal of how rigs fished, and honest answers from it",
		Long: `rigtally keeps a journal of how your rigs fished and answers questions from it:
which junction tangles least, at which tag length, and how sure that is.

Settings come from flags, else from RIGTALLY_* variables (RIGTALLY_DATA_DIR,
RIGTALLY_DATABASE_URL, RIGTALLY_UNITS, …), else from rigtally.toml.`,
		Example: `  rigtally demo
  rigtally log --angler "J. Felt" --water "Little Marrow" --junction blood --minutes 1h30 --tangles 1
  rigtally rates tangles --by junction
  rigtally sessions edit last`,
	}
	root.Version = version()
	p.Version = root.Version
	root.SetVersionTemplate("rigtally {{.Version}}\n")
	command.AddSettingFlags(root.PersistentFlags())
	return command.Group(root,
		demoCommand(p),
		serveCommand(p),
		openCommand(p),
		peopleCommand(p),
		outing.Command(p),
		importing.Command(p),
		exportCommand(p),
		ratesCommand(p),
		questionCommand(p, inquiry.Curve()),
		questionCommand(p, inquiry.Plan()),
		questionCommand(p, inquiry.Life()),
		questionCommand(p, inquiry.Next()),
		claimsCommand(p),
		trials.Command(p),
		seasonCommand(p),
		benchCommand(p),
		checkCommand(p),
		recordedCommand(p),
		sessionsCommand(p),
		undoCommand(p),
		stepsCommand(p),
		rigsCommand(p),
		anglersCommand(p),
		watersCommand(p),
		rivers.Command(p),
		knotsCommand(p),
		outfitsCommand(p),
		keeping.Command(p),
		databaseCommand(p),
		versionCommand(p),
		manCommand(p),
	)
}

func versionCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Say which rigtally this is",
		Example: "  rigtally version",
		Args:    command.None,
		RunE: p.Do(func(context.Context, []string) error {
			p.Printf("rigtally %s\n", version())
			return nil
		}),
	}
}

// version is what the build recorded: a release, the commit that it was built from, and for which system.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "of unknown version"
	}
	commit := "of an unknown commit"
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			commit = "commit " + s.Value
		}
	}
	return fmt.Sprintf("%s (%s, %s, %s/%s)", strings.TrimPrefix(info.Main.Version, "v"), commit, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
