package imports

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"time"

	"rigtally/web/page"
	"rigtally/web/pending"
)

// takeTime is given to files on a slow line, from a phone at the water.
const takeTime = 5 * time.Minute

// errTooMuch says that a file is larger than is taken.
type errTooMuch struct{ says string }

func (e *errTooMuch) Error() string { return e.says }

// receive takes the files out of a form. What it refuses, it says in a sentence.
func receive(w http.ResponseWriter, r *http.Request, d *page.Desk) (files []pending.File, says string, err error) {
	c := http.NewResponseController(w)
	_ = c.SetReadDeadline(time.Now().Add(takeTime)) // where it can't be set, the server's own holds
	_ = c.SetWriteDeadline(time.Now().Add(takeTime + time.Minute))
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, "No file arrived. Choose one, then send it.", nil
	}
	size := 0
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, "", damaged(err)
		}
		if part.FormName() == page.ForField {
			whose, err := io.ReadAll(io.LimitReader(part, 100))
			if err != nil {
				return nil, "", damaged(err)
			}
			if err := d.Opened(string(whose)); err != nil {
				return nil, "", err
			}
		}
		f, err := receivePart(part)
		var tooMuch *errTooMuch
		switch {
		case errors.As(err, &tooMuch):
			return nil, tooMuch.says, nil
		case err != nil:
			return nil, "", damaged(err)
		case f.Name == "":
			continue
		}
		files, size = append(files, f), size+len(f.Text)
		if len(files) > mostFiles {
			return nil, fmt.Sprintf("More than %d files at once. Send them in parts.", mostFiles), nil
		}
		if size > mostLoad {
			return nil, fmt.Sprintf("Together the files are over %d MB. Send them in parts.", mostLoad>>20), nil
		}
	}
	if len(files) == 0 {
		return nil, "Choose a file first.", nil
	}
	return files, "", nil
}

// receivePart reads one file; a part of the form that is none has no name.
func receivePart(part *multipart.Part) (pending.File, error) {
	if part.FormName() != "file" || part.FileName() == "" {
		return pending.File{}, nil
	}
	name := pending.Name(part.FileName())
	var text bytes.Buffer
	n, err := io.Copy(&text, io.LimitReader(part, mostFile+1))
	switch {
	case err != nil:
		return pending.File{}, err
	case n > mostFile:
		return pending.File{}, &errTooMuch{fmt.Sprintf("%s is over %d MB, more than is taken here. Split it by season, or save it as CSV.", name, mostFile>>20)}
	}
	return pending.File{Name: name, Text: text.Bytes()}, nil
}

// damaged is what came cut off or is no form. Too much stays what it is.
func damaged(err error) error {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return page.Refuse(http.StatusRequestEntityTooLarge, "Too much at once", fmt.Sprintf("The files are over %d MB together, so none was taken. Send them in parts.", mostLoad>>20))
	}
	return page.Refuse(http.StatusBadRequest, "That could not be read", "The files arrived damaged or only in part, so none was taken. Send them again.")
}
