package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/prose"
)

func (p *program) rigsCheckCommand() *cobra.Command {
	var rules, format string
	var strict bool
	cmd := &cobra.Command{
		Use: "check [NAME]", Short: "Hold rigs against a set of rules", Args: between(0, 1, "at most the rig's name"),
		Long: `Hold the last revision of a rig, or of every rig, against a set of rules: each rule,
whether the rig keeps it, breaks it, or can't be checked because something isn't noted,
and what to change. Sets are added and edited on the pages, under Rigs, Rules for rigs.

The set a journal starts with holds examples to check against the rules in force.
A broken rule is an answer, not a failure: the exit status is 0, with --strict 1.`,
		Example: `  rigtally rigs check
  rigtally rigs check "Blood short" --rules "Club day 2026" --format json`,
	}
	cmd.Flags().StringVar(&rules, "rules", "", "`name` of the rule set; the latest of your own, else the examples, when left out")
	cmd.Flags().StringVar(&format, "format", formatText, "`form` of the answer: text or json")
	cmd.Flags().BoolVar(&strict, "strict", false, "exit with status 1 when a rule is broken")
	complete(cmd, "format", []string{formatText, formatJSON})
	cmd.RunE = p.do(func(ctx context.Context, _ *cobra.Command, args []string) error {
		if format != formatText && format != formatJSON {
			return usagef("--format %q is not known; write text or json", format)
		}
		return p.withJournal(ctx, func(ctx context.Context, store *pg.Store) error {
			return p.checkRigs(ctx, store, args, rules, format, strict)
		})
	})
	return cmd
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

func (p *program) checkRigs(ctx context.Context, store *pg.Store, args []string, rules, format string, strict bool) error {
	set, err := ruleSetNamed(ctx, store, rules)
	if err != nil {
		return err
	}
	rigs, err := p.rigsNamed(ctx, store, args)
	if err != nil {
		return err
	}
	sys, err := p.unitsFor(ctx, store)
	if err != nil {
		return err
	}
	list, broken := []checkedRig{}, 0
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
		broken += c.Breaks
		list = append(list, c)
		if format == formatText {
			p.printf("%s", ruleText(rig, set, c.Checks, sys))
		}
	}
	switch {
	case format == formatJSON:
		out := json.NewEncoder(p.out)
		out.SetEscapeHTML(false)
		out.SetIndent("", "  ")
		if err := out.Encode(map[string]any{"rules": set, "rigs": list}); err != nil {
			return fmt.Errorf("write the check: %w", err)
		}
	case len(rigs) == 0:
		p.printf("No rig is in the journal yet, so there is none to check.\n")
	default:
		p.printf("%s\n", prose.RulesCaution(set))
	}
	if strict && broken > 0 {
		return fmt.Errorf("rules broken: %d", broken)
	}
	return nil
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
func ruleSetNamed(ctx context.Context, store *pg.Store, name string) (journal.RuleSet, error) {
	list, err := store.RuleSets(ctx)
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
	return journal.RuleSet{}, usagef("there is no rule set %q%s", name, orElse(maybe("", closest(name, known)), "; there is: "+strings.Join(known, ", ")))
}

// rigsNamed are the last revisions of the rig that is named, or of all, by name.
func (p *program) rigsNamed(ctx context.Context, store *pg.Store, args []string) ([]journal.Rig, error) {
	if len(args) == 1 {
		rig, err := p.latestRig(ctx, store, args[0])
		return []journal.Rig{rig}, err
	}
	contents, err := store.Directory(ctx)
	if err != nil {
		return nil, err
	}
	names := namesOf(contents)
	var rigs []journal.Rig
	seen := map[string]bool{}
	for _, name := range names.rigNames() {
		if key := strings.ToLower(name); !seen[key] {
			seen[key] = true
			rig, _ := names.rig(name)
			rigs = append(rigs, rig)
		}
	}
	return rigs, nil
}
