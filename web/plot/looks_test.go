package plot_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// crowded names what of a chart leaves its picture, and texts that lie on each other.
const crowded = `[...document.querySelectorAll("svg")].flatMap(svg => {
	const frame = svg.viewBox.baseVal, wrong = [];
	const boxes = [...svg.querySelectorAll("text, path, line")].map(e => [e, e.getBBox()]);
	for (const [e, b] of boxes)
		if (b.x < -1 || b.y < -1 || b.x + b.width > frame.width + 1 || b.y + b.height > frame.height + 1)
			wrong.push(svg.parentNode.id + ": leaves the picture: " + (e.textContent || e.outerHTML).slice(0, 80));
	const texts = boxes.filter(([e]) => e.tagName === "text");
	for (const [i, [e, a]] of texts.entries())
		for (const [f, b] of texts.slice(i + 1))
			if (a.x + a.width > b.x + 1 && b.x + b.width > a.x + 1 && a.y + a.height > b.y + 4 && b.y + b.height > a.y + 4)
				wrong.push(svg.parentNode.id + ": " + e.textContent + " lies on " + f.textContent);
	return wrong;
})`

// Nothing leaves its picture, and no words lie on others, in a real browser. With
// READBACK_SHOTS the charts are kept as a picture in that folder.
func TestChartsInABrowser(t *testing.T) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal(err)
		}
		t.Skip("chromium is not installed")
	}
	allocator, stopProcess := chromedp.NewExecAllocator(t.Context(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU)...)
	defer stopProcess()
	browser, stop := chromedp.NewContext(allocator)
	defer stop()

	var b strings.Builder
	b.WriteString(`<!DOCTYPE html><meta charset="utf-8"><title>charts</title>`)
	all := drawn(usual)
	for _, name := range []string{
		"individuals", "ewma", "cusum", "instruments", "capability", "individuals-calm", "individuals-two", "individuals-wild",
		"individuals-long", "individuals-tiny", "ewma-one", "ewma-long", "cusum-long", "capability-at-most", "individuals-huge", "pareto", "pareto-one", "pareto-many",
	} {
		if all[name] == "" {
			t.Fatalf("no chart is called %s", name)
		}
		b.WriteString(`<div id="` + name + `">` + string(all[name]) + `</div>`)
		delete(all, name)
	}
	if len(all) > 0 {
		t.Errorf("%d charts are not looked at", len(all))
	}
	file := filepath.Join(t.TempDir(), "charts.html")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(browser, chromedp.EmulateViewport(800, 600), chromedp.Navigate("file://"+file)); err != nil {
		t.Fatal(err)
	}
	wrong, err := chromedp.Run(browser, chromedp.Evaluate[[]string](crowded))
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
	if dir := os.Getenv("READBACK_SHOTS"); dir != "" {
		if err := shoot(browser, filepath.Join(dir, "charts.png")); err != nil {
			t.Error(err)
		}
	}
}

// shoot keeps a picture of the whole page.
func shoot(ctx context.Context, file string) error {
	shot, err := chromedp.Call(ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{
		Format: page.CaptureScreenshotFormatPng, CaptureBeyondViewport: new(true),
	})
	if err != nil {
		return err
	}
	return os.WriteFile(file, shot.Data, 0o600)
}
