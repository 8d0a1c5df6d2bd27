// Package guide is the guide for authors of build specs: how to write a first one, and a
// page for each kind of rule and for each other thing that a spec holds. Its examples are
// files that are loaded, and its answers are those of the program: a page replays its
// notes when it is made.
//
// Start reading at [Handler]. The text of the rules is in topics.go, that of all else in
// holds.go, that of the first spec in pages/first.html.
package guide

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"sync"

	"readback/web/ui"
)

//go:embed pages examples guide.css
var files embed.FS

// guide is the pages, each rendered when it is first asked for: a server starts without
// replaying what nobody reads.
type guide struct {
	pages map[string]func() ([]byte, error) // by path
	style []byte
	at    string // path of the style, with its hash
}

// Handler serves /guide, which is the first spec, and the pages of [lists]. It takes the
// assets of [ui.Handler] as given. An error means that the embedded files do not fit
// together.
func Handler() (http.Handler, error) {
	g, err := newGuide()
	if err != nil {
		return nil, fmt.Errorf("guide: %w", err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /guide", g.page)
	mux.HandleFunc("GET /guide/{$}", func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/guide", http.StatusMovedPermanently)
	})
	for _, l := range lists {
		mux.HandleFunc("GET "+l.Path+"{name}", g.page)
	}
	mux.HandleFunc("GET "+g.at, g.sheet)
	return mux, nil
}

func newGuide() (*guide, error) {
	style, err := files.ReadFile("guide.css")
	if err != nil {
		return nil, fmt.Errorf("read style: %w", err)
	}
	sum := sha256.Sum256(style)
	g := &guide{pages: map[string]func() ([]byte, error){}, style: style, at: "/guide/" + hex.EncodeToString(sum[:8]) + ".css"}
	if err := g.add("first.html", view{Path: "/guide"}); err != nil {
		return nil, err
	}
	for _, l := range lists {
		for i := range l.Topics {
			if err := g.add("topic.html", view{Path: l.Path + l.Topics[i].Name, Topic: &l.Topics[i]}); err != nil {
				return nil, err
			}
		}
	}
	return g, nil
}

// view is what a page is rendered with.
type view struct {
	Path  string
	Topic *topic // nil on the first page
}

// Lists lists all other pages, to stand beside the text.
func (view) Lists() []list { return lists }

// add reads the template of a page.
func (g *guide) add(name string, v view) error {
	funcs := template.FuncMap{
		"asset": ui.Address, "style": func() string { return g.at }, "spans": spans,
		"yaml": source, "register": register, "label": label, "notes": replay, "today": func() string { return today },
	}
	t, err := template.New(name).Funcs(funcs).ParseFS(files, "pages/frame.html", "pages/"+name)
	if err != nil {
		return fmt.Errorf("read page: %w", err)
	}
	g.pages[v.Path] = sync.OnceValues(func() ([]byte, error) {
		var b bytes.Buffer
		if err := t.ExecuteTemplate(&b, "frame.html", v); err != nil {
			return nil, fmt.Errorf("render page: %w", err)
		}
		return b.Bytes(), nil
	})
	return nil
}

func (g *guide) page(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	ui.Secure(h)
	h.Set("Cache-Control", "no-cache")
	render, ok := g.pages[r.URL.Path]
	if !ok {
		http.Error(w, "the guide has no such page; it begins at /guide", http.StatusNotFound)
		return
	}
	page, err := render()
	if err != nil { // an example that does not hold, which the tests do not let pass
		http.Error(w, "the guide cannot show this page: "+err.Error(), http.StatusInternalServerError)
		return
	}
	h.Set("Content-Type", "text/html; charset=utf-8")
	w.Write(page) //nolint:errcheck // the reader has left
}

func (g *guide) sheet(w http.ResponseWriter, _ *http.Request) {
	h := w.Header()
	h.Set("Content-Type", "text/css; charset=utf-8")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	w.Write(g.style) //nolint:errcheck // the reader has left
}

// span is a run of a text.
type span struct {
	Text string
	Code bool // as it is written in a file
}

// spans cuts a text at its backquotes.
func spans(text string) (out []span) {
	for i, run := range strings.Split(text, "`") {
		if run != "" {
			out = append(out, span{run, i%2 == 1})
		}
	}
	return out
}

// label says what a file is, for those who hear the page.
func label(text string) string {
	if strings.HasPrefix(text, "shop:") {
		return "A register file"
	}
	return "A spec file"
}
