package compensate

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// A Gaussian in noise is what speech and noise drawn at random add up to: of 40,000 draws, where they vary
// little and the bend between them is nearly straight.
func TestGaussianInNoise(t *testing.T) {
	const size, filters, draws = 4, 8, 40_000
	p := &Prior{size: size, parts: []part{{mean: []float64{3, -1, 0.5, 0}, variance: []float64{0.02, 0.01, 0.02, 0.01}}}}
	p.toCepstra, p.toFilters = transforms(size, shape{filters: filters})
	c := &Compensator{prior: p, noise: []float64{2, 1, 0, 0.5}, unsteady: []float64{0.01, 0.02, 0.01, 0.02}, level: []float64{0.3, 0, 0, 0}}
	got, err := c.inNoise(&p.parts[0], p.filters(c.noise))
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 3))
	clean, noisy := mat.NewDense(draws, size, nil), mat.NewDense(draws, size, nil)
	for k := range draws {
		x, n := make([]float64, size), make([]float64, size)
		for i := range size {
			x[i] = got.clean[i] + r.NormFloat64()*math.Sqrt(p.parts[0].variance[i])
			n[i] = c.noise[i] + r.NormFloat64()*math.Sqrt(c.unsteady[i])
		}
		clean.SetRow(k, x)
		sum, with := p.filters(x), p.filters(n)
		for j := range sum {
			sum[j] = math.Log(math.Exp(sum[j]) + math.Exp(with[j]))
		}
		noisy.SetRow(k, p.cepstrum(sum))
	}
	var mean [size]float64
	for i := range size {
		for k := range draws {
			mean[i] += noisy.At(k, i) / draws
		}
		if math.Abs(mean[i]-got.mean[i]) > 0.01 {
			t.Errorf("value %d has the mean %.4f, of draws %.4f", i, got.mean[i], mean[i])
		}
	}
	// The gain tells the clean from the noisy: what it leaves is as far off as no other line through the draws would
	// leave it, and less than the spread of the clean.
	for i := range size {
		left, spread, follows := 0.0, 0.0, 0.0
		for k := range draws {
			x := clean.At(k, i) - got.clean[i]
			said := 0.0
			for j := range size {
				said += got.gain.At(i, j) * (noisy.At(k, j) - got.mean[j])
			}
			left, spread, follows = left+(x-said)*(x-said)/draws, spread+x*x/draws, follows+said*(x-said)/draws
		}
		if left >= spread || math.Abs(follows) > 0.02*spread {
			t.Errorf("value %d: spread %.5f, of which %.5f is left, and goes with what was told by %.5f", i, spread, left, follows)
		}
	}
	// Whitened, draws have the variance one and nothing in common.
	var off, white mat.Dense
	off.Apply(func(_, j int, x float64) float64 { return x - got.mean[j] }, noisy)
	white.Mul(&off, got.whiten.T())
	var common mat.Dense
	common.Mul(white.T(), &white)
	for i := range size {
		for j := range size {
			want := 0.0
			if i == j {
				want = 1
			}
			if x := common.At(i, j) / draws; math.Abs(x-want) > 0.05 {
				t.Errorf("whitened, values %d and %d have %.3f in common", i, j, x)
			}
		}
	}
}

// A blow and a microphone that is not on yet are no noise of the room; where there is too little of it the softest of the
// speech stands in.
func TestSteadyNoise(t *testing.T) {
	rows := func(x ...float32) (out [][]float32) {
		for _, x := range x {
			out = append(out, []float32{x})
		}
		return out
	}
	speech := rows(40, 41, 12, 42, 13, 40)
	got, _ := momentsOf(steady(rows(-30, -30, 20, 21, 19, 20, 20, 21, 55, 20, 20, 19, 20), speech))
	if got[0] < 19 || got[0] > 21 {
		t.Errorf("a noise of 20 is taken for %v", got[0])
	}
	got, _ = momentsOf(steady(nil, speech[:5]))
	if want := (40 + 41 + 12 + 42 + 13) / 5.0; math.Abs(got[0]-want) > 1e-6 {
		t.Errorf("the mean of all is %v, got %v", want, got[0])
	}
	got, _ = momentsOf(steady(rows(11, 11, 11, 11, 11, 11, 11, 11), speech))
	if want := (8*11 + 12 + 13) / 10.0; math.Abs(got[0]-want) > 1e-5 {
		t.Errorf("with the softest two it is %v, got %v", want, got[0])
	}
}

// file is a file of Gaussians: one stream of two values, and one of one.
func file(order uint32, books, each int) []byte {
	var b bytes.Buffer
	b.WriteString("s3\nversion 1.0\nchksum0 no\n          endhdr\n")
	for _, x := range []uint32{order, uint32(books), 2, uint32(each), 2, 1, uint32(books * each * 3)} {
		_ = binary.Write(&b, binary.LittleEndian, x)
	}
	for i := range books * each * 3 {
		_ = binary.Write(&b, binary.LittleEndian, float32(i))
	}
	return b.Bytes()
}

func TestReadGaussians(t *testing.T) {
	whole := file(byteOrder, 2, 2)
	books, err := readGaussians(bufio.NewReader(bytes.NewReader(whole)))
	if err != nil || len(books) != 2 || len(books[1]) != 2 || books[1][1][1] != 9 {
		t.Fatalf("%v, %v", books, err)
	}
	for cut := range whole {
		if _, err := readGaussians(bufio.NewReader(bytes.NewReader(whole[:cut]))); err == nil {
			t.Fatalf("cut off behind %d of %d bytes it is taken", cut, len(whole))
		}
	}
	if _, err := readGaussians(bufio.NewReader(bytes.NewReader(file(0x44332211, 2, 2)))); err == nil {
		t.Error("the other byte order is taken")
	}
}

func TestLoadSaysWhatIsWrong(t *testing.T) {
	good := map[string]string{"feat.params": "-nfilt 2\n-transform dct\n-lifter 22\n", "means": string(file(byteOrder, 2, 2)), "variances": string(file(byteOrder, 2, 2))}
	for name, tt := range map[string]struct{ file, is, says string }{
		"whole":              {},
		"no settings":        {file: "feat.params", says: "feat.params"},
		"another transform":  {file: "feat.params", is: "-nfilt 2\n", says: "cosine transform"},
		"too few filters":    {file: "feat.params", is: "-nfilt 1\n-transform dct\n", says: "no 1 filters"},
		"a number that none": {file: "feat.params", is: "-nfilt x\n-transform dct\n", says: "x filters"},
		"no means":           {file: "means", says: "means"},
		"torn variances":     {file: "variances", is: string(file(byteOrder, 2, 2)[:80]), says: "variances"},
		"fewer variances":    {file: "variances", is: string(file(byteOrder, 1, 2)), says: "1 of variances"},
		"other codebooks":    {file: "variances", is: string(file(byteOrder, 2, 1)), says: "codebook 0"},
		"no codebooks":       {file: "means", is: string(file(byteOrder, 0, 0)), says: "0 codebooks"},
	} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			for n, text := range good {
				if n == tt.file {
					if text = tt.is; text == "" {
						continue
					}
				}
				if err := os.WriteFile(filepath.Join(folder, n), []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			_, err := Load(folder)
			if (err == nil) != (tt.says == "") || err != nil && (!strings.Contains(err.Error(), tt.says) || !strings.Contains(err.Error(), "install")) {
				t.Errorf("%v; want %q", err, tt.says)
			}
		})
	}
}

func FuzzGaussians(f *testing.F) {
	f.Add(file(byteOrder, 2, 2))
	f.Add(file(byteOrder, 1, 0))
	f.Fuzz(func(t *testing.T, b []byte) {
		books, err := readGaussians(bufio.NewReader(bytes.NewReader(b)))
		if err != nil {
			return
		}
		for _, book := range books {
			for _, row := range book {
				if len(row) == 0 || len(row) > mostCepstrum {
					t.Fatalf("a row of %d values", len(row))
				}
			}
		}
	})
}
