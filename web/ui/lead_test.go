package ui_test

import (
	"testing"
)

// TestLeadIsForEveryone looks at the page of one job and at two beside each other, at each size, by day and
// in the dark.
func TestLeadIsForEveryone(t *testing.T) {
	t.Parallel()
	s := fullShop(t)
	for name, v := range map[string]struct{ path, ready string }{
		"lead":         {"/jobs/MW-1041/lead", `document.querySelectorAll("#readings tbody tr").length > 30 && document.querySelectorAll("main figure svg").length === 2`},
		"lead-stop":    {"/jobs/MW-1051/lead", `document.querySelector('.findings > li[data-severity="stop"]')`},
		"lead-new":     {"/jobs/MW-1050/lead", `document.querySelectorAll(".events > li").length === 1`},
		"lead-unknown": {"/jobs/MW-9999/lead", `document.querySelector("[role=alert]")`},
		"compare":      {"/compare?a=MW-1041&b=MW-1051", `document.querySelectorAll("#rows tbody tr").length > 30`},
		"compare-none": {"/compare", `document.querySelectorAll("#a option").length === 5`},
	} {
		t.Run(name, func(t *testing.T) {
			p := newDevice(t, tablet, "light").open(s.address + v.path)
			p.await(`document.documentElement.dataset.sheet && ` + v.ready)
			looksEverywhere(t, p, name, phone)
		})
	}
}
