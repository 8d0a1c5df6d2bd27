// Package symptom is the vocabulary of what technicians find: which parts, what is
// wrong with them, how badly and where. Hearing, parsing and searching share it.
//
// The wording is our own; the conditions are common practice of the trade, without a
// source.
package symptom

// Entry is one part or condition and how it may be spoken.
type Entry struct {
	ID  string   // the word to show
	Say []string // all forms, the ID among them
}

// Conditions lists what can be wrong, grouped by meaning.
func Conditions() []Entry {
	return []Entry{
		{"seized", []string{"seized", "seized up", "seized solid", "stuck", "stuck fast", "stuck solid", "locked", "locked up", "jammed", "won't turn", "will not turn", "wouldn't turn", "frozen", "bound up", "binding", "binds", "sticking", "sticks"}},
		{"worn", []string{"worn", "worn out", "worn through", "wear", "wearing", "worn down", "worn thin", "worn away", "thinned", "polished"}},
		{"scored", []string{"scored", "scoring", "scratch on the", "scratch in the", "scratch across", "scratch along", "scratch down", "scratched", "scratches", "scratch marks", "score marks", "grooved", "grooves", "groove", "galled", "galling", "scuffed", "scuffing", "gouged", "ridged"}},
		{"pitted", []string{"pitted", "pitting", "pits", "cavitated", "cavitation", "spalled", "spalling", "flaked", "flaking"}},
		{"rusty", []string{"rusty", "rusted", "rust", "corroded", "corrosion", "rotted", "oxidised", "oxidized"}},
		{"cracked", []string{"cracked", "crack", "cracks", "hairline crack", "fractured", "fracture", "split", "snapped", "broken", "broke", "sheared", "chipped", "chips out of it", "smashed", "shattered"}},
		{"bent", []string{"bent", "bowed", "twisted", "distorted", "warped", "buckled", "out of true", "out of round", "deformed", "stretched"}},
		{"burnt", []string{"burnt", "burned", "burning smell", "smells burnt", "overheated", "blued", "discoloured", "discolored", "scorched", "charred", "heat marks", "cooked"}},
		{"leaking", []string{"leaking", "leak", "leaks", "leaked", "weeping", "weeps", "dripping", "drips", "seeping"}},
		{"water in oil", []string{"water in it", "water in oil", "water in the oil", "milky", "emulsified", "water ingress", "flooded"}},
		{"noisy", []string{"noisy", "noise", "rattling", "rattles", "rattle", "grinding", "grinds", "squealing", "squeals", "knocking", "knocks", "humming", "whining", "rumbling", "rumble", "vibrating", "vibrates"}},
		{"loose", []string{"loose fit", "loose", "slack", "play in it", "wobbly", "wobbles", "sloppy", "backed out", "worked loose"}},
		{"missing", []string{"missing", "absent", "lost", "not there", "gone"}},
		{"blocked", []string{"blocked", "blocked up", "clogged", "choked", "fouled", "scaled", "scaled up", "full of sand", "full of silt", "silt", "silted", "furred up", "debris", "dirty", "grit", "gritty", "sludge", "contaminated"}},
		{"damaged", []string{"damaged", "damage", "dented", "dent", "dinged", "burred", "burrs", "burr", "nicked", "crushed", "torn", "ripped", "perished", "hardened", "brittle", "swollen", "eroded", "erosion", "stripped", "stripped threads", "cross threaded", "crossed threads", "pinched", "frayed", "chafed", "defective", "faulty", "bad shape", "dinged up", "mangled", "chewed", "chewed up", "all chewed up"}},
		{"shorted", []string{"shorted", "short to earth", "earth fault", "grounded out", "open circuit", "tripping", "trips", "tripped", "dead short"}},
		{"wet", []string{"soaked", "damp inside", "moisture inside", "moisture"}},
	}
}

// Parts lists what a machine is made of, as far as any spec leaves it unnamed.
func Parts() []Entry {
	one := func(id string, more ...string) Entry { return Entry{id, append([]string{id}, more...)} }
	return []Entry{
		one("pump"), one("shaft", "shafts"), one("shaft sleeve", "sleeve", "sleeves", "shaft sleeves"),
		one("impeller", "impellers"), one("impeller eye", "impeller eyes", "eye of the impeller"),
		one("wear ring", "wear rings"), one("thrust washer", "thrust washers"), one("washer", "washers"),
		one("thrust bearing", "thrust bearings"), one("bearing", "bearings"), one("bush", "bushing", "bushings", "bushes", "lower bushing", "upper bushing", "top bushing", "bottom bushing"),
		one("lip seal", "lip seals"), one("mechanical seal", "mech seal", "seal", "seals"), one("seal face", "seal faces"), one("o-ring", "o ring", "o rings", "o-rings"),
		one("gasket", "gaskets"), one("diffuser", "diffusers"), one("bowl", "bowls"), one("casing", "case", "housing"), one("rod", "rods"), one("tie rod end"),
		one("coupling", "couplings", "coupling half"), one("key", "keyway", "key way"), one("spline", "splines"), one("strainer", "screen", "inlet screen"),
		one("valve", "check valve", "foot valve"), one("cable", "lead", "leads"), one("plug", "cable plug"), one("gland", "cable gland"),
		one("motor"), one("stator"), one("rotor"), one("winding", "windings"), one("oil"), one("grease"), one("thread", "threads"),
		one("cover"), one("guard", "cable guard"), one("gear", "gears", "pinion", "ring gear"), one("tooth", "teeth"), one("shim", "shims"), one("spring", "springs"),
		one("bolt", "bolts", "stud", "studs", "screw", "screws"), one("nut", "nuts"), one("circlip", "circlips", "clip", "clips"), one("spacer"), one("plate"), one("adapter", "adaptor"),
	}
}

// Degrees lists how badly.
func Degrees() []string {
	return []string{"badly", "slightly", "heavily", "lightly", "severely", "a bit", "very", "a little", "deeply", "completely", "half", "totally", "partly"}
}
