// Package service is the engine that asks a transcription service which the shop runs itself: the
// sound of a note goes to a URL by POST as audio/wav, and {"text":"..."} comes back.
//
// It works beside an engine that needs no network. That one shows the words while they are spoken,
// finds the end of the note and says how well words fit the sound; the service is a second opinion
// ([hear.Heard].Other). Nothing that only one of them heard is for package listen to take. Where the
// service does not answer, the other engine hears alone, as if there were no service. Where there is
// no other engine, the service's words come without a gate and a second decode, and are asked back.
//
// Sound goes to the URL and nowhere else: no proxy is used and no redirection followed. Start reading
// at [New]; answer.go reads what comes back, ear.go has the ear.
package service

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"sync"
	"syscall"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/hear"
	"readback/capture/hear/wav"
)

// Errors of a service.
var (
	ErrURL    = errors.New("service: that is no address of a transcription service")
	ErrAnswer = errors.New("service: what came back is no answer")
	ErrAway   = errors.New("service: the transcription service cannot be reached")
	ErrRests  = errors.New("service: the transcription service failed just now and is left alone for a while")
)

// Config says which service is asked, and what works beside it.
type Config struct {
	URL     string        // http or https
	Beside  hear.Engine   // hears as well; nil: the service works alone. The engine closes it
	Timeout time.Duration // from the end of a note to the answer: 3 s
	Rest    time.Duration // how long a service that failed is left alone: 20 s
	Log     zerolog.Logger
}

// Engine asks the service. It is safe for concurrent use.
type Engine struct {
	config Config
	url    *url.URL
	client *http.Client
	far    string
	front  front // where the service works alone

	mu    sync.Mutex
	until time.Time // the service is left alone until then
	fault string    // why, in words for a page; "" where the last answer was one
}

// New checks the address. It does not ask the service: one that is not there yet is asked when a note
// is spoken.
func New(ctx context.Context, c Config) (*Engine, error) {
	u, err := url.Parse(c.URL)
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrURL, err)
	case u.Scheme != "http" && u.Scheme != "https", u.Hostname() == "":
		return nil, fmt.Errorf("%w: %q; give one as http://127.0.0.1:9000/hear", ErrURL, u.Redacted())
	case u.User != nil:
		return nil, fmt.Errorf("%w: %s holds a password, which other users of this machine could read; let the service ask for none on this net", ErrURL, u.Redacted())
	}
	if c.Timeout <= 0 {
		c.Timeout = 3 * time.Second
	}
	if c.Rest <= 0 {
		c.Rest = 20 * time.Second
	}
	e := &Engine{config: c, url: u, far: outside(ctx, u.Hostname())}
	dial := &net.Dialer{Timeout: c.Timeout, Control: e.near}
	e.client = &http.Client{
		Transport: &http.Transport{DialContext: dial.DialContext, MaxIdleConnsPerHost: 4, IdleConnTimeout: time.Minute, ResponseHeaderTimeout: c.Timeout},
		CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse
		},
	}
	if c.Beside == nil {
		if e.front, err = newFront(ctx); err != nil {
			return nil, err
		}
	}
	return e, nil
}

// outside says where a host is that is neither this machine nor on a private net, "" where it is.
func outside(ctx context.Context, host string) string {
	ctx, stop := context.WithTimeout(ctx, 2*time.Second)
	defer stop()
	found, err := net.DefaultResolver.LookupIPAddr(ctx, host)
	if err != nil || len(found) == 0 {
		return host + ", whose address cannot be looked up"
	}
	for _, a := range found {
		if ip, ok := netip.AddrFromSlice(a.IP); !ok || !near(ip) {
			return host + " (" + a.IP.String() + ")"
		}
	}
	return ""
}

// near reports whether an address, with a zone or without, is this machine's or on a private net.
func near(ip netip.Addr) bool {
	ip = ip.Unmap()
	return ip.IsLoopback() || ip.IsPrivate() || ip.IsLinkLocalUnicast()
}

// near refuses an address outside where the service was said to be near: its name leads elsewhere by
// now, and nobody was warned of that.
func (e *Engine) near(_, address string, _ syscall.RawConn) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return err
	}
	if ip, err := netip.ParseAddr(host); e.far == "" && (err != nil || !near(ip)) {
		return fmt.Errorf("%s leads to %s, outside this net, where it was on it when the server started; no sound was sent", e.url.Hostname(), host)
	}
	return nil
}

// Warning says that sound leaves the machine for a net that is not the shop's own, "" where it does not.
func (e *Engine) Warning() string {
	if e.far == "" {
		return ""
	}
	warning := "What is spoken here leaves this net: the sound of each note is sent to " + e.far
	if e.url.Scheme == "http" {
		warning += ", and anybody on the way can listen, as it is not encrypted"
	}
	return warning + "."
}

// Trouble says why the service is not asked just now, "" where it is.
func (e *Engine) Trouble() string {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.fault == "" {
		return ""
	}
	if e.config.Beside == nil {
		return "the transcription service at " + e.url.Host + " " + e.fault + ", and nothing else hears"
	}
	return "the transcription service at " + e.url.Host + " " + e.fault + "; notes are heard by the " + e.config.Beside.Name() + " recogniser alone"
}

// Name is what the page shows.
func (e *Engine) Name() string {
	if e.config.Beside == nil {
		return "service"
	}
	return "service and " + e.config.Beside.Name()
}

// Alone reports whether nothing hears beside the service.
func (e *Engine) Alone() bool { return e.config.Beside == nil }

// Open returns an ear.
func (e *Engine) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	if e.config.Beside == nil {
		return e.alone(ctx)
	}
	inner, err := e.config.Beside.Open(ctx, w)
	if err != nil {
		return nil, err
	}
	return &ear{engine: e, Ear: inner}, nil
}

// Guess returns what the service makes of sound, or where it does not answer the engine beside it.
func (e *Engine) Guess(ctx context.Context, pcm []int16) (hear.Guess, error) {
	text, err := e.Ask(ctx, pcm)
	if err == nil {
		return hear.Guess{Text: Plain(text), By: "service"}, nil
	}
	if g, ok := e.config.Beside.(hear.Guesser); ok {
		return g.Guess(ctx, pcm)
	}
	return hear.Guess{}, err
}

// Again is [Engine.Guess] by the service alone: for sound at which another engine has guessed already.
func (e *Engine) Again(ctx context.Context, pcm []int16) (hear.Guess, error) {
	text, err := e.Ask(ctx, pcm)
	return hear.Guess{Text: Plain(text), By: "service"}, err
}

// Close ends the engine beside it as well.
func (e *Engine) Close() error {
	e.client.CloseIdleConnections()
	err := e.front.close()
	if e.config.Beside != nil {
		err = errors.Join(err, e.config.Beside.Close())
	}
	return err
}

// Ask sends sound to the service and returns its text, "" where it heard nothing. A service that fails
// is left alone for a while, so that not every note waits for it.
func (e *Engine) Ask(ctx context.Context, pcm []int16) (string, error) {
	e.mu.Lock()
	rests := time.Now().Before(e.until)
	e.mu.Unlock()
	if rests {
		return "", ErrRests
	}
	ctx, stop := context.WithTimeout(ctx, e.config.Timeout)
	defer stop()
	text, err := e.post(ctx, pcm)
	if err != nil && errors.Is(ctx.Err(), context.Canceled) {
		return "", err // the bench has left; that is no fault of the service
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if err == nil {
		e.until, e.fault = time.Time{}, ""
		return text, nil
	}
	e.until, e.fault = time.Now().Add(e.config.Rest), inWords(err)
	e.config.Log.Warn().Err(err).Str("service", e.url.Redacted()).Dur("rest", e.config.Rest).Msg("transcription service failed")
	return "", err
}

func inWords(err error) string {
	switch {
	case errors.Is(err, context.DeadlineExceeded), isTimeout(err):
		return "did not answer in time"
	case errors.Is(err, ErrAnswer):
		return "gave no usable answer"
	}
	return "cannot be reached"
}

func isTimeout(err error) bool {
	t, ok := errors.AsType[net.Error](err)
	return ok && t.Timeout()
}

func (e *Engine) post(ctx context.Context, pcm []int16) (string, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, e.url.String(), bytes.NewReader(wav.Bytes(pcm, hear.Rate)))
	if err != nil {
		return "", fmt.Errorf("%w: %w", ErrURL, err)
	}
	r.Header.Set("Content-Type", "audio/wav")
	r.Header.Set("Accept", "application/json")
	got, err := e.client.Do(r)
	if err != nil {
		return "", fmt.Errorf("%w: %w", ErrAway, err)
	}
	defer func() { _ = got.Body.Close() }()
	data, err := io.ReadAll(io.LimitReader(got.Body, mostAnswer+1))
	switch {
	case got.StatusCode >= 300 && got.StatusCode < 400:
		return "", fmt.Errorf("%w: it leads to another address, %.200q, which is not followed; give that to --stt if it is the shop's own", ErrAnswer, got.Header.Get("Location"))
	case got.StatusCode != http.StatusOK:
		return "", fmt.Errorf("%w: it is of status %s", ErrAnswer, got.Status)
	case err != nil:
		return "", fmt.Errorf("%w: it broke off: %w", ErrAnswer, err)
	}
	return readAnswer(data)
}
