package web

import (
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

var (
	inputTag  = regexp.MustCompile(`<input [^>]*>`)
	selectTag = regexp.MustCompile(`(?s)<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>`)
	chosenTag = regexp.MustCompile(`<option value="([^"]*)" selected>`)
	firstTag  = regexp.MustCompile(`<option value="([^"]*)"`)
	areaTag   = regexp.MustCompile(`(?s)<textarea [^>]*name="([^"]*)"[^>]*>(.*?)</textarea>`)
	attribute = regexp.MustCompile(`([a-z-]+)="([^"]*)"`)
)

// fields reads what a browser would send of the forms on a page.
func fields(body string) url.Values {
	form := url.Values{}
	for _, tag := range inputTag.FindAllString(body, -1) {
		a := map[string]string{}
		for _, m := range attribute.FindAllStringSubmatch(tag, -1) {
			a[m[1]] = html.UnescapeString(m[2])
		}
		if a["name"] != "" && (a["type"] != "checkbox" || strings.Contains(tag, " checked")) {
			form.Set(a["name"], a["value"])
		}
	}
	for _, m := range selectTag.FindAllStringSubmatch(body, -1) {
		chosen := chosenTag.FindStringSubmatch(m[2])
		if chosen == nil {
			chosen = firstTag.FindStringSubmatch(m[2])
		}
		form.Set(m[1], html.UnescapeString(chosen[1]))
	}
	for _, m := range areaTag.FindAllStringSubmatch(body, -1) {
		form.Set(m[1], html.UnescapeString(m[2]))
	}
	return form
}

// press sends the form of a page with one of its buttons, after some changes.
func (s *site) press(action string, form url.Values, do string, changes map[string]string) answer {
	s.t.Helper()
	for name, value := range changes {
		form.Set(name, value)
	}
	form.Set("do", do)
	return s.post(action, form)
}

var complaint = regexp.MustCompile(`(?s)<div class="problems".*?</div>`)

// complaints is what a page says is wrong with an entry.
func complaints(body string) string {
	return html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(complaint.FindString(body), ""))
}

func TestSentence(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"": "", "the rig has no fly": "The rig has no fly.", "“x” is odd.": "“x” is odd.", "Ägir": "Ägir."} {
		if got := sentence(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
