package trial

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
)

// Earlier is a trial that asked the same before: the same outcome of the same two
// arms, either way round. Who plans trials until one comes out has more than one
// chance in twenty.
type Earlier struct {
	ID        journal.ID
	Name      string
	PlannedAt time.Time
	EndedAt   *time.Time
}

// earlier lists the trials that asked what t asks and were planned before it, the
// first planned first. One that is not planned yet comes after them all.
func earlier(ctx context.Context, store Keeper, t journal.Trial, all []journal.Trial) ([]Earlier, error) {
	var list []Earlier
	for _, other := range all {
		before := t.PlannedAt.IsZero() || other.PlannedAt.Before(t.PlannedAt)
		if other.ID == t.ID || !before || other.Outcome != t.Outcome || other.Factor != t.Factor {
			continue
		}
		same, err := sameArms(ctx, store, t, other)
		if err != nil {
			return nil, err
		}
		if same {
			list = append(list, Earlier{other.ID, other.Name, other.PlannedAt, other.EndedAt})
		}
	}
	slices.SortFunc(list, func(x, y Earlier) int { return x.PlannedAt.Compare(y.PlannedAt) })
	return list, nil
}

// sameArms reports whether two trials compare the same two arms, in either order.
func sameArms(ctx context.Context, store Keeper, t, other journal.Trial) (bool, error) {
	var names, others [2]string
	if t.Factor == "rig" {
		for i := range names {
			for _, one := range []struct {
				arm  journal.TrialArm
				name *string
			}{{t.Arms[i], &names[i]}, {other.Arms[i], &others[i]}} {
				rig, err := store.RigByID(ctx, *one.arm.RigID)
				if err != nil {
					return false, err
				}
				*one.name = rig.Name
			}
		}
	}
	same := func(i, j int) bool {
		a, b := t.Arms[i], other.Arms[j]
		if t.Factor == "rig" {
			// A later revision is the same rig, unless revisions are what is compared.
			return *a.RigID == *b.RigID || !strings.EqualFold(names[0], names[1]) && strings.EqualFold(names[i], others[j])
		}
		return strings.EqualFold(a.Level, b.Level) || closeTo(a.Level, b.Level, t.Arms[1-i].Level)
	}
	return same(0, 0) && same(1, 1) || same(0, 1) && same(1, 0), nil
}

// closeTo reports whether two levels are numbers as close as those of stints that
// count for one arm: to a quarter of what it and the rival differ by.
func closeTo(level, other, rival string) bool {
	v, err1 := strconv.ParseFloat(level, 64)
	w, err2 := strconv.ParseFloat(other, 64)
	r, err3 := strconv.ParseFloat(rival, 64)
	return err1 == nil && err2 == nil && err3 == nil && math.Abs(v-w) <= math.Abs(v-r)/4
}
