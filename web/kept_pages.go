package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"net/http"

	"rigtally/web/page"
)

// madePage is a page as it was made.
type madePage struct {
	header http.Header
	status int
	body   bytes.Buffer
}

const mostPageBytes = 32 << 20 // of one person's pages

// size of a page among those kept. One that is no answer, or is as large as many, is not kept.
func (p *madePage) size() int {
	if p.status != http.StatusOK || p.body.Len() > mostPageBytes/2 {
		return mostPageBytes + 1
	}
	return p.body.Len()
}

// serveKept answers with the page of a request, which a tag is for, made by act unless it is kept under the key, made from
// the same journal. Only a few different ones are made at the same time.
func (s *room) serveKept(w http.ResponseWriter, r *http.Request, key, from, tag string, act page.Action) error {
	p, err := s.pages.Get(r.Context(), key, from, func(ctx context.Context) (*madePage, error) {
		leave, err := s.server.limit.enter(ctx, s.Store.OutfitID())
		if err != nil {
			return nil, err
		}
		defer leave()
		made := &madePage{header: http.Header{}}
		if err := act(made, r.WithContext(ctx)); err != nil {
			return nil, err
		}
		made.WriteHeader(http.StatusOK) // of a page without a body
		return made, nil
	})
	if err != nil {
		return err
	}
	s.server.rooms.bound(s)
	if s.Store.Who().IsClient() && p.status == http.StatusOK {
		sum := sha256.Sum256(p.body.Bytes())
		if tag = `W/"` + hex.EncodeToString(sum[:12]) + `"`; unchanged(w, r, tag) {
			return nil
		}
	}
	maps.Copy(w.Header(), p.header)
	if p.status == http.StatusOK {
		tagged(w, tag)
	}
	w.WriteHeader(p.status)
	_, err = w.Write(p.body.Bytes())
	return err
}

// Header, WriteHeader and Write take what an action writes.
func (p *madePage) Header() http.Header { return p.header }

func (p *madePage) WriteHeader(status int) {
	if p.status == 0 {
		p.status = status
	}
}

func (p *madePage) Write(b []byte) (int, error) {
	p.WriteHeader(http.StatusOK)
	return p.body.Write(b)
}
