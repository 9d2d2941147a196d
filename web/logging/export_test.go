package logging

import (
	"context"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// What tests of the pages need of the package.
type (
	Problem     = page.Wrong
	KnownAnswer = knownAnswer
	KnownTrial  = knownTrial
)

// Refused is a problem whose stored session is read as one.
type Refused struct {
	page.Problem
	Stored *journal.Session `json:"stored"`
}

const SessionsPerPage = sessionsPerPage

var (
	NewCautionLimits = newCautionLimits
	ShellTemplates   = shellTemplates
	StaticAddress    = staticAddress
	WorkerFile       = workerFile
	StintName        = stintName
)

// Worker is the service worker as it is kept.
func (s *Pages) Worker() (string, error) {
	shell, err := s.shell()
	if err != nil {
		return "", err
	}
	return string(shell.worker), nil
}

// Refilled fills the form with a session, changes some fields, and reads it again.
func Refilled(ctx context.Context, d *page.Desk, sys units.System, s journal.Session, zone string, changes map[string]string) (journal.Draft, []form.Fault, error) {
	k, err := New(d).known(ctx)
	f := newEntry(sys)
	f.fillSession(s, k)
	for name, value := range changes {
		f.Set(name, value)
	}
	return f.readSession(k, s, zone), f.Faults, err
}
