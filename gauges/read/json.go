package read

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// answer reads JSON from a service piece by piece, so that a long one isn't held as text too.
type answer struct {
	*book
	dec  *json.Decoder
	next string
}

// shape is JSON that isn't what such an answer has at some place.
type shape struct{ want string }

func (s shape) Error() string { return s.want }

// json reads an answer of any service, known by the name of the list in it, and gives the address of the next one.
func (b *book) json(in io.Reader) (next string, err error) {
	a := &answer{book: b, dec: json.NewDecoder(in)}
	if err := a.top(); err != nil {
		return "", a.fault(err)
	}
	if _, err := a.dec.Token(); !errors.Is(err, io.EOF) {
		if err == nil {
			err = shape{"something stands after its end"}
		}
		return "", a.fault(err)
	}
	return a.next, nil
}

func (a *answer) place() string { return "byte " + thousands(a.dec.InputOffset()) }

// fault is an error of the decoder in words.
func (a *answer) fault(err error) error {
	var syntax *json.SyntaxError
	var typed *json.UnmarshalTypeError
	var s shape
	switch {
	case errors.As(err, &syntax):
		if strings.Contains(syntax.Error(), "unexpected end") {
			return a.cut(a.place())
		}
		return a.wrongf("byte "+thousands(syntax.Offset), "it is not JSON there")
	case errors.As(err, &typed):
		return a.wrongf(a.place(), "%s holds a %s, which is not how gauge services write it", typed.Field, typed.Value)
	case errors.As(err, &s):
		return a.wrongf(a.place(), "%s", s.want)
	}
	return a.broken(err, a.place())
}

// top looks for the list by which services are told apart.
func (a *answer) top() error {
	known, said := false, ""
	err := a.object(func(key string) error {
		switch key {
		case "features": // OGC API Features
			known = true
			return a.list(a.feature)
		case "continuous", "latest-continuous", "daily", "monitoring-locations": // answers that were kept together, each under its collection
			known = true
			return a.object(func(key string) error {
				if key == "features" {
					return a.list(a.feature)
				}
				return a.skip()
			})
		case "items": // Environment Agency
			known = true
			return a.eaItems()
		case "data": // Hub'Eau
			known = true
			return a.list(a.hubeauItem)
		case "value": // WaterML as JSON
			known = true
			return a.waterml()
		case "links":
			return a.links()
		case "next":
			var next any
			err := a.dec.Decode(&next)
			if text, ok := next.(string); ok {
				a.next = text
			}
			return err
		case "error", "message", "description", "detail", "title", "errors":
			var what any
			err := a.dec.Decode(&what)
			if text := words(what); text != "" && (said == "" || key != "title") {
				said = text
			}
			return err
		}
		return a.skip()
	})
	switch {
	case err != nil:
		return err
	case !known && said != "":
		return a.wrongf("", "holds no readings but what the service answered instead: “%s”", clip120(said))
	case !known:
		return a.wrongf("", "is JSON of a kind that is not known; known are WaterML, OGC features, and answers of the Environment Agency and of Hub'Eau")
	}
	return nil
}

// words finds what an error of a service says to people.
func words(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case []any:
		for _, x := range v {
			if text := words(x); text != "" {
				return text
			}
		}
	case map[string]any:
		for _, key := range []string{"message", "description", "detail", "error", "title"} {
			if text := words(v[key]); text != "" {
				return text
			}
		}
	}
	return ""
}

func clip120(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if runes := []rune(text); len(runes) > 120 {
		return string(runes[:120]) + "…"
	}
	return text
}

// object calls field for each key of an object; that reads the value.
func (a *answer) object(field func(key string) error) error {
	t, err := a.dec.Token()
	switch {
	case err != nil:
		return err
	case t == nil:
		return nil // null
	case t != json.Delim('{'):
		return shape{fmt.Sprintf("an object was expected there, not %v", t)}
	}
	for a.dec.More() {
		key, err := a.dec.Token()
		if err != nil {
			return err
		}
		if err := field(key.(string)); err != nil {
			return err
		}
	}
	_, err = a.dec.Token()
	return err
}

// list calls item for each element of a list, which reads it.
func (a *answer) list(item func() error) error {
	t, err := a.dec.Token()
	switch {
	case err != nil:
		return err
	case t == nil:
		return nil // null
	case t != json.Delim('['):
		return shape{fmt.Sprintf("a list was expected there, not %v", t)}
	}
	return a.elements(item)
}

// elements are those of a list that was begun.
func (a *answer) elements(item func() error) error {
	for a.dec.More() {
		if err := item(); err != nil {
			return err
		}
	}
	_, err := a.dec.Token()
	return err
}

// skip reads past a value, however deep.
func (a *answer) skip() error {
	for depth := 0; ; {
		t, err := a.dec.Token()
		if err != nil {
			return err
		}
		switch t {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
		if depth == 0 {
			return nil
		}
	}
}

func (a *answer) links() error {
	return a.list(func() error {
		var link struct{ Rel, Href string }
		if err := a.dec.Decode(&link); err != nil {
			return err
		}
		if link.Rel == "next" {
			a.next = link.Href
		}
		return nil
	})
}

// text is a JSON string or number as it stands, "" for null and all else.
type text string

func (t *text) UnmarshalJSON(b []byte) error {
	switch {
	case len(b) == 0 || b[0] == '{' || b[0] == '[' || bytes.Equal(b, []byte("null")):
		*t = ""
	case b[0] == '"':
		var s string
		if err := json.Unmarshal(b, &s); err != nil {
			return err
		}
		*t = text(s)
	default:
		*t = text(b)
	}
	return nil
}

// texts is a list of strings, or one without its list, or null.
type texts []string

func (t *texts) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '[' {
		var list []text
		if err := json.Unmarshal(b, &list); err != nil {
			return err
		}
		*t = (*t)[:0]
		for _, s := range list {
			*t = append(*t, string(s))
		}
		return nil
	}
	var one text
	if err := one.UnmarshalJSON(b); err != nil || one == "" {
		*t = nil
		return err
	}
	*t = texts{string(one)}
	return nil
}

// first is the first of a list, or what stands there without one; nil of an empty list.
func first(b []byte) ([]byte, error) {
	if len(b) == 0 || b[0] != '[' {
		return b, nil
	}
	var list []json.RawMessage
	if err := json.Unmarshal(b, &list); err != nil || len(list) == 0 {
		return nil, err
	}
	return list[0], nil
}

// resources is a list of references, or one without its list, or null.
type resources []resource

func (r *resources) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '[' {
		return json.Unmarshal(b, (*[]resource)(r))
	}
	var one resource
	err := one.UnmarshalJSON(b)
	*r = nil
	if one != (resource{}) {
		*r = resources{one}
	}
	return err
}

// degrees is a latitude or longitude; some stations have several, of which the first is taken.
type degrees struct{ v *float64 }

func (d *degrees) UnmarshalJSON(b []byte) error {
	d.v = nil
	b, err := first(b)
	if err != nil || len(b) == 0 {
		return err
	}
	return json.Unmarshal(b, &d.v)
}

// resource is a reference as the Environment Agency gives it: an address, or an object with one, or the first of a list.
type resource struct {
	ID    string
	Label string
}

func (r *resource) UnmarshalJSON(b []byte) error {
	b, err := first(b)
	if err != nil {
		return err
	}
	if len(b) > 0 && b[0] == '{' {
		var o struct {
			ID    text `json:"@id"`
			Label text `json:"label"`
		}
		if err := json.Unmarshal(b, &o); err != nil {
			return err
		}
		*r = resource{string(o.ID), string(o.Label)}
		return nil
	}
	var one text
	err = one.UnmarshalJSON(b)
	*r = resource{ID: string(one)}
	return err
}
