package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/outing"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

func rigsCheckCommand(p *command.Program) *cobra.Command {
	var rules string
	var strict bool
	cmd := &cobra.Command{
		Use: "check [NAME]", Short: "Check rigs against a set of rules", Args: command.Between(0, 1, "at most the rig's name"),
		Long: `Check the latest revision of a rig, or of every rig, against a set of rules: each rule,
whether the rig keeps it, breaks it, or can't be checked because something isn't noted,
and what to change. Sets are added and edited on the pages, under Rigs, Rules for rigs.

The set a journal starts with has examples to check against the rules in force.
A broken rule is an answer, not a failure: the exit status is 0, with --strict 1.`,
		Example: `  rigtally rigs check
  rigtally rigs check "Blood short" --rules "Club day 2026" --format json`,
	}
	cmd.Flags().StringVar(&rules, "rules", "", "`name` of the rule set; the latest of your own, else the examples, when left out")
	cmd.Flags().BoolVar(&strict, "strict", false, "exit with status 1 when a rule is broken")
	return p.Ask(cmd, func(ctx context.Context, j command.Journal, args []string) (command.Answer, error) {
		set, err := ruleSetNamed(ctx, j, rules)
		if err != nil {
			return command.Answer{}, err
		}
		rigs, err := rigsNamed(ctx, j, args)
		if err != nil {
			return command.Answer{}, err
		}
		a := checkRigs(set, rigs, j.Units)
		if strict && a.broken > 0 {
			return command.Answer{Data: a, Text: a.write, Verdict: fmt.Errorf("rules broken: %d", a.broken)}, nil
		}
		return command.Answer{Data: a, Text: a.write}, nil
	}, command.Text, command.JSON)
}

// checkedRig is a rig held against a rule set, as JSON in storage units.
type checkedRig struct {
	ID       journal.ID          `json:"rig"`
	Name     string              `json:"name"`
	Revision int                 `json:"revision"`
	Breaks   int                 `json:"breaks"`
	Unknown  int                 `json:"unknown"`
	Checks   []journal.RuleCheck `json:"checks"`
}

// checkedRigs are rigs held against a rule set.
type checkedRigs struct {
	Rigs  []checkedRig    `json:"rigs"`
	Rules journal.RuleSet `json:"rules"`

	broken int
	text   strings.Builder
}

func checkRigs(set journal.RuleSet, rigs []journal.Rig, sys units.System) *checkedRigs {
	a := &checkedRigs{Rules: set, Rigs: []checkedRig{}}
	for _, rig := range rigs {
		c := checkedRig{ID: rig.ID, Name: rig.Name, Revision: rig.Revision, Checks: append([]journal.RuleCheck{}, set.Check(rig)...)}
		for _, check := range c.Checks {
			switch check.Verdict {
			case journal.RuleBreaks:
				c.Breaks++
			case journal.RuleUnknown:
				c.Unknown++
			}
		}
		a.broken += c.Breaks
		a.Rigs = append(a.Rigs, c)
		a.text.WriteString(ruleText(rig, set, c.Checks, sys))
	}
	return a
}

// write says how the rigs stand to the rules, for people.
func (a *checkedRigs) write(w io.Writer) error {
	end := prose.RulesCaution(a.Rules)
	if len(a.Rigs) == 0 {
		end = "No rigs in the journal yet, so there are none to check."
	}
	_, err := fmt.Fprintf(w, "%s%s\n", a.text.String(), end)
	return err
}

// ruleText says how one rig stands to each rule.
func ruleText(rig journal.Rig, set journal.RuleSet, checks []journal.RuleCheck, sys units.System) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n", rig.Title(), prose.RulesSummary(set, checks))
	for _, c := range checks {
		fmt.Fprintf(&b, "  %-18s%s", c.Verdict, prose.Rule(c, sys))
		if found := prose.RuleFound(c, sys); found != "" {
			fmt.Fprintf(&b, " (%s)", found)
		}
		if advice := prose.RuleAdvice(c, sys); advice != "" {
			fmt.Fprintf(&b, "\n%20s%s", "", advice)
		}
		b.WriteString("\n")
	}
	return b.String() + "\n"
}

// ruleSetNamed finds a rule set in use by its name, or the first when none is named.
func ruleSetNamed(ctx context.Context, j command.Journal, name string) (journal.RuleSet, error) {
	list, err := j.RuleSets(ctx)
	if err != nil {
		return journal.RuleSet{}, err
	}
	var known []string
	for _, set := range list {
		if set.Deleted() {
			continue
		}
		if name == "" || strings.EqualFold(strings.TrimSpace(name), set.Name) {
			return set, nil
		}
		known = append(known, set.Name)
	}
	if name == "" {
		return journal.RuleSet{}, fmt.Errorf("no rules are in use; add some on the pages, under Rigs, Rules for rigs")
	}
	return journal.RuleSet{}, terminal.Misusef("there is no rule set %q%s", name, terminal.Guess("", name, known, "; there is: "+strings.Join(known, ", ")))
}

// rigsNamed are the last revisions of the rig that is named, or of all, by name.
func rigsNamed(ctx context.Context, j command.Journal, args []string) ([]journal.Rig, error) {
	if len(args) == 1 {
		rig, err := latestRig(ctx, j, args[0])
		return []journal.Rig{rig}, err
	}
	contents, err := j.Directory(ctx)
	if err != nil {
		return nil, err
	}
	known := outing.In(contents)
	var rigs []journal.Rig
	seen := map[string]bool{}
	for _, name := range known.RigNames() {
		if key := strings.ToLower(name); !seen[key] {
			seen[key] = true
			rig, _ := known.Rig(name)
			rigs = append(rigs, rig)
		}
	}
	return rigs, nil
}
