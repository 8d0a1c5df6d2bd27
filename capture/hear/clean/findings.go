package clean

import (
	"fmt"

	"readback/capture/hear"
)

// Fault is what can be wrong with a microphone.
type Fault string

// The faults.
const (
	Short    Fault = "short"     // too little sound to judge by
	NoSignal Fault = "no_signal" // silence, as of a muted microphone
	NoVoice  Fault = "no_voice"  // sound, but nobody speaks
	Quiet    Fault = "quiet"     // the speech is too quiet
	Clipped  Fault = "clipped"   // the sound is cut off at full scale
	Hum      Fault = "hum"       // the mains is in the sound
	Noisy    Fault = "noisy"     // the speech stands too little above the noise
)

// Finding is a fault in words.
type Finding struct {
	Fault Fault  `json:"fault"`
	Wrong string `json:"wrong"` // what is wrong
	Mend  string `json:"mend"`  // what to do
}

// Bounds of a microphone check. Common practice, no source, but for minRatio: of the notes spoken
// over noise 20 dB below the voice nine in ten were heard exactly, at 10 dB three in four.
const (
	minSound  = 3.0   // s
	minSpeech = 0.5   // s
	deadLevel = -75.0 // dB, of the loudest frame
	minLevel  = -40.0 // dB, of speech
	maxClips  = 0.001
	maxHum    = 0.3
	humLevel  = -60.0 // dB: hum below it harms nobody
	minRatio  = 15.0  // dB
)

// Findings says what is wrong with the microphone, by what was added so far: a minute with some
// sentences in it. It is empty where all is well.
func (m *Meter) Findings() []Finding {
	const frame = float64(hear.Frame) / hear.Rate // s
	sound, speech := float64(m.samples)/hear.Rate, float64(m.speech)*frame
	switch {
	case sound < minSound:
		return []Finding{{Short, fmt.Sprintf("only %.1f seconds of sound came", sound), "let the check run and speak meanwhile"}}
	case m.loudest < deadLevel:
		return []Finding{{
			NoSignal, "no sound comes from the microphone",
			"see whether it is muted, switched off or unplugged, and whether the right one is chosen",
		}}
	}
	var found []Finding
	if m.Clipped() > maxClips {
		found = append(found, Finding{
			Clipped, fmt.Sprintf("the sound is cut off at its loudest (%.1f %% of it)", 100*m.Clipped()),
			"turn the microphone down, or hold it farther from the mouth",
		})
	}
	if share, mains := m.Hum(); share > maxHum && m.Noise() > humLevel {
		found = append(found, Finding{
			Hum, fmt.Sprintf("a hum of %d Hz is in the sound (%.0f %% of what is no speech)", mains, 100*share),
			"keep the microphone's cable away from mains leads and motors, and try another socket or a wireless one",
		})
	}
	return append(found, m.ofSpeech(speech)...)
}

// ofSpeech are the findings that need speech.
func (m *Meter) ofSpeech(seconds float64) []Finding {
	if seconds < minSpeech {
		return []Finding{{
			NoVoice, "no speech was heard",
			"speak three sentences close to the microphone; if you did, another microphone may be chosen",
		}}
	}
	var found []Finding
	if level := m.Speech(); level < minLevel {
		found = append(found, Finding{
			Quiet, fmt.Sprintf("the voice is too quiet (%.0f dB)", level),
			"bring the microphone closer to the mouth, or turn it up",
		})
	}
	if ratio := m.Speech() - m.Noise(); ratio < minRatio {
		found = append(found, Finding{
			Noisy, fmt.Sprintf("the voice stands only %.0f dB above the noise", max(ratio, 0)),
			"bring the microphone closer to the mouth, use a headset, or hold the switch while you speak",
		})
	}
	return found
}
