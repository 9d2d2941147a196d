package web

import (
	"bytes"
	"fmt"
	"net/http"
)

// renderPart writes one part of a page by itself, for a script that puts it in place.
func (s *Server) renderPart(w http.ResponseWriter, page, part string, data any) error {
	t, ok := s.templates[page]
	if !ok {
		return fmt.Errorf("there is no template %q", page)
	}
	var buf bytes.Buffer
	if err := t.ExecuteTemplate(&buf, part, data); err != nil {
		return fmt.Errorf("fill the part %s of %s: %w", part, page, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = buf.WriteTo(w) // a browser that went away is no failure
	return nil
}
