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

// fetch asks the server; what it refuses is told in its own words.
func (f *source) fetch(ctx context.Context, path string) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(f.server, "/")+path, http.NoBody)
	if err != nil {
		return nil, fmt.Errorf("ask %s: %w", f.server, err)
	}
	client := http.Client{Timeout: time.Minute}
	response, err := client.Do(request)
	if err != nil {
		return nil, hint(fmt.Errorf("ask %s: %w", f.server, err), "is the server running, and is this its address?")
	}
	defer response.Body.Close()
	text, err := io.ReadAll(io.LimitReader(response.Body, 256<<20))
	if err != nil {
		return nil, fmt.Errorf("read the answer of %s: %w", f.server, err)
	}
	if response.StatusCode == http.StatusOK {
		return text, nil
	}
	var p wire.Problem
	if json.Unmarshal(text, &p) != nil || p.Error == "" {
		return nil, hint(fmt.Errorf("%s answered %s", f.server, response.Status), "is this the address of a bench server?")
	}
	return nil, hint(errors.New(p.Error), "%s", p.Do)
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
