package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// question is asked of a person at a terminal.
type question struct {
	key      string // of its answer
	text     string
	help     string
	options  []string // may be answered by number, from 1
	fallback string   // taken when only Enter is pressed
	check    func(answer string) error
}

var (
	errBack    = errors.New("back")
	errStopped = errors.New("stopped; nothing was stored")
)

// asker asks questions and reads the answers line by line.
type asker struct {
	lines <-chan string // closed at the end of input
	out   io.Writer
}

// asker is the one that asks in this run: another would miss the lines that this
// one has read ahead.
func (p *program) asker(ctx context.Context) asker {
	if p.asking == nil {
		p.asking = new(newAsker(ctx, p.in, p.out))
	}
	return *p.asking
}

// newAsker reads in the background, so that an interrupt need not wait for a line.
func newAsker(ctx context.Context, in io.Reader, out io.Writer) asker {
	lines := make(chan string)
	go func() {
		defer close(lines)
		for scan := bufio.NewScanner(in); scan.Scan(); {
			select {
			case lines <- scan.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	return asker{lines, out}
}

// ask asks until the answer is good. It returns errBack when the person wants
// the question before this one, and errStopped when they want no more.
func (a asker) ask(ctx context.Context, q question) (string, error) {
	for {
		answer, err := a.line(ctx, q)
		if err != nil {
			return "", err
		}
		switch strings.ToLower(answer) {
		case "?":
			a.say("  %s\n  Enter takes what stands in [brackets]; - leaves it out; back asks the last one again; quit stores nothing.\n", strings.TrimSpace(q.help))
			continue
		case "back":
			return "", errBack
		case "quit":
			return "", errStopped
		case "":
			answer = q.fallback
		}
		if n, err := strconv.Atoi(answer); err == nil && n >= 1 && n <= len(q.options) {
			answer = q.options[n-1]
		}
		if err := q.check(answer); err != nil {
			a.say("  %v\n", err)
			continue
		}
		return answer, nil
	}
}

func (a asker) line(ctx context.Context, q question) (string, error) {
	for i, o := range q.options {
		a.say("  %d  %s\n", i+1, o)
	}
	prompt := q.text
	if q.fallback != "" {
		prompt += " [" + q.fallback + "]"
	}
	a.say("%s: ", prompt)
	select {
	case text, ok := <-a.lines:
		if !ok {
			a.say("\n")
			return "", errStopped
		}
		return strings.TrimSpace(text), nil
	case <-ctx.Done():
		a.say("\n")
		return "", ctx.Err()
	}
}

func (a asker) say(format string, args ...any) { _, _ = fmt.Fprintf(a.out, format, args...) }

// interview asks the questions in turn. They are made anew from the answers
// given so far, so that later ones can depend on earlier ones. keep is called
// after each answer.
func (a asker) interview(ctx context.Context, answers map[string]string, questions func(answers map[string]string) []question, keep func()) error {
	for i := 0; ; {
		all := questions(answers)
		if i >= len(all) {
			return nil
		}
		q := all[i]
		if given, ok := answers[q.key]; ok {
			q.fallback = given // asked again
		}
		answer, err := a.ask(ctx, q)
		switch {
		case errors.Is(err, errBack):
			i = max(0, i-1)
			continue
		case err != nil:
			return err
		}
		answers[q.key] = answer
		keep()
		i++
	}
}
