package journal_test

import (
	"testing"
	"time"

	"rigtally/journal"
)

var may1 = journal.Date{Year: 2026, Month: time.May, Day: 1}

func ptr[T any](v T) *T { return &v }

func newID(t testing.TB) journal.ID {
	t.Helper()
	id, err := journal.NewID()
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func oneDropper(name string) journal.Rig {
	return journal.Rig{Name: name, Method: "tight-line nymph", Positions: []journal.RigPosition{
		{Position: 0, TippetMM: ptr(0.127), Bulk: "slim", HookSize: ptr(16)},
		{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "none", TagLengthMM: ptr(165.1), TippetMM: ptr(0.127), Bulk: "hackled", HookSize: ptr(18)},
	}}
}

func hookups(n int, hooking journal.Hooking, ending journal.Ending) journal.Event {
	return journal.Event{Kind: journal.EventHookup, Count: n, Hooking: hooking, Ending: ending}
}

func tangles(n int) journal.Event {
	return journal.Event{Kind: journal.EventTangle, Count: n, TangleKind: journal.Twist}
}
