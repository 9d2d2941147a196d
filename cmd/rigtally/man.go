package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"rigtally/cmd/rigtally/command"
)

func manCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use: "man FOLDER", Short: "Write man pages and completions for shells", Hidden: true,
		Long: `Write a man page of every command, and completions for bash, zsh and fish, below the
folder share in a folder such as /usr/local, where man and shells look for them.`,
		Example: "  rigtally man /usr/local",
		Args:    command.Between(1, 1, "the folder"),
		RunE: p.Do(func(_ context.Context, args []string) error {
			return writeManual(commands(p), filepath.Join(args[0], "share"))
		}),
	}
}

// writeManual writes man pages and completions below a folder.
func writeManual(root *cobra.Command, share string) error {
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	disableTags(root)
	pages := filepath.Join(share, "man", "man1")
	if err := os.MkdirAll(pages, 0o755); err != nil {
		return fmt.Errorf("make the folder of man pages: %w", err)
	}
	header := &doc.GenManHeader{Section: "1", Source: strings.Join(strings.Fields("rigtally " + version())[:2], " "), Manual: "rigtally"}
	if err := doc.GenManTree(root, header, pages); err != nil {
		return fmt.Errorf("write the man pages: %w", err)
	}
	for _, c := range []struct {
		name  string
		write func(string) error
	}{
		{filepath.Join("bash-completion", "completions", "rigtally"), func(name string) error { return root.GenBashCompletionFileV2(name, true) }},
		{filepath.Join("zsh", "site-functions", "_rigtally"), root.GenZshCompletionFile},
		{filepath.Join("fish", "vendor_completions.d", "rigtally.fish"), func(name string) error { return root.GenFishCompletionFile(name, true) }},
	} {
		name := filepath.Join(share, c.name)
		err := os.MkdirAll(filepath.Dir(name), 0o755)
		if err == nil {
			err = c.write(name)
		}
		if err != nil {
			return fmt.Errorf("write the completions: %w", err)
		}
	}
	return nil
}

// disableTags leaves out of every page when it was made.
func disableTags(cmd *cobra.Command) {
	cmd.DisableAutoGenTag = true
	for _, c := range cmd.Commands() {
		disableTags(c)
	}
}
