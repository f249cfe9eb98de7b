package webhook_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/daemon/webhook"
	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// RFC 4231, test case 2: HMAC-SHA-256 with the key "Jefe".
func TestTheSignatureIsThePublishedHMAC(t *testing.T) {
	require.Equal(t, "sha256=5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
		webhook.Sign([]byte("Jefe"), []byte("what do ya want for nothing?")))
}

// pages is a record book that a test writes.
type pages struct {
	mu      sync.Mutex
	records []history.Record
}

func (p *pages) add(numbers ...uint64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, n := range numbers {
		p.records = append(p.records, history.Record{Number: n, Kind: "alarm", Room: "darkroom", Hash: strings.Repeat("5f", 32),
			Content: json.RawMessage(`{"subject":"air"}`)})
	}
}

func (p *pages) Records(_ context.Context, q history.Query) ([]history.Record, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	after := slices.DeleteFunc(slices.Clone(p.records), func(r history.Record) bool { return r.Number <= q.AfterNumber })
	if q.Limit > 0 && len(after) > q.Limit {
		after = after[:q.Limit]
	}
	return after, nil
}

// receiver takes messages, or answers with a status instead.
type receiver struct {
	mu     sync.Mutex
	status int
	asked  int
	got    []uint64
	forged bool
}

func (r *receiver) ServeHTTP(w http.ResponseWriter, request *http.Request) {
	body, _ := io.ReadAll(request.Body)
	var m webhook.Message
	r.mu.Lock()
	defer r.mu.Unlock()
	r.asked++
	r.forged = r.forged || request.Header.Get(webhook.SignatureHeader) != webhook.Sign([]byte("secret"), body) || json.Unmarshal(body,
		&m) != nil ||
		m.Checkpoint != fmt.Sprintf("%d:%s", m.Number, strings.Repeat("5f", 32))
	if r.status == http.StatusOK {
		r.got = append(r.got, m.Number)
	}
	w.WriteHeader(r.status)
}

func (r *receiver) answer(status int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status = status
}

func (r *receiver) seen() (asked int, got []uint64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.asked, slices.Clone(r.got)
}

// sending is a sender under test with all that it needs.
type sending struct {
	*testing.T
	book     *pages
	receiver *receiver
	clock    *clocktest.Manual
	options  webhook.Options
	end      func()
}

func newSending(t *testing.T) *sending {
	s := &sending{T: t, book: &pages{}, receiver: &receiver{status: http.StatusOK}}
	server := httptest.NewServer(s.receiver)
	t.Cleanup(server.Close)
	s.options = webhook.Options{URL: server.URL, Secret: []byte("secret"), Kinds: []string{"alarm"}, Cursor: filepath.Join(t.TempDir(),
		"webhook"),
		Book: s.book, Log: zap.NewNop()}
	return s
}

func (s *sending) start() {
	s.clock = clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)) // nobody of an earlier start waits on it
	s.options.Clock = s.clock
	sender, err := webhook.New(s.Context(), s.options)
	require.NoError(s, err)
	ctx, cancel := context.WithCancel(context.Background())
	var running sync.WaitGroup
	running.Go(func() { sender.Run(ctx) })
	s.end = func() { cancel(); running.Wait() }
	s.clock.BlockUntil(1)
}

// pass lets time pass until the sender has looked once more.
func (s *sending) pass(d time.Duration) {
	s.clock.Advance(d)
	s.clock.BlockUntil(1)
}

func TestMessagesComeInOrderOnceAndSigned(t *testing.T) {
	s := newSending(t)
	s.book.add(1, 2)
	s.start()
	defer s.end()
	_, got := s.receiver.seen()
	require.Empty(t, got, "what was there before anybody listened is no news")
	for n := uint64(3); n <= 130; n++ {
		s.book.add(n)
	}
	s.pass(2 * time.Second)
	_, got = s.receiver.seen()
	require.Len(t, got, 128)
	require.True(t, slices.IsSorted(got))
	require.False(t, s.receiver.forged)
}

func TestAnOutageOfHoursAndARestartLoseNothing(t *testing.T) {
	s := newSending(t)
	s.start()
	s.receiver.answer(http.StatusServiceUnavailable)
	s.book.add(7, 8)
	for range 40 {
		s.pass(5 * time.Minute)
	}
	asked, got := s.receiver.seen()
	require.Empty(t, got)
	require.LessOrEqual(t, asked, 41, "one message is tried at a time, with growing waits")
	s.end()

	s.receiver.answer(http.StatusOK)
	s.book.add(9)
	s.start()
	defer s.end()
	_, got = s.receiver.seen()
	require.Equal(t, []uint64{7, 8, 9}, got)
}

func TestARefusedMessageDoesNotHoldUpTheNext(t *testing.T) {
	s := newSending(t)
	s.start()
	defer s.end()
	s.receiver.answer(http.StatusBadRequest)
	s.book.add(1)
	s.pass(2 * time.Second)
	s.receiver.answer(http.StatusOK)
	s.book.add(2)
	s.pass(2 * time.Second)
	_, got := s.receiver.seen()
	require.Equal(t, []uint64{2}, got)
}

func TestAnAddressIsRefusedWhateverItsName(t *testing.T) {
	s := newSending(t)
	dialled, err := url.Parse(s.options.URL)
	require.NoError(t, err)
	s.options.URL = "http://localhost:" + dialled.Port()
	refused := true
	var tried []string
	s.options.Refuse = func(address string) error {
		tried = append(tried, address)
		if refused {
			return errors.New("not there")
		}
		return nil
	}
	s.start()
	s.book.add(1)
	s.pass(2 * time.Second)
	s.end()
	asked, _ := s.receiver.seen()
	require.Zero(t, asked)
	require.Contains(t, tried, dialled.Host, "it is asked about what the name led to")

	refused = false
	s.start()
	defer s.end()
	_, got := s.receiver.seen()
	require.Equal(t, []uint64{1}, got, "the message has waited")
}

func TestADamagedCursorSaysWhatToDo(t *testing.T) {
	s := newSending(t)
	require.NoError(t, os.WriteFile(s.options.Cursor, []byte("soup"), 0o600))
	_, err := webhook.New(t.Context(), s.options)
	require.ErrorContains(t, err, "delete ")
}
