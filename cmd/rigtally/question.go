package main

import (
	"context"
	"io"
	"net/url"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/inquiry"
	"rigtally/prose"
)

// ratesCommand asks how often something happens; without anything asked it shows how long to tie a tag.
func ratesCommand(p *command.Program) *cobra.Command {
	cmd := questionCommand(p, inquiry.Rates())
	cmd.Example = "  rigtally rates\n" + cmd.Example
	cmd.Long = strings.Replace(cmd.Long, "\n\n", "\nWithout anything asked: how long to tie a tag, in short.\n\n", 1)
	asked, one := cmd.RunE, cmd.Args
	form := cmd.Flags().Lookup("format")
	cmd.Args = func(cmd *cobra.Command, args []string) error {
		none := len(args) == 0
		cmd.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) { none = none && !f.Changed })
		if none {
			return nil
		}
		return one(cmd, args)
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 || form.Changed {
			return asked(cmd, args)
		}
		return p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error { return tagCard(ctx, p, j) })(cmd, args)
	}
	return cmd
}

// tagCard shows how long to tie a tag as it is read at the water.
func tagCard(ctx context.Context, p *command.Program, j command.Journal) error {
	of := inquiry.Plan()
	q, _ := inquiry.Read(of.Params, nil)
	a, err := of.Ask(ctx, j.Asking(), q)
	if err != nil {
		return err
	}
	if card, ok := prose.TagCard(a, j.Units); ok {
		p.Printf("%s", card.Text())
	} else {
		p.Printf("%s\n", of.Say(a, j.Units).Sentence)
	}
	p.Printf("\nThe whole answer:\n  rigtally plan\nHow often anything happens, at each level of a factor:\n  rigtally rates tangles --by junction\n")
	return nil
}

// questionCommand makes a command of a question: a flag for each of its parameters.
func questionCommand(p *command.Program, of inquiry.Question) *cobra.Command {
	d := of.Describe()
	cmd := &cobra.Command{Use: d.Use, Short: d.Title, Long: d.Help, Example: d.Example, Args: command.None}
	var said []func(url.Values)
	for _, param := range d.Params {
		if param.Kind == inquiry.Argument {
			cmd.Args, cmd.ValidArgs = command.OneOf(param.Key, param.Words()), param.Words()
			continue
		}
		said = append(said, addParam(cmd, param))
	}
	if d.Missing != "" {
		cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
			for _, param := range d.Params {
				if param.Needed && !cmd.Flags().Changed(param.Key) {
					return terminal.Misusef("%s", d.Missing)
				}
			}
			return nil
		}
	}
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		v := url.Values{}
		for i, param := range d.Params {
			if param.Kind == inquiry.Argument && i < len(args) {
				v.Set(param.Key, args[i])
			}
		}
		for _, say := range said {
			say(v)
		}
		q, _ := inquiry.Read(d.Params, v)
		return answer(ctx, p, of, j, q)
	}, command.Text, command.JSON, command.CSV)
}

// answer puts a question and hands out every form of what it came to.
func answer(ctx context.Context, p *command.Program, of inquiry.Question, j command.Journal, q inquiry.Query) (command.Answer, error) {
	a, err := of.Put(ctx, j.Asking(), q)
	if err != nil {
		return command.Answer{}, err
	}
	return command.Answer{Data: a.Data,
		CSV: func(w io.Writer) error { return a.Numbers().WriteCSV(w) },
		Text: func(w io.Writer) error {
			_, err := io.WriteString(w, a.Said().Text(p.Width()))
			return err
		}}, nil
}

// addParam gives a command the flag of a parameter. What it returns writes down what was said.
func addParam(cmd *cobra.Command, param inquiry.Param) func(url.Values) {
	flags, name := cmd.Flags(), param.Key
	if param.Flag != "" {
		name = param.Flag
	}
	if param.Words != nil && param.Kind != inquiry.Yes {
		command.Complete(cmd, addFlag(flags, name, param), param.Words())
	} else {
		addFlag(flags, name, param)
	}
	return func(v url.Values) {
		f := flags.Lookup(name)
		switch {
		case !f.Changed:
		case param.Kind == inquiry.Yes:
			if f.Value.String() == "true" {
				v.Set(param.Key, param.Words()[0])
			}
		case param.Kind == inquiry.One:
			v.Set(param.Key, f.Value.String())
		default:
			texts := f.Value.(pflag.SliceValue).GetSlice()
			if len(texts) == 0 || len(texts) == 1 && strings.TrimSpace(texts[0]) == "" {
				texts = []string{""} // none, rather than not said
			}
			v[param.Key] = texts
		}
	}
}

func addFlag(flags *pflag.FlagSet, name string, param inquiry.Param) string {
	switch param.Kind {
	case inquiry.Yes:
		flags.Bool(name, false, param.Says)
	case inquiry.Many:
		flags.StringArray(name, param.Default, param.Says)
	case inquiry.List:
		flags.StringSlice(name, param.Default, param.Says)
	default:
		flags.String(name, strings.Join(param.Default, ","), param.Says)
	}
	return name
}
