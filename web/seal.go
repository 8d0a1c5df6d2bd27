package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"readback/capture/seal"
	"readback/capture/wire"
	"readback/web/export"
)

// Sealer proves what is in the record: a [seal.Sealer].
type Sealer interface {
	export.Signer
	Prove(ctx context.Context, job string, entries, since uint64) (*seal.Seal, error)
	Status() seal.Status
}

// sealed says how the seal of the record is.
func (s *Server) sealed(w http.ResponseWriter, _ *http.Request) error {
	if s.Seal == nil {
		return s.notSealed()
	}
	return writeJSON(w, http.StatusOK, s.Seal.Status())
}

// sealedHead gives the newest signed head, as a file of heads has it.
func (s *Server) sealedHead(w http.ResponseWriter, _ *http.Request) error {
	if s.Seal == nil {
		return s.notSealed()
	}
	status := s.Seal.Status()
	if status.Newest.Head.Size == 0 {
		return &fault{http.StatusConflict, wire.Problem{Error: "nothing is sealed yet", Do: "ask again in a moment; GET /api/seal says whether something is wrong"}}
	}
	return writeJSON(w, http.StatusOK, status.Newest)
}

func (s *Server) notSealed() error {
	return &fault{http.StatusNotFound, wire.Problem{Error: "the record is not sealed here", Do: "start the server with `readback serve`"}}
}

// seal adds its seal to a record that is exported. Where something is wrong with the seal, the entries are
// exported all the same, with what there is of it.
func (s *Server) seal(r *http.Request, record *export.Record) error {
	since := uint64(0)
	if text := r.URL.Query().Get("since"); text != "" {
		n, err := strconv.ParseUint(text, 10, 53)
		if err != nil || n == 0 {
			return bad("since is not the size of a head", "send the size that stands in the head, or leave it out")
		}
		if size := s.Seal.Status().Newest.Head.Size; n > size {
			return bad("the log has "+strconv.FormatUint(size, 10)+" leaves and the head that you have more: it is of another shop, or this record was put back from an older copy", "give a head of this shop, or look at GET /api/seal")
		}
		since = n
	}
	proof, err := s.Seal.Prove(r.Context(), record.State.ID, uint64(len(record.Entries)), since)
	for errors.Is(err, seal.ErrShort) { // a note was kept and sealed meanwhile: read them all again
		again, readErr := RecordOf(r.Context(), s.Floor, s.Journal, s.Sounds, s.Photos, record.State.ID)
		if readErr != nil {
			return readErr
		}
		if len(again.Entries) <= len(record.Entries) {
			break
		}
		*record = again
		proof, err = s.Seal.Prove(r.Context(), record.State.ID, uint64(len(record.Entries)), since)
	}
	if err != nil {
		s.Log.Error().Err(err).Str("job", record.State.ID).Msg("job is exported without its seal")
		return nil
	}
	record.Seal, record.Sign = proof, s.Seal
	return nil
}
