package ui_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"crypto/sha512"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/runtime"
)

// The accessibility checker, as the registry signs its file.
const (
	axeVersion   = "4.11.1"
	axeIntegrity = "BASOg+YwO2C+346x3LZOeoovTIoTrRqEsqMa6fmfAV0P+U9mFr9NsyOEpiYvFjbc64NMrSswhV50WdXzdb/Z5A=="
)

// axe is the script of the checker, fetched once into the user's cache.
var axe = sync.OnceValues(func() (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	dir := filepath.Join(cache, "readback-test")
	file := filepath.Join(dir, "axe-core-"+axeVersion+".tgz")
	if script, err := axeFrom(file); err == nil {
		return script, nil
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	fetch := exec.Command("npm", "pack", "axe-core@"+axeVersion, "--pack-destination", dir, "--silent")
	fetch.Dir = dir
	if out, err := fetch.CombinedOutput(); err != nil {
		return "", fmt.Errorf("npm fetches the accessibility checker: %w\n%s\ninstall npm: apt-get install npm", err, out)
	}
	return axeFrom(file)
})

// axeFrom takes the script out of the package, if the package is what it should be.
func axeFrom(file string) (string, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	if sum := sha512.Sum512(data); base64.StdEncoding.EncodeToString(sum[:]) != axeIntegrity {
		return "", fmt.Errorf("%s is not version %s of the checker; delete it", file, axeVersion)
	}
	unzipped, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return "", err
	}
	for files := tar.NewReader(unzipped); ; {
		header, err := files.Next()
		if err != nil {
			return "", errors.Join(errors.New("the checker's package has no script"), err)
		}
		if header.Name == "package/axe.min.js" {
			script, err := io.ReadAll(files)
			return string(script), err
		}
	}
}

// breach is a rule of WCAG that a page breaks.
type breach struct {
	ID, Impact, Help string
	Nodes            []struct {
		HTML           string
		FailureSummary string
	}
}

// What the checker is asked: the rules of WCAG 2.2 to level AA with the smallest target
// size, which it leaves out by itself; or the contrast alone.
const (
	everyRule = `{ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], rules: { "target-size": { enabled: true } } }`
	contrast  = `{ runOnly: { type: "rule", values: ["color-contrast"] } }`
)

// checkAccess fails for each serious or critical breach of the page as it is shown.
func checkAccess(t *testing.T, p *tab, rules string) {
	t.Helper()
	script, err := axe()
	if err != nil {
		t.Fatal(err)
	}
	if !eval[bool](p, "Boolean(globalThis.axe)") {
		if r := call(p, runtime.Evaluate, runtime.EvaluateParams{Expression: script}); r.ExceptionDetails != nil {
			t.Fatalf("the checker does not run: %s", r.ExceptionDetails.Text)
		}
	}
	report := eval[string](p, `axe.run(`+rules+`).then((r) => JSON.stringify({ breaches: r.violations, passed: r.passes.length }))`)
	var found struct {
		Breaches []breach
		Passed   int
	}
	if err := json.Unmarshal([]byte(report), &found); err != nil {
		t.Fatal(err)
	}
	if found.Passed == 0 {
		t.Errorf("the checker found nothing to check by %s", rules)
	}
	for _, b := range found.Breaches {
		text := fmt.Sprintf("%s: %s", b.ID, b.Help)
		for _, n := range b.Nodes {
			text += "\n" + n.HTML + "\n" + n.FailureSummary
		}
		if b.Impact == "serious" || b.Impact == "critical" {
			t.Error(text)
		} else {
			t.Log(text)
		}
	}
}
