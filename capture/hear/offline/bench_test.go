package offline_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
)

// BenchmarkReady is from nothing to an ear that hears.
func BenchmarkReady(b *testing.B) {
	speechtest.Need(b)
	words := speechtest.Words(b)
	for b.Loop() {
		e := newEngine(b, offline.Config{})
		if _, err := e.Open(b.Context(), words); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		if err := e.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}

// BenchmarkRecover is from the death of a worker in the middle of a note to the next note's begin.
func BenchmarkRecover(b *testing.B) {
	ear := open(b, newEngine(b, offline.Config{}), speechtest.Words(b))
	for b.Loop() {
		b.StopTimer()
		if err := ear.Begin(b.Context()); err != nil {
			b.Fatal(err)
		}
		p, err := os.FindProcess(offline.Pid(ear))
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		if err := p.Kill(); err != nil {
			b.Fatal(err)
		}
		for err == nil {
			_, err = ear.Write(b.Context(), make([]int16, hear.Frame))
		}
		if err := ear.Begin(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEnd is how long the words take after the end of a note that was spoken at its own
// pace: where it ends with a switch, right behind the last sound; where its silence ends it, 300 or
// 600 ms behind. It tells the processors' share that a bench takes while somebody speaks at it.
func BenchmarkEnd(b *testing.B) {
	words := speechtest.Words(b)
	if grammar := os.Getenv("READBACK_GRAMMAR"); grammar != "" {
		words = wordsOf(b, grammar)
	}
	for _, silence := range []int{0, 300, 600} {
		b.Run(fmt.Sprintf("silence=%dms", silence), func(b *testing.B) {
			ear := open(b, newEngine(b, offline.Config{}), words)
			var took, score []time.Duration
			var spoken, used time.Duration
			for b.Loop() {
				for i, sentence := range speechtest.Sentences[:5] {
					pcm := slices.Concat(speechtest.Hush(hear.Rate/3), loudPart(speechtest.Say(b, speechtest.Voices[i%4], sentence)), speechtest.Hush(silence*hear.Rate/1000))
					before := processorTime(b, offline.Pid(ear))
					speak(b, ear, pcm)
					start := time.Now()
					heard, err := ear.End(b.Context())
					took = append(took, time.Since(start))
					if err != nil {
						b.Fatal(err)
					}
					used += processorTime(b, offline.Pid(ear)) - before
					spoken += time.Second * time.Duration(len(pcm)) / hear.Rate
					start = time.Now()
					if _, err := ear.Score(b.Context(), text(heard.Words), text(heard.Words)); err != nil {
						b.Fatal(err)
					}
					score = append(score, time.Since(start))
				}
			}
			report(b, "end", took)
			report(b, "score2", score)
			b.ReportMetric(used.Seconds()/spoken.Seconds(), "cores")
		})
	}
}

// speak writes sound as it would come, 20 ms at a time.
func speak(b *testing.B, ear hear.Ear, pcm []int16) {
	if err := ear.Begin(b.Context()); err != nil {
		b.Fatal(err)
	}
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for piece := range slices.Chunk(pcm, 2*hear.Frame) {
		<-tick.C
		if _, err := ear.Write(b.Context(), piece); err != nil {
			b.Fatal(err)
		}
	}
}

func report(b *testing.B, name string, took []time.Duration) {
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, name+"-p50-ms")
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, name+"-p95-ms")
}

// processorTime is what a process has used so far.
func processorTime(b *testing.B, pid int) time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		b.Fatal(err)
	}
	fields := strings.Fields(string(stat[strings.LastIndexByte(string(stat), ')')+1:]))
	var user, system int
	if _, err := fmt.Sscan(fields[11]+" "+fields[12], &user, &system); err != nil {
		b.Fatal(err)
	}
	return time.Duration(user+system) * (time.Second / 100)
}

// wordsOf reads a grammar from a file, and its pronunciations from the same with .dict behind.
func wordsOf(b *testing.B, path string) hear.Words {
	grammar, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	dict, err := os.ReadFile(path + ".dict")
	if err != nil {
		b.Fatal(err)
	}
	w := hear.Words{Grammar: string(grammar), Sounds: map[string]string{}}
	for line := range strings.Lines(string(dict)) {
		word, sound, _ := strings.Cut(strings.TrimSpace(line), " ")
		w.Sounds[word] = sound
	}
	return w
}
