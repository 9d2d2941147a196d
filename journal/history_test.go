package journal_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"rigtally/journal"
)

// Ensure that whatever changes in a session is told, field by field of the struct, in words; what is not said by a session
// is not.
func TestChangesTellEveryField(t *testing.T) {
	t.Parallel()
	silent := []string{"ID", "LoggedAt", "Version"}
	kind := reflect.TypeFor[journal.Session]()
	for i := range kind.NumField() {
		name := kind.Field(i).Name
		var s journal.Session
		field := reflect.ValueOf(&s).Elem().Field(i)
		switch v := field.Addr().Interface().(type) {
		case *journal.ID:
			*v = journal.NewID()
		case **journal.ID:
			*v = new(journal.NewID())
		case *journal.Date:
			*v = journal.Date{Year: 2026, Month: time.May, Day: 1}
		case **time.Time:
			*v = new(time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC))
		case *time.Time:
			*v = time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
		case **float64:
			*v = new(1.5)
		case *[]string:
			*v = []string{"flow_m3s"}
		case *[]journal.Stint:
			*v = []journal.Stint{{ID: journal.NewID()}}
		default:
			switch field.Kind() {
			case reflect.String:
				field.SetString("clear")
			case reflect.Bool:
				field.SetBool(true)
			case reflect.Int:
				field.SetInt(2)
			default:
				t.Fatalf("no value for %s", name)
			}
		}
		changed := s.Changes(journal.Session{})
		if want := !slices.Contains(silent, name); len(changed) > 1 || (len(changed) == 1) != want {
			t.Errorf("%s: %v", name, changed)
		}
		if words := journal.ChangeWords(changed); len(words) != len(changed) || slices.Contains(words, "") {
			t.Errorf("%s: %v in words is %q", name, changed, words)
		}
	}
}
