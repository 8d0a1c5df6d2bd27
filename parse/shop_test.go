package parse_test

import (
	"strconv"

	"readback/parse"
)

// numbered returns an axis with the places 1 to n.
func numbered(id string, n int, say ...string) parse.Axis {
	a := parse.Axis{ID: id, Say: say}
	for i := 1; i <= n; i++ {
		a.Values = append(a.Values, parse.AxisValue{Value: strconv.Itoa(i)})
	}
	return a
}

// shop is the vocabulary of an invented pump with ten stages, enough to try the
// parser without a spec.
func shop() *parse.Vocabulary {
	reading := func(id, unit string, axes []string, say ...string) parse.Name {
		return parse.Name{Callout: id, Kind: parse.Reading, Unit: unit, Axes: axes, Say: say}
	}
	down := reading("end_play_down", "mm", nil, "end play down", "down depth", "depth down")
	up := reading("end_play_up", "mm", nil, "end play up", "up depth", "depth up")
	down.Family, down.Short = "end play", []string{"down"}
	up.Family, up.Short = "end play", []string{"up"}
	insulation := reading("insulation", "MOhm", nil, "insulation", "insulation resistance", "insulation test", "installation resistance")
	insulation.Takes = []parse.Taking{{Name: "temperature", Unit: "Cel"}}
	return parse.NewVocabulary(parse.Words{
		Axes: []parse.Axis{
			numbered("stage", 10, "stage", "stages"), numbered("rod", 4, "rod", "rods"), numbered("pass", 3, "pass", "passes"),
			numbered("bolt", 4, "bolt", "bolts"),
			{ID: "phase", Say: []string{"phase"}, Values: []parse.AxisValue{
				{Value: "uv", Say: []string{"u v", "uv"}}, {Value: "vw", Say: []string{"v w", "vw"}}, {Value: "wu", Say: []string{"w u", "wu"}},
			}},
		},
		Names: []parse.Name{
			reading("build_spacer", "mm", nil, "build spacer", "spacer"),
			reading("collar_nut_torque", "N.m", []string{"stage"}, "collar nut", "collar nuts", "nut", "nuts"),
			reading("tie_rod_torque", "N.m", []string{"rod", "pass"}, "tie rod", "tie rods"),
			down, up,
			reading("shaft_runout", "mm", nil, "shaft runout", "shaft run out", "runout", "run out"),
			reading("coupling_bolt_torque", "N.m", []string{"bolt", "pass"}, "coupling bolt", "coupling bolts"),
			insulation,
			reading("winding_resistance", "Ohm", []string{"phase"}, "winding resistance", "winding"),
			{Callout: "seat_clean", Kind: parse.Confirm, Say: []string{"seat clean", "seat cleaned", "seats clean"}},
			{Callout: "stage_seated", Kind: parse.Confirm, Axes: []string{"stage"}, Say: []string{"seated"}},
			{Callout: "inlet_free", Kind: parse.Confirm, Say: []string{"inlet turns freely", "inlet free", "inlet turns free"}},
			{Callout: "valve_fitted", Kind: parse.Confirm, Say: []string{"valve fitted", "valve in"}},
			{Callout: "threads_lubricated", Kind: parse.Confirm, Say: []string{"threads lubricated", "threads lubed"}},
			{Callout: "cable_clear", Kind: parse.Confirm, Say: []string{"cable clear", "cable clear of the guard"}},
			{
				Callout: "impeller", Kind: parse.Part, Axes: []string{"stage"}, Say: []string{"impeller", "impellers"},
				Choices: []parse.Choice{{Is: "full", Say: []string{"full", "full size"}}, {Is: "cut", Say: []string{"cut", "trimmed"}}},
			},
			{Callout: "cover_on", Kind: parse.Event, Say: []string{"cover on", "cover fitted"}},
			{Callout: "rods_loosened", Kind: parse.Event, Axes: []string{"rod"}, Say: []string{"loosened", "rod loosened", "rods loosened", "rod backed off", "rods backed off"}},
		},
	})
}
