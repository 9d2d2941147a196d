package webtest

import (
	"bytes"
	"mime/multipart"
	"net/http"
)

// File is a file that a form sends.
type File struct{ Name, Text string }

// Upload sends files as the form of a page does, with its fields in front of them.
func (s *Site) Upload(path string, fields map[string]string, files ...File) Answer {
	s.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, value := range fields {
		s.Must(w.WriteField(name, value))
	}
	for _, f := range files {
		part := Got(w.CreateFormFile("file", f.Name))(s.T)
		_ = Got(part.Write([]byte(f.Text)))(s.T)
	}
	s.Must(w.Close())
	r := s.Request(http.MethodPost, path, &body)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return s.Do(r)
}
