package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// usageError says that the program was asked in a wrong way.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

func usagef(format string, args ...any) error { return &usageError{fmt.Errorf(format, args...)} }

// flagError puts the parser's complaints into words.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	var syntax *pflag.InvalidSyntaxError
	switch {
	case errors.Is(err, pflag.ErrHelp):
		return err
	case errors.As(err, &unknown):
		return usagef("there is no flag %s here%s", dashed(unknown), maybe("--", closest(unknown.GetSpecifiedName(), flagNames(cmd))))
	case errors.As(err, &bare):
		return usagef("the flag --%s needs a value after it: --%s %s", bare.GetSpecifiedName(), bare.GetSpecifiedName(), strings.ToUpper(bare.GetFlag().Value.Type()))
	case errors.As(err, &invalid):
		return usagef("--%s %q: %w", invalid.GetFlag().Name, invalid.GetValue(), plainCause(invalid))
	case errors.As(err, &syntax):
		return usagef("%q is no flag; write --name value", syntax.GetSpecifiedFlag())
	}
	return &usageError{err}
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

// between wants from low to high arguments, named in the error.
func between(low, high int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case len(args) < low:
			return usagef("%s is missing", what)
		case high >= 0 && len(args) > high && high == 0:
			return usagef("%q is not expected here; only flags are", args[0])
		case high >= 0 && len(args) > high:
			return usagef("%q is too much here; give only %s", args[high], what)
		}
		return nil
	}
}

// group makes a command that only holds others say what is wrong without one.
func group(cmd *cobra.Command) {
	cmd.Args = cobra.ArbitraryArgs
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return cmd.Help()
		}
		var names []string
		for _, c := range cmd.Commands() {
			if c.IsAvailableCommand() {
				names = append(names, c.Name())
			}
		}
		guess := maybe(cmd.CommandPath()+" ", closest(args[0], names))
		if guess == "" {
			guess = "; there are: " + strings.Join(names, ", ")
		}
		return usagef("there is no command %q in %s%s", args[0], cmd.CommandPath(), guess)
	}
}

func maybe(prefix, guess string) string {
	if guess == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", prefix+guess)
}

// closest returns the word that differs from the given one by no more than a
// slip of the fingers, or "".
func closest(word string, words []string) string {
	best, least := "", 1+max(1, len(word)/4)
	for _, w := range words {
		if d := edits(strings.ToLower(word), strings.ToLower(w)); d < least {
			best, least = w, d
		}
	}
	return best
}

// edits counts the letters to add, drop, change or swap with their neighbour to
// turn a into b.
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range y {
		rows[0][j+1] = j + 1
	}
	for i := range x {
		for j := range y {
			change := 1
			if x[i] == y[j] {
				change = 0
			}
			d := min(rows[i][j+1]+1, rows[i+1][j]+1, rows[i][j]+change)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				d = min(d, rows[i-1][j-1]+1)
			}
			rows[i+1][j+1] = d
		}
	}
	return rows[len(x)][len(y)]
}
