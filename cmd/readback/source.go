package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/wire"
)

// source is where a command reads the record from: a data folder or a server.
type source struct{ data, server string }

func (f *source) register(c *cobra.Command) {
	c.Flags().StringVar(&f.data, "data", "", "read the journal in this `folder`, also beside a running server")
	c.Flags().StringVar(&f.server, "server", "", "ask the server at this `URL`, such as http://"+usualAddress)
}

func (f *source) check() error {
	switch {
	case f.data == "" && f.server == "":
		return hint(errors.New("neither a data folder nor a server was given"), "add --data DIR or --server http://%s", usualAddress)
	case f.data != "" && f.server != "":
		return hint(errors.New("both a data folder and a server were given"), "name one of them")
	case f.server == "":
		return nil
	}
	u, err := url.Parse(f.server)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return hint(fmt.Errorf("--server %s is not the address of a server", f.server), "write it as http://%s", usualAddress)
	}
	return nil
}

func (f *source) open(ctx context.Context) (*sqlite.Store, error) {
	store, err := sqlite.OpenReadOnly(ctx, f.data)
	if errors.Is(err, journal.ErrNotFound) {
		return nil, hint(fmt.Errorf("there is no journal in %s", f.data), "name the folder that `readback serve --data` uses")
	}
	return store, err
}

// get asks the server for JSON.
func (f *source) get(ctx context.Context, path string, into any) error {
	text, err := f.fetch(ctx, path)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(text, into); err != nil {
		return fmt.Errorf("read the answer of %s: %w", f.server, err)
	}
	return nil
}

// mostAnswer is the longest answer that is read into memory, in bytes.
const mostAnswer = 256 << 20

// fetch asks the server; what it refuses is told in its own words.
func (f *source) fetch(ctx context.Context, path string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	var text bytes.Buffer
	err := f.ask(ctx, path, func(body io.Reader) error {
		n, err := text.ReadFrom(io.LimitReader(body, mostAnswer+1))
		if err == nil && n > mostAnswer {
			return fmt.Errorf("it has more than %d MiB", mostAnswer>>20)
		}
		return err
	})
	return text.Bytes(), err
}

// mostSilence is how long a server may send nothing in the middle of an answer.
const mostSilence = time.Minute

// copy writes what the server answers, of any length, for as long as it goes on: if nothing comes for so long it
// gives up.
func (f *source) copy(ctx context.Context, path string, to io.Writer, silence time.Duration) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	return f.ask(ctx, path, func(body io.Reader) error {
		silent := fmt.Errorf("it sent nothing for %s", silence)
		late := time.AfterFunc(silence, func() { cancel(silent) })
		defer late.Stop()
		_, err := io.Copy(to, &heard{body, late, silence})
		if cause := context.Cause(ctx); err != nil && cause != nil {
			return cause
		}
		return err
	})
}

// heard puts a timer off with all that is read.
type heard struct {
	io.Reader
	late    *time.Timer
	silence time.Duration
}

func (h *heard) Read(p []byte) (int, error) {
	h.late.Reset(h.silence)
	return h.Reader.Read(p)
}

// ask asks the server and gives its answer to read.
func (f *source) ask(ctx context.Context, path string, read func(io.Reader) error) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(f.server, "/")+path, http.NoBody)
	if err != nil {
		return fmt.Errorf("ask %s: %w", f.server, err)
	}
	client := http.Client{Transport: &http.Transport{Proxy: http.ProxyFromEnvironment, ResponseHeaderTimeout: time.Minute, DisableKeepAlives: true}}
	response, err := client.Do(request)
	if err != nil {
		return hint(fmt.Errorf("ask %s: %w", f.server, err), "is the server running, and is this its address?")
	}
	defer response.Body.Close()
	if response.StatusCode == http.StatusOK {
		if err := read(response.Body); err != nil {
			return fmt.Errorf("read the answer of %s: %w", f.server, err)
		}
		return nil
	}
	text, err := io.ReadAll(io.LimitReader(response.Body, 1<<20))
	if err != nil {
		return fmt.Errorf("read the answer of %s: %w", f.server, err)
	}
	var p wire.Problem
	if json.Unmarshal(text, &p) != nil || p.Error == "" {
		return hint(fmt.Errorf("%s answered %s", f.server, response.Status), "is this the address of a bench server?")
	}
	return hint(errors.New(p.Error), "%s", p.Do)
}

// post sends JSON to a server.
func post(ctx context.Context, address string, body any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("post to %s: %w", address, err)
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, address, bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("post to %s: %w", address, err)
	}
	request.Header.Set("Content-Type", "application/json")
	client := http.Client{Timeout: 10 * time.Second}
	response, err := client.Do(request)
	if err != nil {
		return fmt.Errorf("post to %s: %w", address, err)
	}
	defer response.Body.Close()
	if response.StatusCode/100 != 2 {
		text, _ := io.ReadAll(io.LimitReader(response.Body, 1000)) // it only explains the error
		return fmt.Errorf("post to %s: %s: %s", address, response.Status, bytes.TrimSpace(text))
	}
	return nil
}
