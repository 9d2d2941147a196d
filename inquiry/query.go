package inquiry

import (
	"net/url"
	"slices"
	"strings"
	"unicode"
)

// Param is a part of a question: in an address, in the interface for programs, and as a flag of
// the command.
type Param struct {
	Key     string
	Flag    string // its name as a flag, where that is another
	Says    string // what it is for; a word in back quotes stands for its value
	Kind    Kind
	Needed  bool            // the command does not do without
	Default []string        // taken when it is not said
	Nothing string          // of a list with a default: the word for none of it, "" for saying it empty
	Words   func() []string // what may be said, where that is a list
}

// Kind says how often a parameter may be said, and how a command takes it.
type Kind int

// The kinds of parameter.
const (
	One      Kind = iota
	Many          // may be said several times
	List          // may be said several times; a command also takes a list, with commas
	Yes           // is said or not: of Words, the first is the word for it
	Argument      // is the command's argument
)

// many reports whether a parameter holds several texts.
func (p Param) many() bool { return p.Kind == Many || p.Kind == List }

// Query is a question as it was said: by key, as texts that may be wrong. It never changes.
type Query struct {
	params []Param
	said   url.Values
}

// Read takes what a question's parameters say out of an address or a command. tidy is false when
// that holds what says nothing: empty parts, as a form sends them, or the same text twice.
func Read(params []Param, v url.Values) (q Query, tidy bool) {
	q = Query{params, url.Values{}}
	tidy = true
	for _, p := range params {
		var texts []string
		for _, text := range v[p.Key] {
			if text = PlainText(text); text != "" && !slices.Contains(texts, text) {
				texts = append(texts, text)
			}
		}
		if !p.many() && len(texts) > 1 {
			texts = texts[:1]
		}
		// A list that is said to be empty is another than one that is not said.
		if v.Has(p.Key) && len(texts) == 0 && len(p.Default) > 0 && p.many() {
			texts = []string{p.Nothing}
		}
		if p.Kind == Yes && len(texts) > 0 && texts[0] != p.Words()[0] {
			texts = nil
		}
		tidy = tidy && len(texts) == len(v[p.Key])
		if len(texts) > 0 && !slices.Equal(texts, p.Default) {
			q.said[p.Key] = texts
		}
	}
	return q, tidy
}

// PlainText makes a typed text fit to be asked for and shown, whatever an address holds.
func PlainText(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return unicode.ReplacementChar
		}
		return r
	}, s))
}

// All are the texts of a parameter, or its default.
func (q Query) All(key string) []string {
	texts, said := q.said[key]
	switch {
	case said && slices.Equal(texts, []string{q.param(key).Nothing}):
		return nil
	case said:
		return texts
	}
	return q.param(key).Default
}

// Chosen are the texts of a parameter as they were said: none when it was not, and the word for none of
// it where that was said.
func (q Query) Chosen(key string) []string { return q.said[key] }

// IsSaid reports whether a parameter is said to be other than its default.
func (q Query) IsSaid(key string) bool { return len(q.said[key]) > 0 }

// Get is the text of a parameter, or its default, or "".
func (q Query) Get(key string) string {
	for _, text := range q.All(key) {
		return text
	}
	return ""
}

// With is the question with other texts of a parameter; without any, with none.
func (q Query) With(key string, texts ...string) Query {
	said := url.Values{}
	for k, v := range q.said {
		said[k] = v
	}
	said[key] = texts
	if len(texts) == 0 {
		said[key] = []string{""}
	}
	q, _ = Read(q.params, said)
	return q
}

// Unsaid is the question with a parameter's default.
func (q Query) Unsaid(key string) Query {
	said := url.Values{}
	for k, v := range q.said {
		if k != key {
			said[k] = v
		}
	}
	return Query{q.params, said}
}

// Without leaves one text of a parameter out.
func (q Query) Without(key, text string) Query {
	return q.With(key, slices.DeleteFunc(slices.Clone(q.All(key)), func(t string) bool { return t == text })...)
}

// URL is the address of the question on a page, its parameters in their order. The signs of a
// filter that may stand in an address stay as they are, so that it can be read.
func (q Query) URL(path string) string {
	var parts []string
	for _, p := range q.params {
		for _, text := range q.said[p.Key] {
			parts = append(parts, p.Key+"="+escape(text))
		}
	}
	if len(parts) == 0 {
		return path
	}
	return path + "?" + strings.Join(parts, "&")
}

func escape(text string) string {
	return strings.NewReplacer("%3D", "=", "%3A", ":", "%2C", ",").Replace(url.QueryEscape(text))
}

func (q Query) param(key string) Param {
	for _, p := range q.params {
		if p.Key == key {
			return p
		}
	}
	return Param{}
}

// Factor is the factor that a part of a question names, without its bands or form.
func Factor(text string) string {
	key, _, _ := strings.Cut(text, ":")
	return key
}

// NotGiven leaves factors out of what is said to be given: one that is asked by, or that a filter
// holds, has nothing left to hold alike. What is given unless it is said sees to that itself.
func (q Query) NotGiven(keys ...string) Query {
	if !q.IsSaid("given") {
		return q
	}
	return q.With("given", slices.DeleteFunc(slices.Clone(q.All("given")), func(g string) bool { return slices.Contains(keys, Factor(g)) })...)
}

// Holds reports whether a filter holds a factor fixed.
func (q Query) Holds(factor string) bool {
	return slices.ContainsFunc(q.All("where"), func(w string) bool { return strings.HasPrefix(w, factor+"=") })
}
