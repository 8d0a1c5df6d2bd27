package floor_test

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"pgregory.net/rapid"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
)

// clock is one that can be set, beside one that cannot.
type clock struct {
	wall time.Time
	own  time.Duration
}

func (c *clock) pass(d time.Duration) { c.wall, c.own = c.wall.Add(d), c.own+d }

func (c *clock) clocks() floor.Clocks {
	return floor.Clocks{Wall: func() time.Time { return c.wall }, Own: func() time.Duration { return c.own }}
}

func (c *clock) floor(t testing.TB, d *disk) (*floor.Floor, *floor.ClockWatch) {
	t.Helper()
	f := floor.New(floor.Config{Reader: d, Writer: writer{d}, Specs: floortest.Specs(t), Program: "test", Log: zerolog.Nop(), Now: func() time.Time { return c.wall }})
	w := f.ClockWatch(c.clocks())
	return f, w
}

func entriesOf(t testing.TB, d *disk, job string) []journal.Entry {
	t.Helper()
	all, err := d.Store.Entries(t.Context(), job, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func lookAt(t testing.TB, w *floor.ClockWatch) {
	t.Helper()
	if err := w.Look(t.Context()); err != nil {
		t.Fatal(err)
	}
}

func TestJumpsOfTheClockAreEntries(t *testing.T) {
	d, c := newDisk(), &clock{wall: journaltest.Start}
	f, w := c.floor(t, d)
	lookAt(t, w)
	openDemo(t, f, "MW-1040")
	c.pass(20 * 24 * time.Hour)
	openDemo(t, f, "MW-1041")
	openDemo(t, f, "MW-1042")
	over := sit(t, f, "MW-1042", "bench 1", "Ines")
	say(t, over, 1, "handed over")
	if state, err := f.State(t.Context(), "MW-1042"); err != nil || state.Over == nil {
		t.Fatalf("the job is not handed over: %v", err)
	}
	over.Leave()
	lookAt(t, w)

	for _, tt := range []struct {
		set  time.Duration
		how  string // "" for no jump
		says string
	}{
		{-2 * time.Second, "", ""},
		{2 * time.Second, "", ""},
		{-time.Hour, wire.ClockBack, "The server's clock was set back by 1h0m0s: it showed 2031-"},
		{3 * 24 * time.Hour, wire.ClockAhead, "was set ahead by 3 days, or the machine slept"},
	} {
		c.pass(time.Second)
		before := len(entriesOf(t, d, "MW-1041"))
		should := c.wall
		c.wall = c.wall.Add(tt.set)
		lookAt(t, w)
		lookAt(t, w)
		got := entriesOf(t, d, "MW-1041")[before:]
		if tt.how == "" {
			if len(got) > 0 {
				t.Errorf("%v: %+v", tt.set, got)
			}
			continue
		}
		var jump wire.ClockJump
		if len(got) != 1 || got[0].Kind != journal.Clock || json.Unmarshal(got[0].Answer, &jump) != nil {
			t.Fatalf("%v: %+v", tt.set, got)
		}
		if jump.How != tt.how || !jump.Was.Equal(should) || !jump.Is.Equal(c.wall) || !strings.Contains(jump.Say, tt.says) || got[0].Text != jump.Say {
			t.Errorf("%v: %+v", tt.set, jump)
		}
	}
	if n := len(entriesOf(t, d, "MW-1040")); n != 1 {
		t.Errorf("a job of long ago has %d entries", n)
	}
	if all := entriesOf(t, d, "MW-1042"); all[len(all)-1].Kind == journal.Clock {
		t.Error("a job that was handed over is told of a jump")
	}

	// A disk that fails: it is written down once, and later.
	c.wall = c.wall.Add(-time.Hour)
	d.failWith(journal.ErrFull)
	if err := w.Look(t.Context()); !errors.Is(err, journal.ErrFull) {
		t.Errorf("on a full disk: %v", err)
	}
	d.failWith(nil)
	before := len(entriesOf(t, d, "MW-1041"))
	lookAt(t, w)
	lookAt(t, w)
	if n := len(entriesOf(t, d, "MW-1041")) - before; n != 1 {
		t.Errorf("with room again %d entries are kept", n)
	}

	// A start whose clock is behind what is kept.
	c.wall = c.wall.Add(-40 * 24 * time.Hour)
	_, w = c.floor(t, d)
	lookAt(t, w)
	lookAt(t, w)
	for _, job := range []string{"MW-1040", "MW-1041", "MW-1042"} {
		all := entriesOf(t, d, job)
		last := all[len(all)-1]
		if last.Kind != journal.Clock || !strings.Contains(last.Text, "When the server started its clock showed") || all[len(all)-2].Text == last.Text {
			t.Errorf("job %s: the last entry is %+v", job, last)
		}
	}
}

// Whatever the clock does, every note is kept and answered in its order, the state is that of the notes alone, and
// each jump is in the record once.
func TestNoNoteIsLostToTheClock(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		d, c := newDisk(), &clock{wall: journaltest.Start}
		f, w := c.floor(t, d)
		openDemo(t, f, "MW-1041")
		lookAt(t, w)
		seat := sit(t, f, "MW-1041", "bench 1", "Ines")
		jumps, said, told := 0, []string{}, 0
		for range rapid.IntRange(1, 25).Draw(rt, "steps") {
			c.pass(time.Duration(rapid.IntRange(0, 5000).Draw(rt, "ms")) * time.Millisecond)
			switch rapid.IntRange(0, 2).Draw(rt, "step") {
			case 0:
				off := time.Duration(rapid.Int64Range(-400*24*3600, 400*24*3600).Draw(rt, "off")) * time.Second
				c.wall = c.wall.Add(off)
				if off.Abs() > 3*time.Second {
					jumps++
				}
			case 1:
				text := rapid.SampledFrom(sayings).Draw(rt, "text")
				a, err := seat.Say(t.Context(), noteOf(journaltest.ID(len(said)), text))
				if err != nil {
					rt.Fatalf("%q is refused: %v", text, err)
				}
				if want := int64(2 + len(said) + told); a.Seq != want {
					rt.Fatalf("%q has seq %d, want %d", text, a.Seq, want)
				}
				said = append(said, journaltest.ID(len(said)))
			}
			lookAt(t, w)
			told = 0
			for _, e := range entriesOf(t, d, "MW-1041") {
				if e.Kind == journal.Clock {
					told++
				}
			}
			if told != jumps {
				rt.Fatalf("%d jumps are in the record, there were %d", told, jumps)
			}
		}
		notes := []string{}
		for i, e := range entriesOf(t, d, "MW-1041") {
			if e.Seq != int64(i+1) {
				rt.Fatalf("seq %d stands at %d", e.Seq, i+1)
			}
			if e.Kind == journal.Note {
				notes = append(notes, e.ID)
			}
		}
		if strings.Join(notes, " ") != strings.Join(said, " ") {
			rt.Fatalf("kept %v, said %v", notes, said)
		}
		live := stateOf(t, f, "MW-1041")
		again, _ := c.floor(t, d)
		if folded := stateOf(t, again, "MW-1041"); folded != live {
			rt.Fatalf("after a start the state is\n%s\nand was\n%s", folded, live)
		}
	})
}

// picky refuses what is written to one job.
type picky struct {
	writer
	job *string
}

func (p picky) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	if e.Job == *p.job {
		return journal.Result{}, journal.ErrFull
	}
	return p.writer.Append(ctx, e)
}

// A job that cannot be written to keeps no other from being told of a jump, and is told when it can be.
func TestAJumpIsToldPastAJobThatCannotBe(t *testing.T) {
	d, c, none := newDisk(), &clock{wall: journaltest.Start}, ""
	f, _ := c.floor(t, d)
	f.Writer = picky{writer{d}, &none}
	w := f.ClockWatch(c.clocks())
	for _, job := range []string{"MW-1040", "MW-1041", "MW-1042"} {
		openDemo(t, f, job)
	}
	lookAt(t, w)
	none = "MW-1040"
	c.wall = c.wall.Add(-time.Hour)
	if err := w.Look(t.Context()); !errors.Is(err, journal.ErrFull) {
		t.Fatalf("the job that cannot be told: %v", err)
	}
	for i, job := range []string{"MW-1040", "MW-1041", "MW-1042"} {
		if n := len(entriesOf(t, d, job)); n != 1+min(i, 1) {
			t.Errorf("job %s has %d entries", job, n)
		}
	}
	none = ""
	lookAt(t, w)
	lookAt(t, w)
	if n := len(entriesOf(t, d, "MW-1040")); n != 2 {
		t.Errorf("MW-1040 has %d entries", n)
	}
}
