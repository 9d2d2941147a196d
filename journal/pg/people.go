package pg

import (
	"context"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Members lists the people of the outfit, those who may do most first. Only an owner sees them.
func (s *Store) Members(ctx context.Context) ([]journal.Member, error) {
	list, err := s.members(ctx, s.once(), "true")
	return list, explain("list the people", err)
}

func (s *Store) members(ctx context.Context, from querier, which string, args ...any) ([]journal.Member, error) {
	return listOf(ctx, from, pgx.RowToStructByPos[journal.Member], `SELECT person_id, name, role, angler_id, since FROM member
		WHERE outfit_id = $1 AND `+which+` ORDER BY array_position('{owner,guide,client}', role), lower(name), person_id`, append([]any{s.outfit}, args...)...)
}

// MemberByID returns a member, or ErrNotFound.
func (s *Store) MemberByID(ctx context.Context, person journal.ID) (journal.Member, error) {
	m, err := s.member(ctx, s.once(), person)
	return m, explain("read the member", err)
}

func (s *Store) member(ctx context.Context, from querier, person journal.ID) (journal.Member, error) {
	list, err := s.members(ctx, from, "person_id = $2", person)
	if err == nil && len(list) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		return journal.Member{}, err
	}
	return list[0], nil
}

// open are the invitations that can still be used.
const open = `used_at IS NULL AND expires_at > now()`

// Invitations lists those that can still be used, the latest first.
func (s *Store) Invitations(ctx context.Context) ([]journal.Invitation, error) {
	list, err := listOf(ctx, s.once(), pgx.RowToStructByPos[journal.Invitation], `SELECT id, name, role, angler_id, person_id, created_at, expires_at FROM invitation
		WHERE outfit_id = $1 AND `+open+` ORDER BY created_at DESC, id`, s.outfit)
	return list, explain("list the invitations", err)
}

// Invite makes an invitation and returns what its link carries, which the journal keeps no copy of. A client who is given
// no angler becomes one of the invitation's name. Inviting an angler again ends the invitation before.
func (s *Store) Invite(ctx context.Context, i journal.Invitation) (secret string, err error) {
	i.Name, i.Person = strings.TrimSpace(i.Name), nil
	if err := i.Validate(); err != nil {
		return "", err
	}
	err = s.write(ctx, "invite "+i.Name, func(tx pgx.Tx) (err error) {
		if i.Angler == nil && i.Role == journal.RoleClient {
			if i.Angler, err = s.newAngler(ctx, tx, i.Name); err != nil {
				return err
			}
		}
		if i.Angler != nil {
			if err := s.checkAnglerFree(ctx, tx, *i.Angler, journal.ID{}); err != nil {
				return err
			}
		}
		secret, err = s.addInvitation(ctx, tx, i)
		return err
	})
	return secret, err
}

// newAngler makes a client; the name must not be an angler's, who may be somebody else.
func (s *Store) newAngler(ctx context.Context, tx pgx.Tx, name string) (*journal.ID, error) {
	a := journal.Angler{ID: journal.NewID(), Name: name, Kind: journal.Client, Active: true}
	tag, err := tx.Exec(ctx, anglerTable.insert()+` ON CONFLICT DO NOTHING`, anglerTable.row(&a, s.outfit)...)
	if err == nil && tag.RowsAffected() == 0 {
		err = journal.Invalidf("an angler called %s is in the journal already; choose that one, if it is the same person, or write another name", name)
	}
	return &a.ID, err
}

// checkAnglerFree refuses an angler who is another member.
func (s *Store) checkAnglerFree(ctx context.Context, tx pgx.Tx, angler, person journal.ID) error {
	is, err := s.members(ctx, tx, "angler_id = $2 AND person_id <> $3", angler, person)
	if err == nil && len(is) > 0 {
		err = journal.Invalidf("that angler is %s, who is a member already; choose another, or make %s a way back", is[0].Name, is[0].Name)
	}
	return err
}

// addInvitation puts an invitation in the place of those for the same.
func (s *Store) addInvitation(ctx context.Context, tx pgx.Tx, i journal.Invitation) (secret string, err error) {
	if err := s.endInvitations(ctx, tx, i.Person, i.Angler); err != nil {
		return "", err
	}
	secret = journal.NewSecret()
	_, err = tx.Exec(ctx, `INSERT INTO invitation (outfit_id, id, secret_hash, name, role, angler_id, person_id, expires_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, now() + make_interval(days => $8))`,
		s.outfit, journal.NewID(), journal.HashSecret(secret), i.Name, i.Role, i.Angler, i.Person, journal.InvitationDays)
	return secret, err
}

// endInvitations drops those of a person or an angler, and those that nobody can use any more.
func (s *Store) endInvitations(ctx context.Context, tx pgx.Tx, person, angler *journal.ID) error {
	_, err := tx.Exec(ctx, `DELETE FROM invitation WHERE outfit_id = $1 AND (person_id = $2 OR angler_id = $3 OR NOT (`+open+`))`, s.outfit, person, angler)
	return err
}

// WithdrawInvitation makes an invitation useless.
func (s *Store) WithdrawInvitation(ctx context.Context, id journal.ID) error {
	return s.write(ctx, "withdraw the invitation", func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM invitation WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		if err == nil && tag.RowsAffected() == 0 {
			err = errUnchanged // used or withdrawn meanwhile
		}
		return err
	})
}

// WayBack makes an invitation for a member who can't sign in any more, and returns what its link carries. It is refused
// for who belongs to other outfits too, since whoever has the link could open those, but not at the machine that keeps all.
func (s *Store) WayBack(ctx context.Context, person journal.ID) (secret string, err error) {
	err = s.write(ctx, "make a way back", func(tx pgx.Tx) error {
		m, err := s.member(ctx, tx, person)
		if err != nil {
			return err
		}
		elsewhere, err := s.belongsElsewhere(ctx, tx, person)
		if err != nil {
			return err
		}
		if elsewhere && s.who.Person != nil {
			return journal.Invalidf("%s belongs to another outfit too, which a way back would open to whoever has its link. They sign in with a passkey or passphrase of theirs; if all are lost, remove them here, keeping their sessions, and invite them anew", m.Name)
		}
		secret, err = s.addInvitation(ctx, tx, journal.Invitation{Name: m.Name, Role: m.Role, Angler: m.Angler, Person: &person})
		return err
	})
	return secret, err
}

// belongsElsewhere reports whether a person is a member of another outfit too.
func (s *Store) belongsElsewhere(ctx context.Context, tx pgx.Tx, person journal.ID) (elsewhere bool, err error) {
	err = s.atDoor(ctx, tx, func() error {
		// Whoever joins another outfit waits for the person's row, or is waited for.
		if _, err := tx.Exec(ctx, `SELECT FROM person WHERE id = $1 FOR UPDATE`, person); err != nil {
			return err
		}
		return tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM member WHERE person_id = $1 AND outfit_id <> $2)`, person, s.outfit).Scan(&elsewhere)
	})
	return elsewhere, err
}

// SignOutMember ends all sign-ins of a member. It is refused for who belongs to other outfits too, which it would end them for.
func (s *Store) SignOutMember(ctx context.Context, person journal.ID) error {
	return s.write(ctx, "sign the member out", func(tx pgx.Tx) error {
		m, err := s.member(ctx, tx, person)
		if err != nil {
			return err
		}
		elsewhere, err := s.belongsElsewhere(ctx, tx, person)
		if err != nil {
			return err
		}
		if elsewhere && s.who.Person != nil {
			return journal.Invalidf("%s belongs to another outfit too, and is signed in for both at once. They sign a lost device out under their account; if they can't, remove them here, keeping their sessions", m.Name)
		}
		return s.atDoor(ctx, tx, func() error {
			_, err := tx.Exec(ctx, `DELETE FROM device WHERE person_id = $1`, person)
			return err
		})
	})
}

// atDoor steps for a while to where people are known whatever their outfit.
func (s *Store) atDoor(ctx context.Context, tx pgx.Tx, f func() error) error {
	if _, err := tx.Exec(ctx, room{role: atDoor, outfit: s.outfit}.enter()); err != nil {
		return err
	}
	if err := f(); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, s.in.enter())
	return err
}

// ChangeMember gives a member another name, role or angler. An outfit keeps an owner.
func (s *Store) ChangeMember(ctx context.Context, m journal.Member) error {
	m.Name = strings.TrimSpace(m.Name)
	if err := m.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "change what "+m.Name+" is", func(tx pgx.Tx) error {
		held, err := s.member(ctx, tx, m.Person)
		if err != nil {
			return err
		}
		if m.Role != journal.RoleOwner {
			if err := s.keepAnOwner(ctx, tx, held); err != nil {
				return err
			}
		}
		if m.Angler != nil {
			if err := s.checkAnglerFree(ctx, tx, *m.Angler, m.Person); err != nil {
				return err
			}
		}
		// A way back under way would be that of the old role.
		if err := s.endInvitations(ctx, tx, &m.Person, nil); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `UPDATE member SET name = $3, role = $4, angler_id = $5 WHERE outfit_id = $1 AND person_id = $2`, s.outfit, m.Person, m.Name, m.Role, m.Angler)
		return err
	})
}

// keepAnOwner refuses to lose the last owner.
func (s *Store) keepAnOwner(ctx context.Context, tx pgx.Tx, m journal.Member) error {
	others, err := s.members(ctx, tx, "role = 'owner' AND person_id <> $2", m.Person)
	if err == nil && m.Role == journal.RoleOwner && len(others) == 0 {
		err = journal.Invalidf("%s is the only owner, and an outfit keeps one; make somebody else an owner first", m.Name)
	}
	return err
}
