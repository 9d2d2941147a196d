package command

import (
	"context"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/terminal"
)

// The forms in which an answer can be written.
const (
	Text  = "text"
	JSON  = "json"
	CSV   = "csv"
	HTML  = "html"
	JSONL = "jsonl"
)

// Answer is what a command came to, in each form that it may be asked for.
type Answer struct {
	Data    any // as JSON
	CSV     func(io.Writer) error
	Text    func(io.Writer) error
	Verdict error // what is wrong in the journal, to be told below the answer
}

// Ask makes cmd put a question to the journal and write the answer in the form that --format names. What is wrong
// with the question is wrong use.
func (p *Program) Ask(cmd *cobra.Command, question func(ctx context.Context, j Journal, args []string) (Answer, error), forms ...string) *cobra.Command {
	form := Form(cmd, forms...)
	cmd.RunE = p.InJournal(func(ctx context.Context, j Journal, args []string) error {
		answer, err := question(ctx, j, args)
		if err != nil {
			return terminal.OfQuestion(err)
		}
		switch *form {
		case JSON:
			err = p.JSON(answer.Data)
		case CSV:
			err = answer.CSV(p.Out)
		default:
			var text strings.Builder
			err = answer.Text(&text)
			p.Printf("%s", text.String())
		}
		if err == nil {
			err = answer.Verdict
		}
		return err
	})
	return cmd
}

// Form adds the flag --format, which takes one of the forms, the first unless it is given.
func Form(cmd *cobra.Command, forms ...string) *string {
	f := form{forms[0], forms}
	cmd.Flags().Var(&f, "format", "`form` of the answer: "+f.list())
	Complete(cmd, "format", forms)
	return &f.chosen
}

// form is the value of a flag --format.
type form struct {
	chosen string
	forms  []string
}

func (f *form) String() string { return f.chosen }
func (f *form) Type() string   { return "string" }

// Set refuses a form that there is not.
func (f *form) Set(text string) error {
	if !slices.Contains(f.forms, text) {
		return terminal.Misusef("--format %q is not known; write %s", text, f.list())
	}
	f.chosen = text
	return nil
}

// list names the forms, as in "text, json or csv".
func (f *form) list() string {
	last := len(f.forms) - 1
	return strings.Join(f.forms[:last], ", ") + " or " + f.forms[last]
}
