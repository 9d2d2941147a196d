package terminal

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Question is asked of a person at a terminal.
type Question struct {
	Key      string // of its answer
	Text     string
	Help     string
	Options  []string // may be answered by number, from 1
	Fallback string   // taken when only Enter is pressed
	Check    func(answer string) error
}

// What a person may want instead of answering.
var (
	ErrBack    = errors.New("back")
	ErrStopped = errors.New("stopped; nothing was stored")
)

// Asker asks questions and reads the answers line by line.
type Asker struct {
	wants chan<- struct{} // asks for a line
	lines <-chan string   // closed at the end of input
	out   io.Writer
}

// Asker is the one that asks in this run: another would miss the lines that this
// one has read ahead.
func (t *Terminal) Asker(ctx context.Context) *Asker {
	if t.asking == nil {
		t.asking = newAsker(ctx, t.In, t.Out)
	}
	return t.asking
}

// newAsker reads in the background, so that an interrupt need not wait for a line, and only when one is wanted, so
// that what is typed between questions goes to another program that has the terminal then.
func newAsker(ctx context.Context, in io.Reader, out io.Writer) *Asker {
	wants, lines := make(chan struct{}), make(chan string)
	go func() {
		defer close(lines)
		scan := bufio.NewScanner(in)
		for {
			select {
			case <-wants:
			case <-ctx.Done():
				return
			}
			if !scan.Scan() {
				return
			}
			select {
			case lines <- scan.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return &Asker{wants, lines, out}
}

// Ask asks until the answer is good. It returns ErrBack when the person wants
// the question before this one, and ErrStopped when they want no more.
func (a *Asker) Ask(ctx context.Context, q Question) (string, error) {
	for {
		answer, err := a.line(ctx, q)
		if err != nil {
			return "", err
		}
		switch strings.ToLower(answer) {
		case "?":
			a.Say("  %s\n  Enter takes what is in [brackets]; - leaves it out; back asks the last one again; quit stores nothing.\n", strings.TrimSpace(q.Help))
			continue
		case "back":
			return "", ErrBack
		case "quit":
			return "", ErrStopped
		case "":
			answer = q.Fallback
		}
		if n, err := strconv.Atoi(answer); err == nil && n >= 1 && n <= len(q.Options) {
			answer = q.Options[n-1]
		}
		if err := q.Check(answer); err != nil {
			a.Say("  %v\n", err)
			continue
		}
		return answer, nil
	}
}

func (a *Asker) line(ctx context.Context, q Question) (string, error) {
	for i, o := range q.Options {
		a.Say("  %d  %s\n", i+1, o)
	}
	prompt := q.Text
	if q.Fallback != "" {
		prompt += " [" + q.Fallback + "]"
	}
	a.Say("%s: ", prompt)
	select {
	case a.wants <- struct{}{}:
	case <-a.lines: // it has ended
	case <-ctx.Done():
	}
	select {
	case text, ok := <-a.lines:
		if !ok {
			a.Say("\n")
			return "", ErrStopped
		}
		return strings.TrimSpace(text), nil
	case <-ctx.Done():
		a.Say("\n")
		return "", ctx.Err()
	}
}

// Say tells the person something between questions.
func (a *Asker) Say(format string, args ...any) { _, _ = fmt.Fprintf(a.out, format, args...) }

// Interview asks the questions in turn. They are made anew from the answers
// given so far, so that later ones can depend on earlier ones. keep is called
// after each answer.
func (a *Asker) Interview(ctx context.Context, answers map[string]string, questions func(answers map[string]string) []Question, keep func()) error {
	for i := 0; ; {
		all := questions(answers)
		if i >= len(all) {
			return nil
		}
		q := all[i]
		if given, ok := answers[q.Key]; ok {
			q.Fallback = given // asked again
		}
		answer, err := a.Ask(ctx, q)
		switch {
		case errors.Is(err, ErrBack):
			i = max(0, i-1)
			continue
		case err != nil:
			return err
		}
		answers[q.Key] = answer
		keep()
		i++
	}
}

// Yes and No are the answers to a question of YesNo.
const (
	Yes = "yes"
	No  = "no"
)

// YesNo is a question to be answered with yes or no.
func YesNo(key, text, help, fallback string) Question {
	return Question{Key: key, Text: text, Help: help, Fallback: fallback, Check: func(answer string) error {
		if IsYes(answer) || slices.Contains([]string{"n", No}, strings.ToLower(answer)) {
			return nil
		}
		return errors.New("answer yes or no")
	}}
}

// IsYes reports whether an answer is yes.
func IsYes(answer string) bool {
	return slices.Contains([]string{"y", Yes}, strings.ToLower(answer))
}
