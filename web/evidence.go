package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"time"

	"readback/capture/evidence"
	"readback/capture/folder"
	"readback/capture/photo"
	"readback/capture/wire"
)

// Evidence keeps files by their hash: an [evidence.Files].
type Evidence interface {
	Put(data []byte) (hash string, err error)
	Drop(hash string) error
	Get(hash string) ([]byte, error)
}

// photoWithin is how long a photo may take to come in: a tablet's radio link is slow.
const photoWithin = 60 * time.Second

// sound plays what was heard of a note of the job.
func (s *Server) sound(w http.ResponseWriter, r *http.Request) error {
	return s.serveFile(w, r, evidence.Sound, s.Sounds, "audio/flac", nil)
}

// photo shows a photo of the job; with ?small a small one for a list.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	var small func(context.Context, []byte) ([]byte, error)
	if r.URL.Query().Has("small") {
		small = photo.Thumb
	}
	return s.serveFile(w, r, evidence.Photo, s.Photos, "image/jpeg", small)
}

// serveFile serves a file that the job's record names, checked against its hash. No browser keeps it:
// what is purged must be gone.
func (s *Server) serveFile(w http.ResponseWriter, r *http.Request, sort evidence.Sort, from Evidence, media string, change func(context.Context, []byte) ([]byte, error)) error {
	job, hash := r.PathValue("id"), r.PathValue("hash")
	if !evidence.IsHash(hash) {
		return bad("that is no hash of a "+string(sort), "give the 64 small hex digits that the entry has")
	}
	named, ok, err := s.Floor.Evidence(r.Context(), job, hash)
	if err != nil {
		return err
	}
	if !ok || named.Sort != sort {
		return &fault{http.StatusNotFound, wire.Problem{Error: fmt.Sprintf("no entry of job %s names this %s", job, sort), Do: "take the hash from an entry of the job"}}
	}
	if named.Purged != nil {
		return &fault{http.StatusGone, wire.Problem{
			Error: fmt.Sprintf("the %s was %s", sort, named.Purged.Words()), Do: "what was said and what came of it still stands in the record",
		}}
	}
	data, err := read(from, hash)
	if err == nil && change != nil {
		data, err = change(r.Context(), data)
	}
	if err != nil {
		s.Log.Error().Err(err).Str("job", job).Str("hash", hash).Msg("evidence cannot be served")
		return unkept(sort, err)
	}
	h := w.Header()
	h.Set("Content-Type", media)
	h.Set("Cache-Control", "no-store")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	return nil
}

func read(from Evidence, hash string) ([]byte, error) {
	if from == nil {
		return nil, evidence.ErrGone
	}
	return from.Get(hash)
}

// unkept says what is wrong with a file that the record says is kept.
func unkept(sort evidence.Sort, err error) error {
	switch {
	case errors.Is(err, evidence.ErrGone):
		return &fault{http.StatusInternalServerError, wire.Problem{
			Error: fmt.Sprintf("the file of the %s is missing, though the record says that it is kept", sort), Do: "look for it in a copy of the server's data folder",
		}}
	case errors.Is(err, evidence.ErrChanged):
		return &fault{http.StatusInternalServerError, wire.Problem{
			Error: fmt.Sprintf("the file of the %s is not what was kept: it was changed or is damaged", sort), Do: "look for it in a copy of the server's data folder",
		}}
	}
	return err
}

// takePhoto keeps a photo of a note of the job.
func (s *Server) takePhoto(w http.ResponseWriter, r *http.Request) error {
	if s.Photos == nil {
		return &fault{http.StatusServiceUnavailable, wire.Problem{Error: "this server keeps no photos", Do: "start it with a data folder"}}
	}
	if media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || media != "image/jpeg" {
		return &fault{http.StatusUnsupportedMediaType, wire.Problem{Error: "the photo is not sent as image/jpeg", Do: "send a JPEG, with that content type"}}
	}
	p, err := photoOf(r.URL.Query())
	if err != nil {
		return err
	}
	job := r.PathValue("id")
	if _, err := s.Floor.State(r.Context(), job); err != nil { // before eight million bytes are read
		return err
	}
	data, err := receive(w, r)
	if err != nil {
		return err
	}
	clean, err := photo.Clean(r.Context(), data)
	if err != nil {
		return badPhoto(err)
	}
	hash, err := s.Photos.Put(clean)
	if err != nil {
		return unwritten(err)
	}
	entry, known, err := s.Floor.Photo(r.Context(), job, p, hash)
	if err != nil || known {
		err = errors.Join(err, s.Photos.Drop(hash))
	}
	if err != nil {
		return err
	}
	return keptAs(w, entry, known)
}

// photoOf reads what is said of a photo.
func photoOf(q url.Values) (wire.Photo, error) {
	p := wire.Photo{ID: q.Get("id"), Of: q.Get("of"), At: q.Get("at"), Person: q.Get("person"), Bench: q.Get("bench")}
	if !wire.IsName(p.Person, 100) || !wire.IsName(p.Bench, 100) {
		return p, bad("person or bench is no name", "send plain text of at most 100 characters, or leave it out")
	}
	return p, p.Check()
}

// receive reads the photo itself.
func receive(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	control, end := http.NewResponseController(w), time.Now().Add(photoWithin)
	_ = errors.Join(control.SetReadDeadline(end), control.SetWriteDeadline(end.Add(photoWithin))) // where it cannot be set, the server's own holds
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, photo.MaxBytes))
	if _, long := errors.AsType[*http.MaxBytesError](err); err != nil && !long {
		return nil, bad("the photo broke off", "send it again")
	}
	return data, err
}

func badPhoto(err error) error {
	switch {
	case errors.Is(err, photo.ErrSize):
		return &fault{http.StatusRequestEntityTooLarge, wire.Problem{Error: err.Error(), Do: "send a smaller picture"}}
	case errors.Is(err, photo.ErrNot):
		return &fault{http.StatusUnprocessableEntity, wire.Problem{Error: "the photo cannot be kept: " + err.Error(), Do: "take it again"}}
	}
	return err
}

// unwritten says that a photo found no room, or could not be written for another reason.
func unwritten(err error) error {
	status, do := http.StatusInternalServerError, "look into the server's log, and whether its data folder can be written, then send it again"
	if folder.Full(err) {
		status, do = http.StatusInsufficientStorage, "make room on the server's disk, then send it again"
	}
	return errors.Join(&fault{status, wire.Problem{Error: "the photo cannot be written and was not kept", Do: do}}, err)
}
