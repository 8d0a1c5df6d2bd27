package rules

import (
	"fmt"

	"readback/parse"
	"readback/rules/say"
)

// HoldPoint speaks when work went past a hold point with checks open: what comes next
// would hide them. It is closed by the checks done, or by a disposition.
type HoldPoint struct {
	Past  string   // the event or step that goes past it: "cover_on"
	Needs []string // callouts that must stand at every place before
}

// Reads returns the event and what it needs.
func (h *HoldPoint) Reads() []string { return append([]string{h.Past}, h.Needs...) }

// Check returns a stop while the hold point is passed and checks are open.
func (h *HoldPoint) Check(j *Job) []Finding {
	t := parse.Target{Callout: h.Past}
	if !j.has(t) {
		return nil
	}
	missing, lacks := h.missing(j)
	if len(missing) == 0 {
		return nil
	}
	f := finding(RuleHoldPoint, t, Stop, fmt.Sprintf("Stop: %s with checks open: %s", j.name(h.Past), say.List(missing, "and")))
	f.lacks = lacks
	return []Finding{f}
}

// missing lists what has to stand before the point and does not, in words and each.
func (h *HoldPoint) missing(j *Job) (missing []string, lacks []parse.Target) {
	for _, n := range h.Needs {
		l := j.byID[n]
		if l == nil {
			continue
		}
		if owed := j.owedOf(l, ""); len(owed) > 0 {
			missing, lacks = append(missing, j.several(owed)), append(lacks, owed...)
		}
	}
	return missing, lacks
}
