package bench_test

import (
	"strings"
	"testing"
)

// unsaid are notes that name what the job calls for and do not say that it was done or
// read: plans, orders, halves, reversals, exceptions, other values.
const unsaid = `
all stages seated bar two
all stages seated but two
threads lubricated on rod one only
half isolated
partly isolated
almost isolated
not quite isolated
getting isolated
isolated next
please let the pressure off
tell the lad to let the pressure off
let the pressure off next
pressure let off, then built up again
discharged the lead or did I
make sure lead discharged
next is lead discharged
shaft turns freely by hand then stops
inlet turns freely then sticks
check rotation right
rods straight-ish
valve in hand
valve in wrong
cover on next
cover on cover off
inlet free inlet sticks
cover on the bench
cover on my desk
valve in the sink
stage one seated then taken out
next full impeller stage one
grab a full impeller for stage one
handed over the wrench
seat clean tomorrow
valve fitted upside down
direction of rotation incorrect
locked out and untagged
supply unlocked out
isolate the pump
lead unclear of the mating face
seating face unclean
valve uninstalled
threads unlubricated
parts lost
threads soiled
spoiled the threads
pressure held off
inlet turns feebly
collar nuts one and two forty eight newton metres, that's thirty five foot pounds
collar nuts forty eight newton metres except stage three
collar nut four forty eight newton metres less two
shaft runout 0.03 though
valve fitted then removed it
cover on then took it off
seat cleaned then knocked muck onto it
full impeller stage two then pulled it off
cover on, took it back off
stage two seated, lifted
removed full impeller stage two
shaft clamped then slackened it
valve fitted, kind of
valve fitted, wonky
stage two seated, partly
seat clean, filthy again
collar nut four forty eight newton metres, I misread that
collar nut four forty eight newton metres oops
collar nut four forty eight newton metres, my mistake
collar nut four forty eight newton metres, wrong part
collar nut four forty eight newton metres off a touch
collar nut four forty eight newton metres by mistake
valve fitted, wrong part
seat clean by mistake
bob reckoned collar nut four forty eight newton metres
collar nut four the boss said forty eight newton metres
collar nut four would've been forty eight newton metres
runout came down by two hundredths
tried for shaft height forty two millimetres
found it written on the lid, shaft height forty two millimetres
changed my mind shaft height forty two millimetres
shaft height forty two millimetres because the clock needle jams
shaft height forty two millimetres, pulled the number from the tag
seal chamber held ten minutes left
seal chamber held ten minutes then popped
seal chamber held ten minutes and blew
shaft runout three hundredths over
collar nut four forty eight newton metres, clicker sounded dodgy
collar nut four forty eight newton metres, wouldnt swear to it
hopefully stage two seated
until stage two seated
once the seat is clean
time to get the valve fitted
cover on without bolts
let the pressure off, there is still some left
stage two impeller nearly full size
stage two half full impeller
stage two full impeller to go
pressure test two hundred
tank test duty one three fifty eight
lead resistance two hundred
shaft height forty two minus a tenth
shaft height forty two minus half
collar nut one no click at forty eight
collar nut one no reading forty eight
all nuts, not three, forty eight newton metres
motor bolts pass one all fifteen newton metres
gland nut one forty eight newton metres
motor runout three hundredths
oil chamber held ten minutes
shaft runout three thousandths
all nuts so far forty eight newton metres
nuts above stage three forty eight newton metres
nuts from stage two up forty eight newton metres
every second nut forty eight newton metres
nuts between stage one and three forty eight newton metres
insulation test at five hundred
insulation set to five hundred
stage three nut forty eight newton metres, no good
collar nut one forty eight, loosened it again
collar nut one forty eight newton metres yet
ring clearance ring one point one five a side
ring clearance ring one fifteen hundredths each side
ring clearance ring one twice point one five
shaft runout +/- 0.02
set the wrench to forty eight for collar nut one
collar nut one next forty eight newton metres
collar nut one takes forty eight
shaft runout 1/32
shaft runout two hundredths at most
shaft runout one thou plus
shaft runout a thou and two tenths
collar nuts three stages forty eight newton metres
renewed one ring
impeller one not full
impeller one isn't cut
full impeller stage one not fitted
impeller one full of muck
impeller one has a cut in it
impeller one was full size
stage five full impeller rejected
stage five full impeller on the bench
struggling to get the valve in
valve in two minutes
cover on to check the gap
cover on for now
cover on and off
depressurised to one bar
flushed half
threads oiled on rods one and two
drained the oil, put it back
got new o-rings
bob fitted the valve
pump two seat clean
don't scratch that
the other nut forty eight newton metres
the other rod pass one eight newton metres
insulation of the cable two hundred megohms
valve came in today
new o-rings came in
out of new o-rings
full impeller stage two came in
clean seat please
clean seat first
stage two o-ring seated
valve seat clean
coupling threads greased
isolated and back on
inlet free and tight
rotation right at first
impeller one has a cut
impeller two being cut
collar nut two is down for forty eight newton metres
collar nut two forty eight newton metres to check
collar nut two forty eight newton metres and a quarter turn
runout of the coupling two hundredths of a millimetre
end play down from eighty eight point two
seat has to be cleaned
seat is to be cleaned
seat once cleaned
seat is being cleaned
valve to be fitted
cover is going on
cover comes on after lunch
cut my thumb on the impeller at stage two
so collar nut one is forty eight newton metres, yeah
collar nut one within two per cent of forty eight newton metres
collar nut one hundred and five newton metres
collar nut one forty eight newton metres wrong
collar nut one forty eight newton metres looks wrong
collar nut one forty eight newton metres then off
collar nut one forty eight newton metres still moving
torque collar nut one to forty eight
use collar nut one forty eight newton metres
loosened collar nut one took forty eight
undid collar nut one at forty eight
cracked collar nut one at forty eight
as found collar nut one 48
collar nut one 48 as found
shaft runout as found two hundredths
insulation as it came in two hundred megohms
stage two same as one
insulation 200+ megohms
collar nut one forty eight and a whisker
best part of forty eight newton metres on collar nut one
collar nut one could do with forty eight
collar nut one half of forty eight newton metres
insulation two hundred megohms as found
insulation three hundred megohms on the lead
collar nut one forty eight newton metres no
rod one pass one thirteen a half newton metres
collar nut one about forty eight
can I go to forty eight on collar nut one
`

// TestNothingIsTakenThatWasNotSaid says each to a new job.
func TestNothingIsTakenThatWasNotSaid(t *testing.T) {
	shop := demo(t, map[string]string{"base": "long", "rebuild": "yes", "cut_impellers": "1"})
	for note := range strings.Lines(strings.TrimSpace(unsaid)) {
		note = strings.TrimSpace(note)
		_, a := shop.open(t).Say(note)
		if got := recorded(t, a); len(got) > 0 {
			t.Errorf("%q records %q", note, got)
		}
		for _, m := range a.Marks {
			if m.Is != "undone" {
				t.Errorf("%q marks %s as %s", note, m.Callout, m.Is)
			}
		}
	}
}
