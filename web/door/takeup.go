package door

import (
	"context"
	"errors"
	"regexp"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// TakeUp takes an invitation up with a passphrase, for somebody at the machine that keeps the journal, and returns the
// account: the word and four digits, or that of who comes back.
func TakeUp(ctx context.Context, d pg.Door, secret, word, passphrase string, now time.Time) (account string, err error) {
	j, err := d.Joining(ctx, journal.HashSecret(secret), now)
	if err != nil {
		return "", err
	}
	a, err := takeUp(ctx, d, newHasher(), journal.HashSecret(secret), now, j, word, passphrase)
	return a.Name, err
}

// takeUp takes an invitation up with a passphrase. A passphrase that is not good enough is a journal.Invalid.
func takeUp(ctx context.Context, d pg.Door, h *hasher, secretHash []byte, now time.Time, j journal.Joining, word, passphrase string) (journal.Account, error) {
	passphrase = plainPassphrase(passphrase)
	a, err := newAccount(ctx, d, j, word)
	if err != nil {
		return a, err
	}
	if err := checkPassphrase(passphrase, a.Name, accountTyped(word), j.Name, j.OutfitName, "rigtally"); err != nil {
		return a, err
	}
	if a.Passphrase, err = h.make(ctx, passphrase); err != nil {
		return a, err
	}
	return a, d.Join(ctx, secretHash, now, journal.Newcomer{Account: a})
}

// newAccount is that of who takes an invitation up: of who comes back the one they had, else a new one, the word and
// four digits that are drawn. So a name that is taken already is told to nobody, and a guess at one is wrong most times.
func newAccount(ctx context.Context, d pg.Door, j journal.Joining, word string) (journal.Account, error) {
	if j.Person != nil {
		return journal.Account{ID: *j.Person, Name: j.Account}, nil
	}
	word = accountTyped(word)
	if !wordForm.MatchString(word) {
		return journal.Account{}, refuse("the word for your account must have 2 to 24 letters or digits, without spaces")
	}
	const draws = 20
	for range draws {
		digits, err := drawDigits()
		if err != nil {
			return journal.Account{}, err
		}
		_, err = d.AccountNamed(ctx, word+digits)
		if errors.Is(err, journal.ErrNotFound) {
			return journal.Account{ID: journal.NewID(), Name: word + digits}, nil
		}
		if err != nil {
			return journal.Account{}, err
		}
	}
	return journal.Account{}, refuse("choose another word for your account")
}

var wordForm = regexp.MustCompile(`^[\p{L}\p{N}]{2,24}$`)
