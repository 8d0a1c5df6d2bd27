package wall_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/memory"
	"readback/capture/wall"
	"readback/capture/wire"
)

// shop is a floor whose walls follow its journal. It is made in a bubble, where time is virtual.
type shop struct {
	t      *testing.T
	ctx    context.Context //nolint:containedctx // of the bubble's work
	store  *faulty
	writer *journal.Writer
	floor  *floor.Floor
	hub    *wall.Hub
	looks  atomic.Int64 // at jobs
	torn   atomic.Value // string: a job that cannot be read for now
	notes  int
}

// faulty is a store that can be made to fail as it is read.
type faulty struct {
	*memory.Store
	fails atomic.Bool
}

var errFault = errors.New("the disk does not answer")

func (f *faulty) After(ctx context.Context, at journal.Position, limit int) ([]journal.Entry, error) {
	if f.fails.Load() {
		return nil, errFault
	}
	return f.Store.After(ctx, at, limit)
}

// Bench counts how often a job is looked at, and fails for one that is torn.
func (s *shop) Bench(ctx context.Context, job string) (wire.Bench, error) {
	s.looks.Add(1)
	if s.torn.Load() == job {
		return wire.Bench{}, errFault
	}
	return s.floor.Bench(ctx, job)
}

// inShop runs a test in a shop on a store.
func inShop(t *testing.T, store *memory.Store, test func(s *shop)) {
	synctest.Test(t, func(t *testing.T) {
		specs := floortest.Specs(t)
		ctx, stop := context.WithCancel(t.Context())
		s := &shop{t: t, ctx: ctx, store: &faulty{Store: store}}
		s.writer = journal.NewWriter(store)
		s.floor = floor.New(floor.Config{Reader: store, Writer: s.writer, Specs: specs, Program: "test", Now: time.Now, Log: zerolog.Nop()})
		s.hub = wall.New(wall.Config{Source: s.store, Benches: s, Notice: s.writer.Notice, Now: time.Now, Log: zerolog.Nop()})
		var work errgroup.Group
		work.Go(func() error { return s.writer.Run(ctx) })
		work.Go(func() error { return s.hub.Run(ctx) })
		test(s)
		stop()
		if err := work.Wait(); !errors.Is(err, context.Canceled) {
			t.Errorf("the shop ended with %v", err)
		}
	})
}

func (s *shop) open(job string) {
	s.t.Helper()
	if _, _, err := s.floor.OpenJob(s.ctx, wire.OpenJob{ID: job, Spec: "mr5", Options: wire.Options{"stages": "3"}, Person: "Ines"}); err != nil {
		s.t.Fatal(err)
	}
}

func (s *shop) say(job string, notes ...string) {
	s.t.Helper()
	seat, _, err := s.floor.Sit(s.ctx, job, floor.Speaker{Bench: "bench 1", Person: "Ines"}, func([]byte) {})
	if err != nil {
		s.t.Fatal(err)
	}
	defer seat.Leave()
	for _, text := range notes {
		s.notes++
		if _, err := seat.Say(s.ctx, wire.Note{ID: fmt.Sprintf("01J0%08d%014d", time.Now().Unix()%100000000, s.notes), Text: text}); err != nil {
			s.t.Fatalf("%q: %v", text, err)
		}
	}
}

// screen is a wall as somebody would see it.
type screen struct {
	*wall.Watcher
	t       *testing.T
	benches map[string]wire.Bench
	last    wire.Wall
}

func (s *shop) wall() *screen {
	s.t.Helper()
	w, err := s.hub.Watch(s.ctx)
	if err != nil {
		s.t.Fatal(err)
	}
	v := &screen{w, s.t, nil, wire.Wall{}}
	v.next()
	if !v.last.Whole {
		s.t.Error("a wall that comes does not get all there is")
	}
	return v
}

// next takes the next message.
func (v *screen) next() {
	v.t.Helper()
	m, err := v.Next(v.t.Context())
	if err != nil {
		v.t.Fatal(err)
	}
	if !m.Now.Equal(time.Now()) {
		v.t.Errorf("it is %v and the wall is told %v", time.Now(), m.Now)
	}
	if m.Whole {
		v.benches = map[string]wire.Bench{}
	}
	for _, b := range m.Benches {
		v.benches[b.Job] = b
	}
	for _, job := range m.Gone {
		delete(v.benches, job)
	}
	v.last = m
}

// until takes messages until one tells of a job.
func (v *screen) until(job string) wire.Bench {
	v.t.Helper()
	for {
		v.next()
		if slices.ContainsFunc(v.last.Benches, func(b wire.Bench) bool { return b.Job == job }) {
			return v.benches[job]
		}
	}
}

func (v *screen) shows(want ...string) {
	v.t.Helper()
	var got []string
	for job, b := range v.benches {
		got = append(got, job+" "+b.Stands)
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		v.t.Errorf("the wall shows %q, want %q", got, want)
	}
}

// TestEveryWallIsTold of each change within a fraction of a second, of a stop, of who answers it and of
// its end.
func TestEveryWallIsTold(t *testing.T) {
	inShop(t, memory.New(), func(s *shop) {
		s.open("MW-1041")
		one, two := s.wall(), s.wall()
		defer one.Close()
		defer two.Close()
		one.shows("MW-1041 underway")
		s.say("MW-1041", "build spacer 64 millimetres", "seat is clean", "cut impeller stage one")
		said := time.Now()
		for _, v := range []*screen{one, two} {
			b := v.until("MW-1041")
			if late := time.Since(said); late > time.Second {
				t.Errorf("a stop reaches a wall after %v", late)
			}
			v.shows("MW-1041 stop")
			if b.Last == nil || b.Last.Shown != "64 mm" || b.Last.Verdict != "in" || b.Next == nil || b.Person != "Ines" || b.Bench != "bench 1" || !b.Spoke.Equal(said) {
				t.Errorf("the wall is told %+v", b)
			}
			if f := b.Findings[0]; f.Severity != "stop" || f.Since != 4 || f.Heeded != nil || !f.SinceAt.Equal(said) {
				t.Errorf("the stop is told as %+v", f)
			}
		}
		f := one.benches["MW-1041"].Findings[0]
		time.Sleep(time.Minute)
		heed := wire.Heed{ID: "01J00000000000000000000001", Rule: f.Rule, Callout: f.Callout, At: f.At, Text: f.Text, Since: f.Since, Person: "Tom"}
		if _, known, err := s.floor.Heed(s.ctx, "MW-1041", heed); known || err != nil {
			t.Fatal(known, err)
		}
		for _, v := range []*screen{one, two} {
			b := v.until("MW-1041")
			if h := b.Findings[0].Heeded; h == nil || h.Person != "Tom" || h.Seq != 5 || b.Entries != 5 || !b.Spoke.Equal(said) {
				t.Errorf("an answered stop is told as %+v of %+v", h, b)
			}
		}
		s.say("MW-1041", "full impeller stage one")
		one.until("MW-1041")
		two.until("MW-1041")
		one.shows("MW-1041 underway")
		one.next() // nothing has changed: a sign of life
		if m := one.last; len(m.Benches)+len(m.Gone) != 0 || m.Whole || m.Quiet != 600 {
			t.Errorf("a sign of life is %+v", m)
		}
	})
}

// TestASlowWallHoldsNobodyUp: it gets the newest state once, however much has happened.
func TestASlowWallHoldsNobodyUp(t *testing.T) {
	inShop(t, memory.New(), func(s *shop) {
		s.open("MW-1041")
		slow := s.wall()
		defer slow.Close()
		for i := range 300 {
			s.say("MW-1041", fmt.Sprintf("build spacer %d.%d millimetres", 60+i%9, i%10))
			time.Sleep(100 * time.Millisecond)
		}
		slow.next()
		if b := slow.last.Benches; len(b) != 1 || b[0].Entries != 301 {
			t.Errorf("a wall that did not read gets %d benches: %+v", len(b), b)
		}
		slow.next()
		if len(slow.last.Benches) != 0 {
			t.Errorf("and then %+v", slow.last)
		}
	})
}

// TestNobodyLooks: with no wall no job is looked at, and a wall that comes later sees all.
func TestNobodyLooks(t *testing.T) {
	inShop(t, memory.New(), func(s *shop) {
		s.open("MW-1041")
		s.say("MW-1041", "seat is clean")
		time.Sleep(time.Hour)
		if n := s.looks.Load(); n != 0 {
			t.Errorf("jobs were looked at %d times for nobody", n)
		}
		v := s.wall()
		v.shows("MW-1041 underway")
		v.Close()
		before := s.looks.Load()
		s.open("MW-1042")
		time.Sleep(time.Hour)
		if n := s.looks.Load(); n != before {
			t.Errorf("jobs were looked at %d times after the wall had left", n-before)
		}
		again := s.wall()
		defer again.Close()
		again.shows("MW-1041 underway", "MW-1042 underway")
	})
}

// TestWhoLeavesTheWall: who is silent for days, who has finished, and never a stop that nobody answers.
// The same is found in the journal after a restart.
func TestWhoLeavesTheWall(t *testing.T) {
	store := memory.New()
	inShop(t, store, func(s *shop) {
		for _, job := range []string{"MW-1041", "MW-1042", "MW-1043"} {
			s.open(job)
		}
		s.say("MW-1042", "cut impeller stage one")
		s.say("MW-1043", "handed over")
		v := s.wall()
		defer v.Close()
		v.shows("MW-1041 underway", "MW-1042 stop", "MW-1043 finished")
		for since := time.Now(); time.Since(since) < 13*time.Hour; {
			v.next()
		}
		v.shows("MW-1041 underway", "MW-1042 stop")
		if v.last.Rest != 1 {
			t.Errorf("%d jobs are not on the wall, want 1", v.last.Rest)
		}
		for since := time.Now(); time.Since(since) < 5*24*time.Hour; {
			v.next()
		}
		v.shows("MW-1042 stop")
		again := s.wall()
		defer again.Close()
		again.shows("MW-1042 stop")
	})
	inShop(t, store, func(s *shop) { // its clock begins anew, at the time of the first entry
		v := s.wall()
		defer v.Close()
		v.shows("MW-1041 underway", "MW-1042 stop", "MW-1043 finished")
	})
}

// TestItFollowsFromTheEnd of a journal of any length, and goes on after a fault.
func TestItFollowsFromTheEnd(t *testing.T) {
	for n := range 20 {
		store := memory.New()
		inShop(t, store, func(s *shop) {
			for i := range n {
				s.open(fmt.Sprintf("MW-%d", 2001+i))
			}
		})
		inShop(t, store, func(s *shop) {
			v := s.wall()
			defer v.Close()
			if len(v.benches) != n {
				t.Errorf("of %d jobs the wall shows %d", n, len(v.benches))
			}
			s.store.fails.Store(true)
			s.open("MW-1041")
			time.Sleep(3 * time.Second)
			s.store.fails.Store(false)
			v.until("MW-1041")
			if len(v.benches) != n+1 || v.last.Rest != 0 {
				t.Errorf("after a fault the wall shows %d of %d jobs and says that %d are not on it", len(v.benches), n+1, v.last.Rest)
			}
		})
	}
}

// TestAJobThatCannotBeRead is shown as such.
func TestAJobThatCannotBeRead(t *testing.T) {
	store := memory.New()
	broken := journal.Entry{
		Job: "MW-1041", ID: "01J00000000000000000000001", Kind: journal.Opened, At: journal.InstantOf(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)),
		Spec: "mr5", SpecText: "no spec",
	}
	if _, err := store.Append(t.Context(), []journal.Entry{broken}); err != nil {
		t.Fatal(err)
	}
	inShop(t, store, func(s *shop) {
		v := s.wall()
		defer v.Close()
		v.shows("MW-1041 fault")
	})
}

// TestAJobThatCannotBeReadForNow holds up no other and no wall that comes; it is looked at again.
func TestAJobThatCannotBeReadForNow(t *testing.T) {
	inShop(t, memory.New(), func(s *shop) {
		for _, job := range []string{"MW-1041", "MW-1042", "MW-1043"} {
			s.open(job)
		}
		s.torn.Store("MW-1042")
		v := s.wall()
		defer v.Close()
		v.shows("MW-1041 underway", "MW-1042 fault", "MW-1043 underway")
		if b := v.benches["MW-1042"]; b.Spec != "mr5" || b.Entries != 1 || !b.Spoke.Equal(time.Now()) {
			t.Errorf("what the list says of it is shown as %+v", b)
		}
		s.say("MW-1043", "cut impeller stage one")
		v.until("MW-1043")
		v.shows("MW-1041 underway", "MW-1042 fault", "MW-1043 stop")
		again := s.wall()
		defer again.Close()
		again.shows("MW-1041 underway", "MW-1042 fault", "MW-1043 stop")
		s.torn.Store("")
		for mended := time.Now(); v.benches["MW-1042"].Stands == wire.StandFault; {
			if v.next(); time.Since(mended) > time.Minute {
				t.Fatal("it can be read again, and is not after a minute")
			}
		}
		v.shows("MW-1041 underway", "MW-1042 underway", "MW-1043 stop")
	})
}
