package bench_test

import (
	"slices"
	"strings"
	"testing"
)

// said are notes of one job each, parted by " / ", and what the last of them records and marks. Each
// was once taken for something else.
var said = []struct{ notes, want string }{
	{"winding u v the reading one point eight six ohms", "winding_resistance phase=uv 93/50 in"},
	{"ring clearance ring two the gap one point three millimetres", "ring_clearance ring=2 13/10000 out"},
	{"earth continuity a steady one point two ohms", "earth_continuity - 6/5 out"},
	{"windings u v one point eight, the rest one point nine ohms", "winding_resistance phase=uv 9/5 in; winding_resistance phase=vw 19/10 in; winding_resistance phase=wu 19/10 in"},
	{"stage four seated, sorry, stage five", "stage_seated stage=5 done"},
	{"stage four seated no stage five", "stage_seated stage=5 done"},
	{"seat clean / scratch the seat clean", ""},
	{"rods one and three pass one eight, pass two fourteen", "tie_rod_torque rod=1,pass=1 8 in; tie_rod_torque rod=1,pass=2 14 in; tie_rod_torque rod=3,pass=1 8 in; tie_rod_torque rod=3,pass=2 14 in"},
	{"stage one and two forty seven no forty eight", "collar_nut_torque stage=1 48 in; collar_nut_torque stage=2 48 in"},
	{"collar nuts two and three forty eight newton metres and three washers", "collar_nut_torque stage=2 48 in; collar_nut_torque stage=3 48 in"},
	{"rods one and three pass one eight newton metres, the others eight point one newton metres", "tie_rod_torque rod=1,pass=1 8 in; tie_rod_torque rod=2,pass=1 81/10 in; tie_rod_torque rod=3,pass=1 8 in; tie_rod_torque rod=4,pass=1 81/10 in"},
	{"rod one pass one eight point three newton metres / rod two eight point one, the rest eight newton metres", "tie_rod_torque rod=2,pass=1 81/10 in; tie_rod_torque rod=3,pass=1 8 in; tie_rod_torque rod=4,pass=1 8 in"},
	{"okay rod two pass three backed off at eighteen newton metres", "rods_loosened rod=2 done"},
	{"collar nut one forty eight newton metres / collar nut two forty seven newton metres / scratch the forty eight", ""},
	{"collar nut one forty eight newton metres / collar nut two forty seven newton metres / scratch stage one forty eight", ""},
	{"collar nut three forty eight newton metres / so it's stage four", ""},
	{"collar nut three forty eight newton metres / it was stage four", "collar_nut_torque stage=4 48 in"},
	{"collar nut three forty eight newton metres / that was stage four not stage three", "collar_nut_torque stage=4 48 in"},
	{"collar nut three forty eight newton metres / that was stage four not stage two", ""},
	{"collar nut two forty eight newton metres / next stage forty eight", "collar_nut_torque stage=3 48 in"},
	{"collar nut two forty seven foot pounds / sorry newton metres", "collar_nut_torque stage=2 47 in"},
	{"collar nut two about forty eight / same again on three", ""},
	{"collar nut two about forty eight / next one forty seven", ""},
	{"collar nut two forty eight newton metres / scratch that / same again on three", ""},
	{"collar nut two forty eight newton metres / not fifty, forty seven", ""},
	{"collar nut two forty eight newton metres / scratch that, forty seven", "collar_nut_torque stage=2 47 in"},
	{"tie rod pass two fourteen newton metres / rod one", "tie_rod_torque rod=1,pass=2 14 in"},
	{"collar nut one forty eight newton metres / stage two seated, same again on the nut", "collar_nut_torque stage=2 48 in; stage_seated stage=2 done"},
	{"collar nuts all stages forty eight newton metres except stage three forty seven", "collar_nut_torque stage=1 48 in; collar_nut_torque stage=2 48 in; collar_nut_torque stage=3 47 in; collar_nut_torque stage=4 48 in; collar_nut_torque stage=5 48 in"},
	{"rod one pass one eight newton metres / no that was pass two", "tie_rod_torque rod=1,pass=2 8 out"},
	{"collar nut one forty eight newton metres / I misread that", ""},
	{"collar nuts forty eight stage four and five", "collar_nut_torque stage=4 48 in; collar_nut_torque stage=5 48 in"},
	{"collar nut two forty seven newton metres / nut three same plus one", ""},
	{"rod one pass one eight newton metres / next one eight", "tie_rod_torque rod=3,pass=1 8 in"},
	{"stage three nut bottomed out at forty eight newton metres", "collar_nut_torque stage=3 48 in"},
	{"collar nut two forty eight newton metres / stage two seated / sorry stage three", "stage_seated stage=3 done"},
	{"collar nut two forty eight newton metres / what's stage three / sorry stage four", ""},
	{"collar nut two forty eight newton metres / order forty eight o-rings / sorry forty seven", ""},
	{"shaft runout 0.03 / order o-rings 0.5 / no 0.05", ""},
	{"collar nut two forty eight newton metres / what's stage three / no forty seven", ""},
	{"collar nut two about forty eight / stage three / forty seven", ""},
	{"rod one pass one about eight / rod three / eight", ""},
	{"collar nut two about forty eight / what's the shaft height / forty two", ""},
	{"collar nut two about forty eight / skip that one / forty seven", ""},
	{"collar nut forty eight newton metres / stage two seated / stage three", ""},
	{"collar nut two about forty eight / number four", ""},
	{"collar nut two about forty eight / three forty seven", ""},
	{"collar nut two about forty eight / forty seven forty eight", ""},
	{"collar nut two about forty eight / bob got forty eight", ""},
	{"collar nut two about forty eight / just put forty eight", ""},
	{"collar nut two about forty eight / both forty eight", ""},
	{"collar nut two about forty eight / forty seven", "collar_nut_torque stage=2 47 in"},
	{"rod one pass one eight / rod one fourteen newton metres / rod three", ""},
	{"collar nut three forty eight newton metres / backed off", ""},
	{"valve fitted / no", ""},
	{"valve fitted / not yet", ""},
	{"valve fitted / sorry it isn't", ""},
	{"full impeller stage one / sorry stage two", "impeller stage=2 full"},
	{"stage two seated / sorry stage three", "stage_seated stage=3 done"},
	{"rod one pass one eight newton metres / undid rod one", "rods_loosened rod=1 done"},
	{"rod one pass one eight newton metres / backed rod one off", "rods_loosened rod=1 done"},
	{"collar nut two forty eight newton metres / seat clean / scratch both", ""},
	{"collar nut one forty eight newton metres / no that was two", ""},
	{"collar nut one forty eight newton metres / seat clean / correction forty seven", ""},
	{"with the cover on inlet free", "inlet_free - done"},
	{"not stage two, stage three seated", "stage_seated stage=3 done"},
	{"collar nut forty eight stage one forty seven stage two", "collar_nut_torque stage=1 48 in; collar_nut_torque stage=2 47 in"},
	{"collar nut torque forty eight newton metres stage one forty seven newton metres stage two", "collar_nut_torque stage=1 48 in; collar_nut_torque stage=2 47 in"},
	{"tank head sixty one duty one, fifty duty two", "tank_head duty=1 61 in; tank_head duty=2 50 in"},
	{"tank head sixty duty one fifty duty two thirty duty three", "tank_head duty=1 60 in; tank_head duty=2 50 in; tank_head duty=3 30 in"},
	{"winding resistance one point eight ohms u v one point nine ohms v w", "winding_resistance phase=uv 9/5 in; winding_resistance phase=vw 19/10 in"},
	{"forty eight nut one, forty seven nut two", "collar_nut_torque stage=1 48 in; collar_nut_torque stage=2 47 in"},
	{"winding u v one point eight ohms / next one point nine", "winding_resistance phase=vw 19/10 in"},
	{"collar nut one forty eight newton metres / rod one pass one same", ""},
	{"earth continuity point one ohm / lead insulation same", ""},
	{"full impeller stage one / no it's cut", "impeller stage=1 cut"},
	{"o-rings renewed / no they weren't", ""},
	{"cover on / off again", ""},
	{"collar nut one forty eight newton metres / it slipped", ""},
	{"collar nut one forty eight newton metres / wrong one", ""},
	{"rod three pass one seven point eight newton metres rod two the same as rod three", "tie_rod_torque rod=2,pass=1 39/5 in; tie_rod_torque rod=3,pass=1 39/5 in"},
}

// TestWhatWasMeantIsTaken says each to a new job.
func TestWhatWasMeantIsTaken(t *testing.T) {
	shop := demo(t, map[string]string{"base": "short", "stages": "5", "rebuild": "yes"})
	for _, tt := range said {
		b, got := shop.open(t), ""
		for note := range strings.SplitSeq(tt.notes, " / ") {
			_, a := b.Say(note)
			all := append(recorded(t, a), marked(a)...)
			slices.Sort(all)
			got = strings.Join(all, "; ")
		}
		if got != tt.want {
			t.Errorf("%q takes %q, want %q", tt.notes, got, tt.want)
		}
	}
}
