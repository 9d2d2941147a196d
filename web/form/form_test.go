package form

import (
	"testing"
)

func TestSentence(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"": "", "the rig has no fly": "The rig has no fly.", "“x” is odd.": "“x” is odd.", "Ägir": "Ägir."} {
		if got := Sentence(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
