package webtest

import (
	"html"
	"net/url"
	"regexp"
	"strings"
)

var (
	inputTag  = regexp.MustCompile(`<input [^>]*>`)
	selectTag = regexp.MustCompile(`(?s)<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>`)
	chosenTag = regexp.MustCompile(`<option value="([^"]*)" selected>`)
	firstTag  = regexp.MustCompile(`<option value="([^"]*)"`)
	areaTag   = regexp.MustCompile(`(?s)<textarea [^>]*name="([^"]*)"[^>]*>(.*?)</textarea>`)
	attribute = regexp.MustCompile(`([a-z-]+)="([^"]*)"`)
)

// Fields reads what a browser would send of the forms on a page.
func Fields(body string) url.Values {
	form := url.Values{}
	for _, tag := range inputTag.FindAllString(body, -1) {
		a := map[string]string{}
		for _, m := range attribute.FindAllStringSubmatch(tag, -1) {
			a[m[1]] = html.UnescapeString(m[2])
		}
		if a["name"] != "" && (a["type"] != "checkbox" && a["type"] != "radio" || strings.Contains(tag, " checked")) {
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

// Press sends the form of a page with one of its buttons, after some changes.
func (s *Site) Press(action string, form url.Values, do string, changes map[string]string) Answer {
	s.T.Helper()
	for name, value := range changes {
		form.Set(name, value)
	}
	form.Set("do", do)
	return s.Post(action, form)
}

var complaint = regexp.MustCompile(`(?s)<div class="problems".*?</div>`)

// Complaints is what a page says is wrong with an entry.
func Complaints(body string) string {
	return html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(complaint.FindString(body), ""))
}
