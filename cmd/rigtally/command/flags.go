package command

import (
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/cmd/rigtally/terminal"
)

// flagError puts the parser's complaints into words.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	var syntax *pflag.InvalidSyntaxError
	var wrong *terminal.Misuse
	switch {
	case errors.Is(err, pflag.ErrHelp):
		return err
	case errors.As(err, &wrong):
		return wrong // a flag of ours has said it all
	case errors.As(err, &unknown):
		return terminal.Misusef("there is no flag %s here%s", dashed(unknown), terminal.Guess("--", unknown.GetSpecifiedName(), flagNames(cmd), ""))
	case errors.As(err, &bare):
		return terminal.Misusef("the flag --%s needs a value after it: --%s %s", bare.GetSpecifiedName(), bare.GetSpecifiedName(), strings.ToUpper(bare.GetFlag().Value.Type()))
	case errors.As(err, &invalid):
		return terminal.Misusef("--%s %q: %w", invalid.GetFlag().Name, invalid.GetValue(), plainCause(invalid))
	case errors.As(err, &syntax):
		return terminal.Misusef("%q is not a flag; write --name value", syntax.GetSpecifiedFlag())
	}
	return terminal.Misused(err)
}

func dashed(e *pflag.NotExistError) string {
	if e.GetSpecifiedShortnames() != "" {
		return "-" + e.GetSpecifiedShortnames()
	}
	return "--" + e.GetSpecifiedName()
}

func plainCause(e *pflag.InvalidValueError) error {
	switch e.GetFlag().Value.Type() {
	case "int", "uint64":
		return errors.New("write a whole number, such as 12")
	case "bool":
		return errors.New("write true or false, or the flag alone")
	}
	return e.Unwrap()
}

func flagNames(cmd *cobra.Command) []string {
	var names []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// None wants no arguments.
func None(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return terminal.Misusef("%q is not expected here; only flags are", args[0])
	}
	return nil
}

// Between wants from low to high arguments, -1 for any number, named in the error.
func Between(low, high int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) < low:
			return terminal.Misusef("%s is missing", what)
		case high >= 0 && len(args) > high:
			return terminal.Misusef("%q is one too many; give only %s", args[high], what)
		}
		return nil
	}
}

// OneOf wants one argument, which is one of some words.
func OneOf(what string, words []string) cobra.PositionalArgs {
	list := "; write one of: " + strings.Join(words, ", ")
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return terminal.Misusef("the %s is missing%s", what, list)
		case !slices.Contains(words, args[0]):
			return terminal.Misusef("%s %q is not known%s", what, args[0], terminal.Guess("", args[0], words, list))
		}
		return Between(1, 1, "the "+what)(cmd, args)
	}
}

// Needs makes a command refuse to run without some of its flags.
func Needs(cmd *cobra.Command, flags ...string) {
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		for _, name := range flags {
			if !cmd.Flags().Changed(name) {
				return terminal.Misusef("--%s is missing", name)
			}
		}
		return nil
	}
}

// Complete offers words for a flag when the shell asks.
func Complete(cmd *cobra.Command, flag string, words []string) {
	_ = cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)) // fails for an unknown flag only
}

// Group gives a command others to hold. By itself it does what it does, or shows its help; it says what is wrong
// when none of them is meant.
func Group(cmd *cobra.Command, members ...*cobra.Command) *cobra.Command {
	alone := cmd.RunE
	if alone == nil {
		alone = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
	}
	cmd.Args = cobra.ArbitraryArgs
	cmd.AddCommand(members...)
	if cmd.Example == "" {
		cmd.Example = strings.Join(Keys(members, firstExample), "\n")
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return alone(cmd, args)
		}
		var names []string
		for _, c := range cmd.Commands() {
			if c.IsAvailableCommand() {
				names = append(names, c.Name())
			}
		}
		return terminal.Misusef("there is no command %q in %s%s", args[0], cmd.CommandPath(),
			terminal.Guess(cmd.CommandPath()+" ", args[0], names, "; there are: "+strings.Join(names, ", ")))
	}
	return cmd
}

func firstExample(cmd *cobra.Command) string {
	line, _, _ := strings.Cut(cmd.Example, "\n")
	return line
}

// Keys lists what things are named by: the words at the command line, or ids.
func Keys[T, K any](things []T, key func(T) K) []K {
	keys := make([]K, len(things))
	for i, t := range things {
		keys[i] = key(t)
	}
	return keys
}

// Words lists the words of a vocabulary.
func Words[W ~string](vocabulary []W) []string {
	return Keys(vocabulary, func(w W) string { return string(w) })
}
