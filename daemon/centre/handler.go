package centre

import (
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"go.uber.org/zap"

	"wetside/daemon/centre/wire"
)

// mostBytes bounds a message, unpacked.
const mostBytes = 64 << 20

// Handler answers sites at the paths of the package wire.
func (s *Store) Handler(log *zap.Logger) http.Handler {
	h := handler{s, log}
	mux := http.NewServeMux()
	mux.HandleFunc("POST "+wire.Path, h.push)
	mux.HandleFunc("GET "+wire.WitnessPath, h.witness)
	return mux
}

type handler struct {
	store *Store
	log   *zap.Logger
}

func (h handler) push(w http.ResponseWriter, r *http.Request) {
	key, ok := keyOf(w, r)
	if !ok {
		return
	}
	if _, err := h.store.siteOf(r.Context(), key); err != nil { // before anything is unpacked
		h.fail(w, err)
		return
	}
	p, err := read(r.Body)
	if err != nil {
		answer(w, http.StatusBadRequest, wire.Refusal{Why: err.Error()})
		return
	}
	a, err := h.store.Take(r.Context(), key, p)
	if err != nil {
		h.fail(w, err)
		return
	}
	answer(w, http.StatusOK, a)
}

func (h handler) witness(w http.ResponseWriter, r *http.Request) {
	key, ok := keyOf(w, r)
	if !ok {
		return
	}
	number, err := strconv.ParseUint(r.URL.Query().Get("number"), 10, 63)
	if err != nil && r.URL.Query().Get("number") != "" {
		answer(w, http.StatusBadRequest, wire.Refusal{Why: "number: expected the number of a record"})
		return
	}
	found, there, err := h.store.witness(r.Context(), key, number)
	switch {
	case err != nil:
		h.fail(w, err)
	case !there:
		answer(w, http.StatusNotFound, wire.Refusal{Why: "the centre has no such record of the site"})
	default:
		answer(w, http.StatusOK, found)
	}
}

// fail answers an error in the words that the site shows.
func (h handler) fail(w http.ResponseWriter, err error) {
	refusal, refused := errors.AsType[*Refusal](err)
	switch {
	case errors.Is(err, errUnknownKey):
		answer(w, http.StatusUnauthorized, wire.Refusal{Why: errUnknownKey.Error() + ": use the key that wetside centre add-site printed"})
	case refused:
		h.log.Warn("a site was refused", zap.Error(err))
		answer(w, http.StatusConflict, wire.Refusal{Why: refusal.Why})
	default:
		h.log.Error("a message of a site could not be kept", zap.Error(err))
		answer(w, http.StatusServiceUnavailable, wire.Refusal{Why: "the centre can't keep anything at present: its log says why"})
	}
}

func keyOf(w http.ResponseWriter, r *http.Request) (string, bool) {
	key, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !ok {
		answer(w, http.StatusUnauthorized, wire.Refusal{Why: "a site sends its key: Authorization: Bearer, and the key"})
	}
	return key, ok
}

func read(body io.Reader) (p wire.Push, err error) {
	unpacked, err := gzip.NewReader(body)
	if err == nil {
		err = json.NewDecoder(io.LimitReader(unpacked, mostBytes)).Decode(&p)
	}
	if err != nil {
		err = fmt.Errorf("the message can't be read: %w", err)
	}
	return p, err
}

func answer(w http.ResponseWriter, status int, content any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(content) // whoever has gone away asks again
}
