package ui_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor/floortest"
)

// typed types characters and ends with Enter or Tab ("\n", "\t", in the text), each the given time after
// the one before by the clock of the keyboard: how slow this machine is has no say in it.
func (p *tab) typed(text string, gap time.Duration) {
	p.t.Helper()
	gaps := make([]time.Duration, len([]rune(text)))
	for i := range gaps {
		gaps[i] = gap
	}
	p.typedUnevenly(text, gaps)
}

// typedUnevenly is [tab.typed] with the time before each key.
func (p *tab) typedUnevenly(text string, gaps []time.Duration) {
	p.t.Helper()
	at := time.Now()
	if at.Before(p.typing) {
		at = p.typing
	}
	defer func() { p.typing = at }()
	for i, r := range []rune(text) {
		at = at.Add(gaps[i])
		down := input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: string(r), Text: string(r), Timestamp: since(at)}
		switch r {
		case '\n':
			down.Key, down.Code, down.Text, down.WindowsVirtualKeyCode = "Enter", "Enter", "\r", 13
		case '\t':
			down.Key, down.Code, down.Text, down.WindowsVirtualKeyCode = "Tab", "Tab", "", 9
		case '+':
			shift := input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: "Shift", Code: "ShiftLeft", WindowsVirtualKeyCode: 16, Timestamp: since(at)}
			call(p, input.DispatchKeyEvent, shift)
		}
		call(p, input.DispatchKeyEvent, down)
		up := down
		up.Type, up.Text = input.DispatchKeyEventTypeKeyUp, ""
		call(p, input.DispatchKeyEvent, up)
	}
}

func since(t time.Time) input.TimeSinceEpoch {
	return input.TimeSinceEpoch(float64(t.UnixMicro()) / 1e6)
}

const burst = 8 * time.Millisecond

// sent types as a gauge does and waits for the answer.
func (p *tab) sent(text string) string {
	p.t.Helper()
	p.typed(text+"\n", burst)
	p.await(settled(text))
	return eval[string](p, `document.getElementById("slab").dataset.word`)
}

// onGauge holds while the sheet shows that the gauge is on a place; "" for none.
func onGauge(where string) string {
	if where == "" {
		return `document.getElementById("gauge").hidden`
	}
	return fmt.Sprintf(`!document.getElementById("gauge").hidden && document.getElementById("gauge-where").innerText === %q`, where)
}

func (p *tab) inField() string {
	p.t.Helper()
	return eval[string](p, `document.getElementById("field").value`)
}

// fromGauge lists the texts of the notes of a job that were kept as sent by a gauge.
func (s *shop) fromGauge(job string) (texts []string) {
	s.t.Helper()
	entries, err := s.store.Entries(s.t.Context(), job, 0, 1000)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, e := range entries {
		if e.Utterance != nil && e.Utterance.Gauge != nil && e.Utterance.Gauge.Do == "sent" {
			texts = append(texts, e.Text)
		}
	}
	return texts
}

// readingsOf gives callout, place, value and unit of what a job has recorded, in the order of the work.
func (p *tab) readingsOf(job string) (out []string) {
	p.t.Helper()
	var state struct {
		Callouts []struct {
			ID     string
			Places []struct {
				At      map[string]any
				Reading *struct{ Value, Unit, How string }
			}
		}
	}
	body := eval[string](p, fmt.Sprintf(`fetch("/api/jobs/%s").then((r) => r.text())`, job))
	if err := json.Unmarshal([]byte(body), &state); err != nil {
		p.t.Fatal(err)
	}
	for _, c := range state.Callouts {
		for _, place := range c.Places {
			if r := place.Reading; r != nil && r.How != "" {
				out = append(out, fmt.Sprintf("%s %v %s %s %s", c.ID, place.At, r.Value, r.Unit, r.How))
			}
		}
	}
	return out
}

// A list is worked down by the gauge alone, whatever has the focus, and is still there after a reload.
func TestGaugeWorksDownAList(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	if word := p.sent("48.5"); word != "unclear" {
		t.Errorf("a number with nothing chosen is %q", word)
	}
	p.say("gauge on collar nuts from stage one")
	p.await(onGauge("Collar nut one"))
	p.shoot("gauge-on")
	if word := p.sent("48.0"); word != "in" {
		t.Errorf("a number in limits is %q", word)
	}
	p.await(onGauge("Collar nut two"))
	eval[bool](p, `(document.getElementById("who-change").focus(), true)`) // its Enter would open the form for handing over
	if word := p.sent("+47,90 Nm"); word != "in" || eval[bool](p, `Boolean(document.querySelector("dialog[open]"))`) {
		t.Errorf("a number with the focus on a button is %q", word)
	}
	p.await(onGauge("Collar nut three"))
	if on := eval[string](p, `document.activeElement.id`); on != "who-change" {
		t.Errorf("the focus has gone to %q", on)
	}
	p.do("come again", chromedp.Reload())
	p.await(drawn + " && " + onGauge("Collar nut three"))
	p.typed("0047.95\t", burst)
	p.await(settled("0047.95"))
	p.await(onGauge("Collar nut four"))
	p.say("scratch that")
	p.await(onGauge("Collar nut three"))
	eval[bool](p, `(document.getElementById("gauge-off").click(), true)`)
	p.await(onGauge(""))
	want := []string{"collar_nut_torque map[stage:1] 48.0 N.m gauge", "collar_nut_torque map[stage:2] 47.90 N.m gauge"}
	if diff := cmp.Diff(want, p.readingsOf("MW-1041")); diff != "" {
		t.Errorf("readings (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"48.5", "48.0", "+47,90 Nm", "0047.95"}, s.fromGauge("MW-1041")); diff != "" {
		t.Errorf("kept as sent by a gauge (-want +got):\n%s", diff)
	}
	if list := p.text("#notes"); !strings.Contains(list, "from a gauge") {
		t.Error("the list does not say what came from a gauge")
	}
}

// What a hand has begun to type stays as it is, with its cursor; the reading is taken all the same.
func TestABurstDoesNotMixIntoText(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.say("gauge on collar nuts")
	p.await(onGauge("Collar nut one"))
	p.write("thrust washer scred")
	eval[bool](p, `(document.getElementById("field").setSelectionRange(16, 17), true)`)
	p.typed("48.1\n", burst)
	p.await(settled("48.1"))
	if got := p.inField(); got != "thrust washer scred" {
		t.Errorf("the field holds %q", got)
	}
	if got := eval[[]int](p, `((f) => [f.selectionStart, f.selectionEnd])(document.getElementById("field"))`); got[0] != 16 || got[1] != 17 {
		t.Errorf("what was marked is now %v", got)
	}
	eval[bool](p, `(document.getElementById("field").value = "", true)`)
	p.typed("nut ", 130*time.Millisecond)
	p.typedUnevenly("48.2\n", []time.Duration{200 * time.Millisecond, burst, burst, burst, 150 * time.Millisecond}) // its Enter comes late
	p.await(settled("48.2"))
	if got := p.inField(); got != "nut " {
		t.Errorf("the field holds %q", got)
	}
	p.typedUnevenly("48.3", []time.Duration{200 * time.Millisecond, burst, burst, burst}) // and now not at all
	p.await(`document.getElementById("hint").innerText.includes("without an Enter")`)
	if got := p.inField(); got != "nut " {
		t.Errorf("the field holds %q", got)
	}
	eval[bool](p, `(document.getElementById("who-change").click(), true)`)
	p.await(`document.querySelector("dialog[open]")`)
	p.write("In")
	p.typed("48.4\n", burst)
	p.await(`document.getElementById("hint").innerText.includes("while a form was open")`)
	if got := eval[string](p, `document.getElementById("handover-name").value`); got != "In" || !eval[bool](p, `Boolean(document.querySelector("dialog[open]"))`) {
		t.Errorf("the form holds %q", got)
	}
	if diff := cmp.Diff([]string{"48.1", "48.2"}, s.fromGauge("MW-1041")); diff != "" {
		t.Errorf("kept (-want +got):\n%s", diff)
	}
}

// A hand is none, however fast; what is neither is asked back, and nothing is kept of it.
func TestAHandIsNoGauge(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.say("gauge on collar nuts")
	p.await(onGauge("Collar nut one"))
	p.typed("build spacer 64 mm\n", 70*time.Millisecond)
	p.await(settled("build spacer 64 mm"))
	p.typedUnevenly("48\n", []time.Duration{0, 35 * time.Millisecond, 110 * time.Millisecond}) // two fingers rolled
	p.await(settled("48"))
	p.await(onGauge("Collar nut one"))
	if n := len(s.fromGauge("MW-1041")); n != 0 {
		t.Errorf("%d notes of a hand are kept as sent by a gauge", n)
	}
	before := len(s.kept("MW-1041"))
	p.typed("48\n", 50*time.Millisecond) // too even for a hand, too slow for a gauge
	p.await(`document.getElementById("hint").innerText.includes("Did a gauge send 48?")`)
	p.shoot("gauge-unsure")
	if got := p.inField(); got != "48" || len(s.kept("MW-1041")) != before {
		t.Errorf("the field holds %q, %d notes kept, were %d", got, len(s.kept("MW-1041")), before)
	}
	p.typed("48.0\n", burst) // measured again
	p.await(settled("48.0"))
	if got := p.inField(); got != "" {
		t.Errorf("the field holds %q", got)
	}
	p.await(onGauge("Collar nut two"))
	before = len(s.kept("MW-1041"))
	for _, junk := range []string{"MW-1041-77", "4006381333931", "48.0.5", "A48"} {
		p.typed(junk+"\n", burst)
		p.await(fmt.Sprintf(`document.getElementById("hint").innerText.includes(%q)`, junk))
		if got := p.inField(); got != "" || len(s.kept("MW-1041")) != before {
			t.Errorf("%s: the field holds %q, %d notes kept, were %d", junk, got, len(s.kept("MW-1041")), before)
		}
	}
	p.typed("collar nut two 47.9 nm\n", burst) // something types whole words for somebody
	p.await(settled("collar nut two 47.9 nm"))
}

// The same number twice at once is asked about, and a yes is the second.
func TestTheSameTwiceAtOnceIsAsked(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.say("gauge on collar nuts")
	p.await(onGauge("Collar nut one"))
	p.typed("48.0\n48.0\n", burst)
	p.await(`document.getElementById("slab").dataset.word === "unclear" && document.getElementById("slab-say").innerText.includes("Is the second collar nut two?")`)
	p.await(onGauge("Collar nut two"))
	p.say("yes")
	p.await(onGauge("Collar nut three"))
	if n := len(p.readingsOf("MW-1041")); n != 2 {
		t.Errorf("%d readings", n)
	}
}

// With the line down the numbers are kept, and land in their order when it is back.
func TestGaugeWithTheLineDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	p.say("gauge on collar nuts")
	p.await(onGauge("Collar nut one"))
	s.line.cut()
	p.await(`document.getElementById("line").dataset.line === "down"`)
	p.await(`document.getElementById("gauge-tag").innerText === "Gauge was on"`)
	for _, text := range []string{"48.0", "48.1", "47.9"} {
		p.typed(text+"\n", burst)
	}
	p.await(`document.getElementById("line").dataset.waiting === "3"`)
	s.line.mend()
	p.await(onGauge("Collar nut four") + ` && document.getElementById("gauge-tag").innerText === "Gauge on"`)
	if got := len(p.readingsOf("MW-1041")); got != 3 {
		t.Errorf("%d readings", got)
	}
}

// What the gauge is on is in sight at every size, with all else.
func TestTheGaugeFits(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floortest.Register(t), ears())
	p := s.sheet(tablet)
	p.say("gauge on collar nuts from stage two")
	p.await(onGauge("Collar nut two"))
	p.sent("48.2")
	p.await(onGauge("Collar nut three"))
	for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
		p.show(screen, "light")
		p.shoot("gauge-light")
		p.inSight("#gauge-where", "#gauge-off")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
	p.show(tablet, "dark")
	p.shoot("gauge-dark")
	checkAccess(t, p, contrast)
}
