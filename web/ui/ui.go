// Package ui is what people see in a browser: the bench sheet, the list of jobs and the
// search, as plain HTML, CSS and JavaScript in the program itself. It knows nothing of
// jobs or notes: a page fetches those over the routes of "The wire".
//
// Start reading at [Handler]. The bench sheet's script begins in assets/sheet.js.
package ui

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
)

//go:embed pages assets
var files embed.FS

// Policy is the content security policy of every page: scripts, styles and connections
// from this server alone, and none written into the page.
const Policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self'; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// Known reports whether a job exists, so that its page can answer 404 where it does not.
type Known func(ctx context.Context, job string) (bool, error)

// ui is the pages, rendered once.
type ui struct {
	known  Known
	pages  map[string][]byte // by file name
	hash   string            // of all assets: part of their address
	packed map[string][]byte // each asset and page by its name, compressed for the way
	worker []byte
}

// Handler serves GET / (the jobs), /jobs/{id} (the bench sheet), /jobs/{id}/notes/{seq} (how a
// note was read), /search, /wall, /sw.js and
// the assets under a path that holds their hash, which may be kept for a year. With
// known nil every job has a page, and the page itself says if there is no such job.
// An error means that the embedded files do not fit together.
func Handler(known Known) (http.Handler, error) {
	u := &ui{known: known, pages: map[string][]byte{}, packed: map[string][]byte{}}
	if err := u.load(); err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { u.page(w, r, "jobs.html", http.StatusOK) })
	mux.HandleFunc("GET /search", func(w http.ResponseWriter, r *http.Request) { u.page(w, r, "search.html", http.StatusOK) })
	mux.HandleFunc("GET /wall", func(w http.ResponseWriter, r *http.Request) { u.page(w, r, "wall.html", http.StatusOK) })
	mux.HandleFunc("GET /jobs/{$}", func(w http.ResponseWriter, r *http.Request) { u.page(w, r, "sheet.html", http.StatusOK) }) // for the service worker
	mux.HandleFunc("GET /jobs/{id}", u.job)
	mux.HandleFunc("GET /jobs/{id}/notes/{seq}", func(w http.ResponseWriter, r *http.Request) { u.page(w, r, "words.html", http.StatusOK) })
	mux.HandleFunc("GET /sw.js", u.serviceWorker)
	mux.HandleFunc("GET /assets/{hash}/{name}", u.asset)
	return mux, nil
}

// load hashes the assets and renders the pages with their addresses.
func (u *ui) load() error {
	names, err := fs.Glob(files, "assets/*")
	if err != nil {
		return fmt.Errorf("list assets: %w", err)
	}
	sum := sha256.New()
	for _, name := range names { // in the order of their names
		data, err := files.ReadFile(name)
		if err != nil {
			return fmt.Errorf("read asset: %w", err)
		}
		fmt.Fprintf(sum, "%s %d\n", name, len(data))
		sum.Write(data)
		if u.packed[path.Base(name)], err = pack(data); err != nil {
			return fmt.Errorf("compress asset: %w", err)
		}
	}
	u.hash = hex.EncodeToString(sum.Sum(nil))[:16]
	if err := u.render(); err != nil {
		return err
	}
	return u.renderWorker(names)
}

func pack(data []byte) ([]byte, error) {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(data); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func (u *ui) render() error {
	funcs := template.FuncMap{"asset": u.address, "modules": modules}
	for _, name := range []string{"jobs.html", "sheet.html", "search.html", "words.html", "wall.html"} {
		t, err := template.New(name).Funcs(funcs).ParseFS(files, "pages/frame.html", "pages/talk.html", "pages/"+name)
		if err != nil {
			return fmt.Errorf("read page: %w", err)
		}
		var b bytes.Buffer
		if err := t.ExecuteTemplate(&b, "frame.html", nil); err != nil {
			return fmt.Errorf("render page: %w", err)
		}
		u.pages[name] = b.Bytes()
		if u.packed[name], err = pack(b.Bytes()); err != nil {
			return fmt.Errorf("compress page: %w", err)
		}
	}
	return nil
}

// atServer are files of pages alone that show what the server has: with the line down there is nothing to show, and
// a tablet at a bench need not fetch them.
var atServer = []string{"wall.js", "wallline.js", "wall.css", "drift.css", "lead.css", "counts.css"}

// renderWorker fills in what the service worker keeps, so that a tablet that is reloaded
// with the line down still shows its page and its waiting notes.
func (u *ui) renderWorker(names []string) error {
	src, err := files.ReadFile("pages/sw.js")
	if err != nil {
		return fmt.Errorf("read worker: %w", err)
	}
	var list []string
	for _, name := range names {
		if slices.Contains(atServer, path.Base(name)) {
			continue
		}
		list = append(list, `"`+u.address(path.Base(name))+`"`)
	}
	fill := strings.NewReplacer("{{hash}}", u.hash, "{{assets}}", strings.Join(list, ",\n  "))
	u.worker = []byte(fill.Replace(string(src)))
	return nil
}

// imported finds the modules that a script imports.
var imported = regexp.MustCompile(`(?m)^import [^;]*"\./([a-z]+\.js)";`)

// modules lists what a script imports, and what that imports in turn, so that a page can
// fetch all of it at once rather than one layer after the other.
func modules(script string) ([]string, error) {
	var all []string
	for todo := []string{script}; len(todo) > 0; todo = todo[1:] {
		src, err := files.ReadFile("assets/" + todo[0])
		if err != nil {
			return nil, fmt.Errorf("read module: %w", err)
		}
		for _, m := range imported.FindAllSubmatch(src, -1) {
			if name := string(m[1]); name != script && !slices.Contains(all, name) {
				all, todo = append(all, name), append(todo, name)
			}
		}
	}
	return all, nil
}

// address returns where an asset is served.
func (u *ui) address(name string) string { return "/assets/" + u.hash + "/" + name }

func (u *ui) job(w http.ResponseWriter, r *http.Request) {
	status := http.StatusOK
	if u.known != nil {
		ok, err := u.known(r.Context(), r.PathValue("id"))
		switch {
		case err != nil:
			status = http.StatusInternalServerError
		case !ok:
			status = http.StatusNotFound
		}
	}
	u.page(w, r, "sheet.html", status)
}

func (u *ui) page(w http.ResponseWriter, r *http.Request, name string, status int) {
	h := w.Header()
	Secure(h)
	h.Set("Permissions-Policy", permissions(name))
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-cache")
	u.send(w, r, name, u.pages[name], status)
}

// send writes a file, compressed if the reader takes that.
func (u *ui) send(w http.ResponseWriter, r *http.Request, name string, data []byte, status int) {
	w.Header().Set("Vary", "Accept-Encoding")
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		data = u.packed[name]
	}
	w.WriteHeader(status)
	w.Write(data) //nolint:errcheck,gosec // the reader has left; the data are embedded
}

// permissions gives the camera to the sheet alone, the microphone to the pages that are spoken to, and to
// no page the place where it is.
func permissions(page string) string {
	switch page {
	case "sheet.html":
		return "camera=(self), microphone=(self), geolocation=()"
	case "jobs.html":
		return "camera=(), microphone=(self), geolocation=()"
	}
	return "camera=(), microphone=(), geolocation=()"
}

func (u *ui) serviceWorker(w http.ResponseWriter, _ *http.Request) {
	h := w.Header()
	Secure(h)
	h.Set("Content-Type", "text/javascript; charset=utf-8")
	h.Set("Cache-Control", "no-cache")
	w.Write(u.worker) //nolint:errcheck // the reader has left
}

// asset serves a file under the hash of all of them. Another hash is that of another
// version of the program, whose pages would not fit.
func (u *ui) asset(w http.ResponseWriter, r *http.Request) {
	data, err := files.ReadFile("assets/" + r.PathValue("name"))
	if err != nil || r.PathValue("hash") != u.hash {
		http.Error(w, "there is no such file in this version; reload the page", http.StatusNotFound)
		return
	}
	h := w.Header()
	Secure(h)
	h.Set("Content-Security-Policy", "default-src 'none'") // no page: a short one, since there are many files
	h.Del("Permissions-Policy")
	h.Set("Content-Type", contentType(r.PathValue("name")))
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	u.send(w, r, r.PathValue("name"), data, http.StatusOK)
}

// Secure sets the headers that every page has: [Policy], and that nothing of it leaks to others.
func Secure(h http.Header) {
	h.Set("Content-Security-Policy", Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
}

// contentType does not ask the machine, whose tables differ.
func contentType(name string) string {
	switch path.Ext(name) {
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	}
	return "application/octet-stream"
}
