package main

import (
	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/importing"
	"rigtally/inquiry"
	"rigtally/prose"
)

func benchCommand(p *command.Program) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Record knots pulled to breaking, and compare them",
		Long: `Record knots pulled to breaking with a scale, away from the water, and compare them.

` + prose.PullSafely + `
` + prose.NoKnotTable,
	}
	return command.Group(cmd, append(keptPulls.undo(p), pullAddCommand(p), pullListCommand(p), pullChangeCommand(p),
		importing.Pulls(p), pullExportCommand(p), questionCommand(p, inquiry.Bench()), questionCommand(p, inquiry.Beside()))...)
}
