package parse

import "strings"

// Outcome says, a line each, what came of a note: its kind, its claims with what is doubted about
// them, its marks, what it takes back and what is asked.
func (u Utterance) Outcome() []string {
	out := []string{string(u.Kind)}
	for i := range u.Claims {
		out = append(out, u.Claims[i].outcome())
	}
	for _, m := range u.Marks {
		out = append(out, "mark "+m.String()+" "+m.Is)
	}
	for _, t := range u.Withdrawn {
		out = append(out, "takes back "+t.String())
	}
	for _, c := range u.Untold {
		out = append(out, strings.Join(strings.Fields("takes back "+c.Part+" "+c.Degree+" "+c.Condition), " "))
	}
	if u.Dropped {
		out = append(out, "drops what was asked")
	}
	for _, c := range u.Symptoms {
		out = append(out, strings.Join(strings.Fields("found "+c.Part+" "+c.Degree+" "+c.Condition), " "))
	}
	for _, a := range u.Asks {
		out = append(out, "asked: "+string(a.Doubt))
	}
	if u.Over {
		out = append(out, "ends what was said before: another person takes over")
	}
	if u.Instrument != "" {
		out = append(out, "with "+u.Instrument)
	}
	return out
}

func (c *Claim) outcome() string {
	text := "reading " + c.String()
	switch {
	case c.NoValue:
		text += " without a value"
	case c.Unit != "":
		text += " " + c.Value.String() + " " + c.Unit
	case len(c.Slang) > 0:
		text += " " + c.Value.String() + " " + strings.Join(c.Slang, " or ")
	default:
		text += " " + c.Value.String()
	}
	if c.Other != nil {
		text += ", or " + c.Other.String()
	}
	if len(c.Carried) > 0 {
		text += ", its " + strings.Join(c.Carried, " and ") + " carried over"
	}
	if len(c.Doubts) == 0 {
		return text
	}
	var doubts []string
	for _, d := range c.Doubts {
		doubts = append(doubts, string(d))
	}
	text += "; not recorded: " + strings.Join(doubts, ", ")
	if c.Words != "" {
		text += " (" + c.Words + ")"
	}
	return text
}

// String writes a target as "collar_nut_torque stage=3".
func (t Target) String() string {
	switch {
	case t.Callout == "":
		return "of nothing named"
	case t.At == "":
		return t.Callout
	}
	return t.Callout + " " + string(t.At)
}
