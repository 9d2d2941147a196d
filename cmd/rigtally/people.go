package main

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
	"rigtally/web/door"
)

func peopleCommand(p *command.Program) *cobra.Command {
	return command.Group(&cobra.Command{
		Use:   "people",
		Short: "List who may come in, and let the owner in, at the machine that keeps the journal",
	}, peopleListCommand(p), recoverCommand(p))
}

func peopleListCommand(p *command.Program) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List who may come in to the pages, and who is invited", Args: command.None, Example: "  rigtally people list",
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			members, err := j.Members(ctx)
			if err != nil {
				return err
			}
			open, err := j.Invitations(ctx)
			if err != nil {
				return err
			}
			if len(members)+len(open) == 0 {
				p.Printf("Nobody has an account. Make the owner's with: rigtally people recover\n")
				return nil
			}
			var rows [][]string
			for _, m := range members {
				rows = append(rows, []string{m.Name, string(m.Role), "since " + m.Since.Format(time.DateOnly)})
			}
			for _, i := range open {
				what := "invited until "
				if i.Person != nil {
					what = "has a way back until "
				}
				rows = append(rows, []string{i.Name, string(i.Role), what + i.ExpiresAt.Format(time.DateOnly)})
			}
			return p.Table([]string{"Name", "Role", "Standing"}, rows)
		}),
	}
}

func recoverCommand(p *command.Program) *cobra.Command {
	var name, word, address string
	cmd := &cobra.Command{
		Use:   "recover",
		Short: "Make the owner's sign-in, or a new one when it is lost",
		Long: `Make the owner's sign-in, which others are let in only after, or a new one when it
is lost: you are asked for a passphrase, and told the account that it goes with. All
devices that the owner was signed in on are signed out. With --address a link is
printed instead, to be opened within seven days where the pages are served; by it the
owner sets a passkey or passphrase there.`,
		Example: "  rigtally people recover --name Orrin\n  rigtally people recover --address https://journal.example.org",
		Args:    command.None,
		RunE: p.InJournal(func(ctx context.Context, j command.Journal, _ []string) error {
			owner, err := ownerNamed(ctx, j, name)
			if err != nil {
				return err
			}
			secret, err := invitationOf(ctx, j, owner)
			if err != nil {
				return err
			}
			if address != "" {
				p.Printf("%s/join/%s\n", strings.TrimRight(address, "/"), secret)
				return nil
			}
			return askPassphrase(ctx, p, j, secret, wordOf(word, owner.Name))
		}),
	}
	cmd.Flags().StringVar(&name, "name", "", "`name` of the owner, as others see it")
	cmd.Flags().StringVar(&word, "account", "", "`word` that the owner's account begins with (default: the name)")
	cmd.Flags().StringVar(&address, "address", "", "`address` of the pages, to print a link there instead")
	return cmd
}

// ownerNamed is the owner of a name, or the only one; before the first one, who is to be.
func ownerNamed(ctx context.Context, j command.Journal, name string) (journal.Member, error) {
	members, err := j.Members(ctx)
	if err != nil {
		return journal.Member{}, err
	}
	owners := slices.DeleteFunc(members, func(m journal.Member) bool { return m.Role != journal.RoleOwner })
	if len(owners) == 0 {
		if name == "" {
			name = "Owner"
		}
		return journal.Member{Name: name, Role: journal.RoleOwner}, nil
	}
	if len(owners) == 1 && name == "" {
		return owners[0], nil
	}
	i := slices.IndexFunc(owners, func(m journal.Member) bool { return strings.EqualFold(m.Name, name) })
	if i < 0 {
		names := command.Keys(owners, func(m journal.Member) string { return m.Name })
		return journal.Member{}, terminal.Misusef("the owners are %s; say which with --name", strings.Join(names, ", "))
	}
	return owners[i], nil
}

// invitationOf makes the owner's invitation, or way back.
func invitationOf(ctx context.Context, j command.Journal, owner journal.Member) (secret string, err error) {
	if owner.Person.IsZero() {
		return j.Invite(ctx, journal.Invitation{Name: owner.Name, Role: owner.Role})
	}
	return j.WayBack(ctx, owner.Person)
}

// wordOf is what the account begins with: what was asked for, or as much of the name as an account may have.
func wordOf(asked, name string) string {
	if asked != "" {
		return asked
	}
	if first := strings.Fields(name); len(first) > 0 {
		return first[0]
	}
	return name
}

// askPassphrase asks for a passphrase until it is good, where somebody can be asked, and takes an invitation up with it.
func askPassphrase(ctx context.Context, p *command.Program, j command.Journal, secret, word string) error {
	for {
		passphrase, err := p.Secret("Passphrase, 15 characters or more: ")
		if err != nil {
			return err
		}
		account, err := door.TakeUp(ctx, j.Door(), secret, word, passphrase, p.Now())
		if journal.IsInvalid(err) && p.Asks {
			p.Note("%v", err)
			continue
		}
		return p.Did(err, "The owner signs in as %s, with this passphrase.\n", account)
	}
}
