package symptom

import "slices"

// Sort says what the words of a [Group] are for.
type Sort string

// The sorts of a group.
const (
	IsCondition Sort = "condition" // what is wrong
	IsPart      Sort = "part"      // what it is wrong with
	IsDeed      Sort = "deed"      // what was done about it
)

// Group is a set of words that mean the same to whoever searches.
type Group struct {
	ID   string
	Sort Sort
	Say  []string // never empty; of two words and more where words of that form alone mean it
	Like []string // IDs of wider groups: who looks for one of those finds this one too
}

// Groups lists all that is known by more than one word: the conditions and parts that notes are
// read by, and how customers and tired people say the same. The latter are for searching alone:
// read out of a note, "black" or "hot" would be found where nothing is wrong.
func Groups() []Group {
	var out []Group
	at := map[string]int{}
	for _, list := range []struct {
		sort    Sort
		entries []Entry
	}{{IsCondition, Conditions()}, {IsPart, Parts()}} {
		for _, e := range list.entries {
			at[e.ID] = len(out)
			g := Group{ID: e.ID, Sort: list.sort, Say: slices.Clone(e.Say)}
			if !slices.Contains(g.Say, e.ID) {
				g.Say = append(g.Say, e.ID)
			}
			out = append(out, g)
		}
	}
	for _, g := range everyday() {
		i, ok := at[g.ID]
		if !ok {
			at[g.ID] = len(out)
			out = append(out, g)
			continue
		}
		out[i].Like = append(out[i].Like, g.Like...)
		for _, s := range g.Say {
			if !slices.Contains(out[i].Say, s) {
				out[i].Say = append(out[i].Say, s)
			}
		}
	}
	return out
}

// everyday holds words that are only searched by. A word may be in several groups.
func everyday() []Group {
	condition := func(id string, say ...string) Group { return Group{ID: id, Sort: IsCondition, Say: say} }
	part := func(id string, say ...string) Group { return Group{ID: id, Sort: IsPart, Say: say} }
	deed := func(id string, say ...string) Group { return Group{ID: id, Sort: IsDeed, Say: say} }
	return []Group{
		condition("seized", "seize", "seizing", "seizure", "stick", "jam", "jams", "lock", "solid", "rock solid", "nipped up", "picked up on", "gone tight", "stiff", "hard to turn", "doesn't turn", "does not turn", "cannot turn", "can't turn", "cannot be turned", "could not turn", "couldn't turn", "would not turn", "not turning", "no rotation", "stalled", "stalls", "won't spin", "will not spin", "wouldn't spin", "doesn't spin", "won't rotate", "will not rotate", "does not rotate", "won't budge", "wouldn't budge", "won't move", "hung up", "tight to turn"),
		condition("noisy", "noises", "whine", "whines", "howl", "howls", "howling", "screech", "screeching", "scream", "screams", "screaming", "squeal", "clatter", "clattering", "clunk", "clunks", "clunking", "knock", "growl", "growls", "growling", "buzz", "buzzing", "hum", "hums", "ticking", "racket", "loud", "grumble", "grumbles", "grumbling", "grind", "chatter", "chattering", "thump", "thumping", "singing", "roar", "roaring", "rumbles", "banging"),
		condition("shaking", "shaking", "shakes", "shake", "vibration", "vibrations", "vibrate", "vibrates", "vibrating", "shudder", "shuddering", "judder", "juddering", "out of balance", "unbalanced", "imbalance", "trembles", "wobble", "wobbles", "jumps about"),
		condition("worn", "wore", "thin", "eaten away", "below size", "undersize", "rounded off", "rubbed", "rubbing", "fretted", "fretting", "washed out", "opened out", "past its best"),
		condition("scored", "score", "scores", "scratch", "tramlines", "ploughed", "furrow", "furrows", "furrowed", "rings cut into", "lines cut into", "gouge", "gouges", "scuff", "ridge", "ridges", "tracked", "score lines", "drag marks"),
		condition("pitted", "pit", "pockmarked", "pock marks", "crater", "craters", "cratered", "moth eaten", "honeycombed", "spall", "eaten"),
		condition("rusty", "corrode", "rotten", "verdigris", "rust scale", "orange scale"),
		condition("cracked", "cracking", "snap", "break", "breaking", "in two", "in pieces", "chip", "chipping", "splits", "piece missing", "fragments", "bits of", "let go"),
		condition("bent", "bend", "bow", "kinked", "crooked", "not straight", "not true", "whip", "running out", "warp", "banana"),
		condition("burnt", "burn", "burning", "hot", "overheating", "overheat", "heat", "too hot", "smoke", "smoked", "smoking", "melted", "melt", "scorch", "blueing", "blackened", "black", "toasted", "smell of burning"),
		condition("leaking", "leakage", "drip", "dripped", "puddle", "lets water by", "weep", "wept", "seep", "seeps", "seeped", "losing oil", "spraying", "sprays", "oil on the floor"),
		condition("water in oil", "creamy", "white oil", "emulsion", "cloudy", "water got in", "water in the chamber", "water in the oil chamber"),
		condition("loose", "play", "rocking", "rocks", "moves about", "not tight", "undone", "came off", "come off", "come undone", "slop", "spins on the shaft", "lost its grip"),
		condition("blocked", "block", "blockage", "plugged up", "plugged", "stuffed", "bunged up", "clog", "restricted", "obstructed", "obstruction", "rag", "rags", "weed", "leaves", "stringy", "packed with"),
		condition("missing", "left out", "forgotten", "nobody fitted", "never fitted"),
		condition("damaged", "knackered", "bashed", "beaten up", "broken up", "cut through", "nick", "chafe", "rubbed through", "ruined"),
		condition("shorted", "shorts", "shorting", "breaker", "fuse", "fuses", "blows", "blown", "kicks out", "cuts out", "throws the breaker", "earthed", "ground fault", "low insulation", "insulation low", "trip", "went to earth", "electrically dead"),
		condition("wet", "damp", "moist", "condensation", "sweating", "water inside", "flooded", "full of water", "poured out", "drowned"),
		condition("sand", "sand", "sandy", "grit", "gritty", "silt", "silty", "sediment", "slurry", "mud", "muddy", "sludge", "gravel", "stones", "grains", "abrasive", "settling pit", "gritty water"),
		condition("weak flow", "low flow", "no flow", "poor flow", "weak flow", "no pressure", "low pressure", "won't pump", "will not pump", "not pumping", "pumps poorly", "trickle", "trickles", "down on output", "low head", "no head", "no delivery", "poor delivery", "underperforming", "slow to empty", "hardly moves water", "barely moves water", "does not lift", "no water comes", "little water", "no output", "not much water", "weak stream", "poor output", "hardly pumps"),
		condition("lost prime", "lost prime", "loses prime", "will not prime", "won't prime", "lost suction", "loses suction", "no suction", "sucks air", "sucking air", "runs back", "ran back", "air in the suction"),
		condition("ran dry", "ran dry", "run dry", "running dry", "dry running", "ran without water", "no water in the sump", "sucked air", "starved", "airlocked", "air lock", "snoring", "no water around it"),
		condition("high current", "high current", "high amps", "draws too much", "overload", "overloads", "overloaded", "overcurrent", "current too high", "amps are up", "heavy on current"),

		part("motor", "electric motor", "motor end"),
		{ID: "stator", Sort: IsPart, Say: []string{"stator"}, Like: []string{"motor"}},
		{ID: "rotor", Sort: IsPart, Say: []string{"rotor"}, Like: []string{"motor"}},
		part("cable", "flex", "cord", "supply cable", "power lead"),
		part("impeller", "wheel", "wheels", "vane", "vanes"),
		part("shaft", "spindle"),
		part("strainer", "mesh", "sieve", "basket", "intake grid", "grid", "suction grid"),
		part("casing", "body", "shell", "volute"),
		part("bearing", "races", "ball race", "ball races"),
		part("mechanical seal", "shaft seal", "rotary seal", "face seal", "seal face", "seal faces"),
		part("thrust washer", "thrust ring", "thrust plate", "thrust pad"),
		{ID: "winding", Sort: IsPart, Say: []string{"coil", "coils"}, Like: []string{"motor"}},
		part("o-ring", "rubber ring", "rubber rings", "sealing ring"),
		part("bolt", "fastener", "fasteners"),
		part("shaft sleeve", "liner", "wear sleeve"),
		part("wear ring", "neck ring", "clearance ring"),
		part("gland", "cable entry"),
		part("oil", "lubricant"),
		part("thread", "screw thread"),

		deed("replaced", "replaced", "replace", "renewed", "renew", "changed", "swapped", "swap", "exchanged", "new one fitted", "fitted new", "fitted a new", "put in new", "put a new"),
		deed("repaired", "repaired", "repair", "mended", "reground", "rewound", "relapped", "lapped", "honed", "polished out", "welded", "built up", "straightened", "dressed", "dried out", "re-faced", "skimmed"),
		deed("scrapped", "scrapped", "scrap", "binned", "thrown away", "beyond repair", "written off"),
		deed("returned", "came back", "back again", "second time", "sent back", "repeat visit", "warranty"),
	}
}
