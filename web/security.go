package web

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"readback/capture/wire"
)

// policy is for what is no page: nothing of it is ever shown or run.
const policy = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ErrAddress wraps why a server may not listen at an address.
var ErrAddress = errors.New("address")

// CheckListen refuses every address but a loopback one: there is no sign-in and no TLS, so
// that anybody in reach could write into the record.
func CheckListen(address string) error {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("%w: %s is not host:port, such as 127.0.0.1:7425", ErrAddress, address)
	}
	if !loopback(host) {
		return fmt.Errorf("%w: %s is open to others, and this server has neither TLS nor sign-in; listen on 127.0.0.1, [::1] or localhost", ErrAddress, address)
	}
	return nil
}

// loopback reports whether host is a name of this machine for itself.
func loopback(host string) bool {
	switch strings.ToLower(host) {
	case "localhost", "127.0.0.1", "::1":
		return true
	}
	return false
}

// guard lets through what comes from this machine and from pages of this server, and sets
// the headers that hold everywhere. The Host is checked against a foreign name that was
// made to lead here, the Origin against foreign pages.
func guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		secure(w.Header())
		if !loopback(hostOf(r.Host)) {
			WriteProblem(w, http.StatusForbidden, wire.Problem{
				Error: fmt.Sprintf("the host %.100q is not this server's", r.Host), Do: "use localhost, 127.0.0.1 or [::1] in the address",
			})
			return
		}
		if guarded(r) && !sameOrigin(r) {
			WriteProblem(w, http.StatusForbidden, wire.Problem{
				Error: "the request comes from another site", Do: "use the pages of this server",
			})
			return
		}
		next.ServeHTTP(w, r)
	})
}

func secure(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
}

// guarded reports what changes something, opens a websocket, or runs a program.
func guarded(r *http.Request) bool {
	return r.Method != http.MethodGet && r.Method != http.MethodHead || slices.Contains([]string{"/ws", "/ws/open", "/ws/wall", "/api/say"}, r.URL.Path)
}

// sameOrigin reports whether the request comes from a page of this server, or from no
// page at all. A foreign page may fetch a sound or a picture without an Origin; then the
// browser says in Sec-Fetch-Site where the page is from.
func sameOrigin(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" {
		return false
	}
	origins := r.Header.Values("Origin")
	if len(origins) == 0 {
		return true
	}
	u, err := url.Parse(origins[0])
	return len(origins) == 1 && err == nil && (u.Scheme == "http" || u.Scheme == "https") && strings.EqualFold(u.Host, r.Host)
}

// hostOf returns the host of a Host header without its port and brackets.
func hostOf(header string) string {
	if host, _, err := net.SplitHostPort(header); err == nil {
		return host
	}
	return strings.TrimSuffix(strings.TrimPrefix(header, "["), "]")
}
