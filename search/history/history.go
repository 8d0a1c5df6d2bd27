// Package history invents the past of the demo shop: jobs of Millrace Pump Works with the notes that
// were said on them, a few hundred for a demo and for the quality of searching, a million for its
// speed. The same seed gives the same history. Nothing in it happened.
package history

import (
	"fmt"
	"iter"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"
)

// Job is a visit of one unit.
type Job struct {
	ID      string
	Options map[string]string // of the spec mr5
	Person  string            // who opened it
	At      time.Time         // when, UTC
	Notes   []Note
	Cases   []string // what had happened to the unit: keys of [Cases]

	late bool // when a wrench reads low
}

// Note is what somebody said.
type Note struct {
	Text   string
	Person string
	At     time.Time
	Case   string // that it tells of; "" for the rest
}

var people = []string{"Ines", "Tom", "Wanda", "Peter", "Oscar", "Maya"}

// first is the number of the oldest job: a few hundred end before those that a demo plays.
const first = 700

const (
	span   = 5 * 365 * 24 * time.Hour // of the history
	before = 4 * 24 * time.Hour       // how long before its end the last job ends at the latest
	drifts = 8 * 30 * 24 * time.Hour  // how long before its end a wrench begins to read low
	low    = 0.98                     // what it reads then
)

// Until is the end of the history that tests search.
var Until = time.Date(2026, 1, 3, 7, 30, 0, 0, time.UTC)

// Jobs gives n jobs, the oldest first, all of them over before until. Every case befalls some of
// them, and in the last months one of the wrenches reads low.
func Jobs(seed uint64, n int, until time.Time) iter.Seq[Job] {
	return func(yield func(Job) bool) {
		r := rand.New(rand.NewPCG(seed, 1)) //nolint:gosec // a history that can be told again, no secret
		start := until.UTC().Add(-span - before)
		step := span / time.Duration(max(n, 1))
		cases := Cases()
		for i := range n {
			j := Job{ID: fmt.Sprintf("MW-%d", first+i), Person: pick(r, people), At: start.Add(step * time.Duration(i)), late: start.Add(step * time.Duration(i)).After(until.Add(-drifts))}
			j.Options = map[string]string{
				"base": pick(r, []string{"short", "short", "long"}), "stages": strconv.Itoa(3 + r.IntN(6)), "cut_impellers": strconv.Itoa(r.IntN(3)), "rebuild": "yes",
			}
			told := map[string]bool{}
			if i%3 != 2 { // two jobs of three have a story
				c := cases[(i/3*2+i%3)%len(cases)]
				j.Cases = append(j.Cases, c.Key)
				told[c.Key] = true
			}
			j.tell(r, cases)
			if !yield(j) {
				return
			}
		}
	}
}

// tell says the notes of a job.
func (j *Job) tell(r *rand.Rand, cases []Case) {
	at, person := j.At, j.Person
	say := func(text, of string) {
		at = at.Add(time.Duration(20+r.IntN(400)) * time.Second)
		j.Notes = append(j.Notes, Note{text, person, at, of})
	}
	some := func(n int, lines []string) {
		for _, k := range r.Perm(len(lines))[:min(n, len(lines))] {
			say(fill(r, lines[k]), "")
		}
	}
	some(2, intake)
	for _, key := range j.Cases {
		for _, c := range cases {
			if c.Key == key {
				for _, variants := range c.Say {
					say(fill(r, pick(r, variants)), key)
				}
			}
		}
	}
	some(2+r.IntN(3), sound)
	j.build(r, say)
	if r.IntN(3) == 0 {
		person = pick(r, people)
	}
	some(3+r.IntN(4), middle)
	j.finish(r, say)
	some(2, last)
}

// build stacks the stages, each in one note, with a wrench that is named.
func (j *Job) build(r *rand.Rand, say func(text, of string)) {
	spacer := 64.0
	if j.Options["base"] == "long" {
		spacer = 88.5
	}
	say(fmt.Sprintf("build spacer %.2f millimetres", spacer+float64(r.IntN(13)-6)/100), "")
	say("seat is clean", "")
	stages, _ := strconv.Atoi(j.Options["stages"])
	trimmed, _ := strconv.Atoi(j.Options["cut_impellers"])
	wrench := pick(r, []string{"seven", "seven", "nine", "eleven"})
	say("on wrench "+wrench, "")
	for s := 1; s <= stages; s++ {
		kind, torque := "full", 48+r.NormFloat64()*0.35
		if s > stages-trimmed {
			kind = "cut"
		}
		if j.late && wrench == "seven" {
			torque *= low
		}
		say(fmt.Sprintf("%s impeller stage %d, stage %d seated, collar nut stage %d %.1f newton metres", kind, s, s, s, torque), "")
	}
	for _, text := range []string{"valve fitted", "cover on", "threads lubricated on all four rods", "on wrench four"} {
		say(text, "")
	}
	for i, torque := range []float64{8, 14, 20} {
		if i == 2 {
			say("on wrench "+wrench, "") // the small one ends at twenty
		}
		torque += float64(r.IntN(5)-2) / 10
		if i == 2 && j.late && wrench == "seven" {
			torque *= low
		}
		say(fmt.Sprintf("pass %d all four rods %.1f newton metres", i+1, torque), "")
	}
}

// finish measures what is measured in the end.
func (j *Job) finish(r *rand.Rand, say func(text, of string)) {
	up := 70 + float64(r.IntN(2000))/100
	say("on depth gauge one", "")
	say(fmt.Sprintf("end play down %.2f", up+1.1+float64(r.IntN(140))/100), "")
	say(fmt.Sprintf("end play up %.2f", up), "")
	say(fmt.Sprintf("shaft runout 0.0%d millimetres", 1+r.IntN(6)), "")
}

func pick[T any](r *rand.Rand, list []T) T { return list[r.IntN(len(list))] }

// fill puts numbers where a line has {n}.
func fill(r *rand.Rand, line string) string {
	var out strings.Builder
	for i := 0; i < len(line); i++ {
		switch {
		case i+2 < len(line) && line[i:i+3] == "{n}":
			out.WriteString(strconv.Itoa(2 + r.IntN(17)))
			i += 2
		default:
			out.WriteByte(line[i])
		}
	}
	return out.String()
}

// What is said on any job. Much of it has the words of the cases, and denies them or is of
// something else.
var (
	intake = []string{
		"unit tag P dash {n}", "unit came in on a pallet, tag readable", "driver dropped it at gate {n}", "in for its yearly rebuild", "customer wants it back by Friday",
		"came in wet on the outside, that is only rain", "no complaint given", "ran {n} thousand hours by the log", "last seen here {n} months ago", "liquid pumped clean river water",
		"photo of the tag taken", "supply is locked out and tagged", "flushed through with clean water",
	}
	sound = []string{
		"no wear on the sleeve", "thrust washer not scored", "shaft not bent", "no sign of leaking at the gland", "impellers fine, no cracks", "bearing quiet, no noise", "windings not burnt",
		"casing free of rust", "no sand in the strainer", "wear rings not worn", "seal face without a scratch", "shaft turns freely by hand", "not seized, turns by hand",
		"oil clear, no water in it", "cable sound, not damaged", "key and keyway look good", "no pitting on the wheels", "strainer clean", "coupling fine", "o-rings still soft", "scratch that",
	}
	middle = []string{
		"threads oiled", "inlet turns freely", "cable clear of the guard", "waiting for o-rings from the store", "lunch",
		"tea then back to it", "wear ring two clearance 0.3", "ordered {n} gaskets", "took over from the morning shift", "washed the rods", "bench two wants the press", "stack going together nicely",
		"lock washer fitted", "sanded the burr off the key", "marked the casing for line up", "grinder borrowed by bench {n}", "nothing more to say for now",
	}
	last = []string{
		"labelled and boxed", "tank test good, flow steady", "ran quiet on test", "paperwork in the folder", "painted and capped", "no leaks on test", "customer told",
	}
)
