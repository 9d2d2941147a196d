package main

import (
	"context"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func (p *program) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which rigtally this is",
		Args:  between(0, 0, ""),
		RunE: p.do(func(context.Context, *cobra.Command, []string) error {
			p.printf("rigtally %s (%s, %s/%s)\n", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
			return nil
		}),
	}
}

// version is what the build recorded: a release, or the commit it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "of unknown version"
	}
	return info.Main.Version
}
