package pg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

var (
	trialTable     = tableOf("trial", "outfit_id", slices.Concat(armColumns("a", 0), armColumns("b", 1))...)
	trialUnitTable = tableOf[journal.TrialUnit]("trial_unit", "outfit_id, trial_id")
)

func armColumns(name string, i int) []column[journal.Trial] {
	return []column[journal.Trial]{
		{field: "arms", name: name + "_rig_id", at: func(t *journal.Trial) any { return &t.Arms[i].RigID }},
		{field: "arms", name: name + "_level", at: func(t *journal.Trial) any { return &t.Arms[i].Level }},
		{field: "arms", name: name + "_note", at: func(t *journal.Trial) any { return &t.Arms[i].Note }},
	}
}

// sealed takes off the seeds of trials that run. What leaves this package goes through it.
func sealed(list []journal.Trial) []journal.Trial {
	for i := range list {
		list[i] = list[i].Sealed()
	}
	return list
}

// readTrials returns trials with their units and their seeds. which may use $2 and so on.
func (s *Store) readTrials(ctx context.Context, from querier, which string, args ...any) ([]journal.Trial, error) {
	list, err := trialTable.of(ctx, from, s.outfit, which, args...)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	ids := make([]journal.ID, len(list))
	for i, t := range list {
		ids[i] = t.ID
	}
	units := map[journal.ID][]journal.TrialUnit{}
	var trial journal.ID
	err = trialUnitTable.each(ctx, from, []any{&trial}, func(u journal.TrialUnit) { units[trial] = append(units[trial], u) },
		`SELECT u.trial_id, `+trialUnitTable.list("u")+` FROM trial_unit u WHERE u.outfit_id = $1 AND u.trial_id = ANY($2) ORDER BY u.trial_id, u.ordinal`, s.outfit, ids)
	for i := range list {
		list[i].Units = units[list[i].ID]
		list[i].Normalize()
	}
	return list, err
}

// Trials lists every trial, the running ones first and the last planned first.
func (s *Store) Trials(ctx context.Context) ([]journal.Trial, error) {
	list, err := s.readTrials(ctx, s.once(), `true ORDER BY ended_at IS NOT NULL, planned_at DESC, id`)
	return sealed(list), explain("list the trials", err)
}

// TrialByID returns a trial, or ErrNotFound.
func (s *Store) TrialByID(ctx context.Context, id journal.ID) (journal.Trial, error) {
	t, err := s.readTrial(ctx, s.once(), id)
	if err != nil && !errors.Is(err, journal.ErrNotFound) {
		err = explain("read the trial", err)
	}
	return t.Sealed(), err
}

// CheckTrialSeal checks the seal of a trial, as Trial.CheckSeal does, whether it may be shown or not.
func (s *Store) CheckTrialSeal(ctx context.Context, id journal.ID) error {
	t, err := s.readTrial(ctx, s.once(), id)
	if err != nil {
		return err
	}
	return t.CheckSeal()
}

func (s *Store) readTrial(ctx context.Context, from querier, id journal.ID) (journal.Trial, error) {
	list, err := s.readTrials(ctx, from, `id = $2`, id)
	if err == nil && len(list) == 0 {
		err = fmt.Errorf("trial %s: %w", id, journal.ErrNotFound)
	}
	if err != nil {
		return journal.Trial{}, err
	}
	return list[0], nil
}

// PlanTrial stores a new trial and returns it with its commitment, without its
// seed. A trial without a seed gets one drawn, one without blocks the usual ones. Sent twice it is stored once; another plan under its id is
// an ErrConflict.
func (s *Store) PlanTrial(ctx context.Context, t journal.Trial) (journal.Trial, error) {
	t.Units, t.EndedAt, t.Ending, t.Undone, t.Version, t.OrderCut = nil, nil, "", 0, 1, false
	t.Block = cmp.Or(t.Block, journal.UsualBlock)
	t.Normalize()
	if err := t.Validate(); err != nil {
		return journal.Trial{}, err
	}
	if t.Seed == "" {
		t.Seed = journal.NewTrialSeed()
	}
	if t.PlannedAt.IsZero() {
		t.PlannedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	t.Commitment = t.Commit()
	err := s.write(ctx, "plan the trial "+t.Name, func(tx pgx.Tx) error {
		held, err := s.readTrials(ctx, tx, `id = $2`, t.ID)
		if err != nil {
			return err
		}
		if len(held) > 0 {
			if !held[0].PlansLike(t) {
				return &journal.Conflict{What: "trial", Held: held[0].Version, Stored: held[0].Sealed()}
			}
			t = held[0]
			return errUnchanged // sent twice
		}
		for _, arm := range t.Arms { // keys between tables look past policies
			if arm.RigID != nil {
				if _, err := s.readRig(ctx, tx, *arm.RigID); errors.Is(err, journal.ErrNotFound) {
					return journal.Invalidf("%s", constraintMessage("trial_outfit_id_a_rig_id_fkey"))
				} else if err != nil {
					return err
				}
			}
		}
		return s.addTrials(ctx, tx, []journal.Trial{t})
	})
	return t.Sealed(), err
}

// addTrials writes new trials with their units.
func (s *Store) addTrials(ctx context.Context, tx pgx.Tx, list []journal.Trial) error {
	batch := &pgx.Batch{}
	for i := range list {
		t := &list[i]
		batch.Queue(trialTable.insert(), trialTable.row(t, s.outfit)...)
		for j := range t.Units {
			batch.Queue(trialUnitTable.insert(), trialUnitTable.row(&t.Units[j], s.outfit, t.ID)...)
		}
	}
	return tx.SendBatch(ctx, batch).Close()
}

// changeTrial runs f on a trial, for a change to it or its units. Where running
// is set, one that has ended is refused.
func (s *Store) changeTrial(ctx context.Context, id journal.ID, doing string, running bool, f func(pgx.Tx, journal.Trial) error) error {
	return s.write(ctx, doing, func(tx pgx.Tx) error {
		t, err := s.readTrial(ctx, tx, id)
		switch {
		case err != nil:
			return err
		case running && t.Ended():
			return journal.Invalidf("the trial has ended, so nothing is started in it any more; plan another one")
		}
		return f(tx, t)
	})
}

// RenameTrial changes the name and notes of the version of a trial that was seen,
// 0 for any; the plan itself stays.
func (s *Store) RenameTrial(ctx context.Context, id journal.ID, seen int, name, notes string) error {
	name, notes = strings.TrimSpace(name), strings.TrimSpace(notes)
	if err := journal.CheckTrialName(name, notes); err != nil {
		return err
	}
	return s.changeTrial(ctx, id, "rename the trial", false, func(tx pgx.Tx, t journal.Trial) error {
		if t.Name == name && t.Notes == notes {
			return errUnchanged
		}
		if err := journal.Stale("trial", seen, t.Version, false, t.Sealed()); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `UPDATE trial SET name = $3, notes = $4, version = version + 1 WHERE outfit_id = $1 AND id = $2`, s.outfit, id, name, notes)
		return err
	})
}

// EndTrial ends the version of a trial that was seen, 0 for any, with a reason if
// there is one to give. Its seed may be shown from then on, so that it does not
// begin again.
func (s *Store) EndTrial(ctx context.Context, id journal.ID, seen int, at time.Time, why string) error {
	return s.changeTrial(ctx, id, "end the trial", false, func(tx pgx.Tx, t journal.Trial) error {
		if t.Ended() {
			return errUnchanged // sent twice
		}
		if err := journal.Stale("trial", seen, t.Version, false, t.Sealed()); err != nil {
			return err
		}
		t.Ending = why
		t.Normalize()
		if err := t.Validate(); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `UPDATE trial SET ended_at = $3, ending = $4, version = version + 1 WHERE outfit_id = $1 AND id = $2`, s.outfit, id, at.UTC().Truncate(time.Microsecond), t.Ending)
		return err
	})
}

// DeleteTrial removes the version of a trial that was seen, 0 for any, if nothing
// of it was started; any other is ended and kept.
func (s *Store) DeleteTrial(ctx context.Context, id journal.ID, seen int) error {
	return s.changeTrial(ctx, id, "delete the trial", false, func(tx pgx.Tx, t journal.Trial) error {
		if err := journal.Stale("trial", seen, t.Version, false, t.Sealed()); err != nil {
			return err
		}
		if len(t.Units) > 0 || t.Undone > 0 {
			return &journal.Invalid{Problems: []string{"the trial has been started, so it is kept; end it instead"}}
		}
		return s.takeAway(ctx, tx, "trial", id, t.Name)
	})
}

// StartTrialUnit starts the unit of the given ordinal and returns it: its arm is
// known from now on. The last one started sent again is returned as it is; any
// other ordinal but the next is an ErrConflict.
func (s *Store) StartTrialUnit(ctx context.Context, id journal.ID, ordinal int, at time.Time) (journal.TrialUnit, error) {
	var u journal.TrialUnit
	err := s.changeTrial(ctx, id, "start the next of the trial", true, func(tx pgx.Tx, t journal.Trial) error {
		switch {
		case ordinal == len(t.Units) && ordinal > 0:
			u = t.Units[ordinal-1]
			return errUnchanged // sent twice
		case ordinal != len(t.Units)+1:
			return fmt.Errorf("%w: number %d of the trial is next, not number %d; reload the page", journal.ErrConflict, len(t.Units)+1, ordinal)
		case t.OrderCut:
			return journal.Invalidf("the trial ends with number %d: it came from a backup, which left the rest of its order out; end it and plan another one", len(t.Units))
		case ordinal > journal.MostTrialUnits:
			return &journal.Invalid{Problems: []string{fmt.Sprintf("all %d of the trial's order have been started; end it and plan another one", journal.MostTrialUnits)}}
		}
		u = journal.TrialUnit{Ordinal: ordinal, Arm: t.Arm(ordinal), StartedAt: at.UTC().Truncate(time.Microsecond), Status: journal.UnitOpen, Version: 1}
		_, err := tx.Exec(ctx, trialUnitTable.insert(), trialUnitTable.row(&u, s.outfit, id)...)
		return err
	})
	return u, err
}

// UndoTrialStart takes the last start back, if nothing is attached to it. The
// next start tells the same arm again, and the trial keeps count of it.
func (s *Store) UndoTrialStart(ctx context.Context, id journal.ID, ordinal int) error {
	return s.changeTrial(ctx, id, "take the start back", true, func(tx pgx.Tx, t journal.Trial) error {
		switch {
		case ordinal > len(t.Units):
			return errUnchanged // sent twice
		case t.OrderCut:
			return journal.Invalidf("a start can't be taken back where the rest of the order was left out of the backup that the trial came from; say that it broke the plan instead")
		case ordinal != len(t.Units) || ordinal < 1:
			return &journal.Invalid{Problems: []string{"only the last start can be taken back"}}
		case t.Units[ordinal-1].Status != journal.UnitOpen:
			return &journal.Invalid{Problems: []string{"what was fished is attached to that start already; take that off first"}}
		}
		if _, err := tx.Exec(ctx, `DELETE FROM trial_unit WHERE outfit_id = $1 AND trial_id = $2 AND ordinal = $3`, s.outfit, id, ordinal); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `UPDATE trial SET undone = undone + 1 WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		return err
	})
}

func (s *Store) saveUnit(ctx context.Context, tx pgx.Tx, trial journal.ID, u journal.TrialUnit) error {
	_, err := tx.Exec(ctx, `UPDATE trial_unit SET session_id = $4, stint_id = $5, status = $6, reason = $7, version = version + 1 WHERE outfit_id = $1 AND trial_id = $2 AND ordinal = $3`,
		s.outfit, trial, u.Ordinal, u.SessionID, u.StintID, u.Status, u.Reason)
	return err
}

// changeUnit runs f on the version of a unit that was seen, 0 for any, and stores
// what f makes of it. What is so already is no conflict.
func (s *Store) changeUnit(ctx context.Context, id journal.ID, ordinal, seen int, doing string, f func(pgx.Tx, journal.Trial, *journal.TrialUnit) error) error {
	return s.changeTrial(ctx, id, doing, false, func(tx pgx.Tx, t journal.Trial) error {
		u, ok := t.StartedUnit(ordinal)
		if !ok {
			return journal.ErrNoUnit(ordinal)
		}
		was := u
		if err := f(tx, t, &u); err != nil {
			return err
		}
		if reflect.DeepEqual(u, was) {
			return errUnchanged
		}
		if err := journal.Stale("trial’s unit", seen, was.Version, false, was); err != nil {
			return err
		}
		return s.saveUnit(ctx, tx, id, u)
	})
}

// AttachTrialUnit says what was fished in a unit: a stint of a session or, where
// sessions alternate, a session. With a reason it broke the plan; without one its
// rig must be of the arm that was drawn. seen is the unit's version, 0 for any.
func (s *Store) AttachTrialUnit(ctx context.Context, id journal.ID, seen int, a journal.Attachment, reason string) error {
	return s.changeUnit(ctx, id, a.Ordinal, seen, "attach what was fished", func(tx pgx.Tx, t journal.Trial, u *journal.TrialUnit) error {
		u.SessionID, u.StintID, u.Status, u.Reason = &a.SessionID, a.StintID, journal.UnitKept, strings.TrimSpace(reason)
		if u.Reason != "" {
			u.Status = journal.UnitBroke
		}
		return s.checkAttachment(ctx, tx, t, *u)
	})
}

// checkAttachment holds what was fished against the plan.
func (s *Store) checkAttachment(ctx context.Context, tx pgx.Tx, t journal.Trial, u journal.TrialUnit) error {
	session, err := s.readSession(ctx, tx, *u.SessionID)
	if err != nil {
		return err
	}
	rigs, err := s.trialRigs(ctx, tx, t, []journal.Session{session})
	if err != nil {
		return err
	}
	arm, found := t.Fished(u, session, rigs)
	switch {
	case t.Unit == journal.ByStint && u.StintID == nil:
		return &journal.Invalid{Problems: []string{"choose the stint: this trial alternates by stint"}}
	case t.Unit == journal.BySession && u.StintID != nil:
		return &journal.Invalid{Problems: []string{"choose the whole session: this trial alternates by session"}}
	case !found:
		return fmt.Errorf("that stint: %w", journal.ErrNotFound)
	case u.Status == journal.UnitKept && arm != u.Arm:
		return &journal.Invalid{Problems: []string{fmt.Sprintf("number %d was to be fished with arm %s, and that was not; attach it as one that broke the plan, with the reason", u.Ordinal, u.Arm)}}
	}
	return nil
}

// trialRigs reads the rigs of a trial's arms and of some sessions.
func (s *Store) trialRigs(ctx context.Context, tx pgx.Tx, t journal.Trial, sessions []journal.Session) (map[journal.ID]journal.Rig, error) {
	var ids []journal.ID
	for _, a := range t.Arms {
		if a.RigID != nil {
			ids = append(ids, *a.RigID)
		}
	}
	for _, session := range sessions {
		ids = append(ids, session.RigIDs()...)
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return s.readRigs(ctx, tx, ids)
}

// BreakTrialUnit notes that a unit was not fished as told, or not at all. What is
// attached to it stays visible, apart from what is counted. seen is the unit's
// version, 0 for any.
func (s *Store) BreakTrialUnit(ctx context.Context, id journal.ID, ordinal, seen int, reason string) error {
	if reason = strings.TrimSpace(reason); reason == "" {
		return &journal.Invalid{Problems: []string{"say why it broke the plan"}}
	}
	return s.changeUnit(ctx, id, ordinal, seen, "note what broke the plan", func(_ pgx.Tx, _ journal.Trial, u *journal.TrialUnit) error {
		u.Status, u.Reason = journal.UnitBroke, reason
		return nil
	})
}

// OpenTrialUnit takes off what was attached to a unit, or noted of it. seen is
// the unit's version, 0 for any.
func (s *Store) OpenTrialUnit(ctx context.Context, id journal.ID, ordinal, seen int) error {
	return s.changeUnit(ctx, id, ordinal, seen, "take off what was attached", func(_ pgx.Tx, _ journal.Trial, u *journal.TrialUnit) error {
		u.SessionID, u.StintID, u.Status, u.Reason = nil, nil, journal.UnitOpen, ""
		return nil
	})
}

// MatchTrials attaches to the open units of running trials what was fished in
// them, where there is no doubt, and returns how many it attached. Saving a
// session does the same for its day.
func (s *Store) MatchTrials(ctx context.Context) (int, error) {
	attached := 0
	err := s.write(ctx, "find what was fished in trials", func(tx pgx.Tx) (err error) {
		if attached, err = s.matchTrials(ctx, tx); err == nil && attached == 0 {
			return errUnchanged
		}
		return err
	})
	return attached, err
}

func (s *Store) matchTrials(ctx context.Context, tx pgx.Tx) (int, error) {
	list, err := s.readTrials(ctx, tx, `EXISTS (SELECT FROM trial_unit u WHERE u.outfit_id = t.outfit_id AND u.trial_id = t.id AND u.status = 'open')`)
	if err != nil {
		return 0, err
	}
	attached := 0
	for _, t := range list {
		sessions, err := s.sessionsAround(ctx, tx, t)
		if err != nil {
			return attached, err
		}
		rigs, err := s.trialRigs(ctx, tx, t, sessions)
		if err != nil {
			return attached, err
		}
		for _, a := range t.Match(sessions, rigs) {
			u := t.Units[a.Ordinal-1]
			u.SessionID, u.StintID, u.Status = &a.SessionID, a.StintID, journal.UnitKept
			if err := s.saveUnit(ctx, tx, t.ID, u); err != nil {
				return attached, err
			}
			attached++
		}
	}
	return attached, nil
}

// sessionsAround reads the sessions of the days on which a trial's open units
// were started, a day more each way for what zones make of it.
func (s *Store) sessionsAround(ctx context.Context, tx pgx.Tx, t journal.Trial) ([]journal.Session, error) {
	days := map[journal.Date]bool{}
	for _, u := range t.Units {
		for near := -1; near <= 1 && u.Status == journal.UnitOpen; near++ {
			days[journal.DateOf(u.StartedAt.UTC().AddDate(0, 0, near))] = true
		}
	}
	var list []journal.Date
	for d := range days {
		list = append(list, d)
	}
	ids, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1 AND day = ANY($2)`, s.outfit, list)
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	return s.readSessions(ctx, tx, ids)
}

// RunningTrials lists the trials in which a next unit can be started.
func (s *Store) RunningTrials(ctx context.Context) ([]journal.Trial, error) {
	list, err := s.readTrials(ctx, s.once(), `ended_at IS NULL AND NOT order_cut ORDER BY planned_at DESC, id`)
	return sealed(list), explain("list the running trials", err)
}

// TrialNamed finds a trial by its name, without regard to case, or ErrNotFound.
func (s *Store) TrialNamed(ctx context.Context, name string) (journal.Trial, error) {
	list, err := s.readTrials(ctx, s.once(), `lower(name) = lower($2)`, strings.TrimSpace(name))
	if err == nil && len(list) == 0 {
		err = errors.Join(fmt.Errorf("trial %q", name), journal.ErrNotFound)
	}
	if err != nil {
		return journal.Trial{}, explain("find the trial", err)
	}
	return list[0].Sealed(), nil
}
